"""The view of a session that has ended: how it went, what differed, and what film left in a bath needs. Pure."""

from __future__ import annotations

from wetside.domain.calc.wording import hours_minutes, minutes_seconds, span
from wetside.domain.planning.plan import Plan
from wetside.domain.profile.model import Kind
from wetside.domain.session.rolls import developed
from wetside.domain.session.state import State
from wetside.present.view_model import Mark, RailRow, View
from wetside.present.way_out import way_out

ROLL_NUMBERS = "Each roll's number, for its sleeve: wetside rolls"


def closed_view(state: State, plan: Plan, at: float) -> View:
    """The last screen of an evening."""
    outcome = state.outcome or "unknown"
    words = f"{outcome} ({state.deviations})" if outcome == "complete with deviations" else outcome
    act = f"Outcome: {words}."
    if outcome == "abandoned" and state.left_at is not None:
        act = f"{act} {way_out(state, plan.step(state.left_at))}"
    return View(
        session=state.session,
        practice=state.practice,
        speed=state.speed,
        batch="",
        stage="Closed",
        wall=hours_minutes(state.wall, state.offset_s, at - state.anchor_at),
        elapsed=span(state.at),
        rail=tuple(row for stage, title in plan.stages for row in _stage(state, plan, stage, title)),
        step="",
        kind=Kind.CHECK,
        title="The session is closed",
        place="",
        instruction=act,
        cautions=(),
        remember=(),
        facts=(
            *_on_the_shelf(state, plan),
            *_export_words(state),
            *(_noted(plan, note.roll, note.text) for note in state.notes),
        ),
        clock=None,
        act=act,
        readings=(),
        ticks=(),
        meanwhile=(),
        background=(),
        next="",
        standing=_deviated(state, plan),
        held=False,
        dark=False,
        safe_way_out="",
        unit=plan.unit,
        closed=words,
    )


def _on_the_shelf(state: State, plan: Plan) -> tuple[str, ...]:
    """What a mixing evening has filled, and how its labels are printed."""
    if plan.kit is None or state.practice:
        return ()
    filled = [each.figures.title for each in plan.kit.bottles if each.step in state.ended]
    if not filled:
        return ("Nothing was bottled, so nothing stands on the shelf.",)
    return (f"On the shelf now: {', '.join(filled)}. Labels to print: wetside shelf label",)


def _export_words(state: State) -> tuple[str, ...]:
    """How the record leaves the program, and where developed rolls find their numbers; nothing of practice."""
    if state.practice:
        return ()
    page = f"The record as a page to keep: wetside export {state.session} --format markdown --output evening.md"
    return (page, ROLL_NUMBERS) if developed(state) else (page,)


def _noted(plan: Plan, roll: int | None, text: str) -> str:
    return f"Note: {text}" if roll is None else f"{plan.setup.rolls[roll].label}: {text}"


def _stage(state: State, plan: Plan, stage: str, title: str) -> list[RailRow]:
    """Done where each of its steps was: an evening may be closed before its end. None for one without steps."""
    steps = [step for step in plan.steps if step.stage == stage]
    done = sum(step.id in state.ended for step in steps)
    mark: Mark = "done" if done == len(steps) else "in part" if done else "not done"
    return [RailRow(title, mark, 0)] if steps else []


def _deviated(state: State, plan: Plan) -> tuple[str, ...]:
    """Each of the deviations that the outcome counts."""
    against = (f"Against the rule: {o.text} ({o.reason})" for o in state.overrides)
    poured = (
        f"{_named(plan, e.step)}: poured out {minutes_seconds(abs(e.early_s))} too"
        f" {'early' if e.early_s > 0 else 'late'}"
        for e in state.early
    )
    clocks = (
        f"{_named(plan, c.step)}: its clock was {minutes_seconds(abs(c.by_s))} {'late' if c.by_s > 0 else 'early'}"
        for c in state.corrections
    )
    waited = (
        f"{_named(plan, gap.step)}: in {minutes_seconds(gap.waited_s)} after the bath before it was poured out"
        for gap in state.gaps
    )
    return (*against, *poured, *clocks, *waited, *(mishap.text for mishap in state.mishaps))


def _named(plan: Plan, id_: str) -> str:
    step = plan.step(id_)
    return step.title if step.batch is None or len(plan.batches) < 2 else f"{step.title}, batch {step.batch}"
