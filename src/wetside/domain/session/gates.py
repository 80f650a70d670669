"""Gates: the conditions that must hold before a step may begin or end. Nothing here changes the state.

A gate is the set of ticks due by then, plus what the step itself needs: residues, readings, times. Each condition
that does not hold is a `Blocker`; a blocker can be overridden by its key, with a reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from wetside.domain.calc.residue import breaches
from wetside.domain.messages import Message, Refusal, message, refused
from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.profile.model import Gate, Kind
from wetside.domain.session.film import develops
from wetside.domain.session.state import State
from wetside.memo import remembers_last

_ORDER = {"start": 0, "end": 1}

FRESH_S = 600.0
"""A reading older than this must be repeated (our own number: a litre drifts about 1 °C in this time)."""


_INSTANT_S = 1e-6
"""Sums of instants differ by less than this at the very moment a minimum is reached."""


_SHOWN_C = 0.05
"""Temperatures are shown and typed to a tenth of a degree: 37.8 °C is shown as 100.0 °F, which is 37.78 °C."""


class Blocker(Struct, frozen=True):
    """One condition that does not hold.

    key: its name for an override ("tick:…", "time:…", "reading:…", "residue:…", "unseen:…").
    """

    key: str
    why: Message
    tick: PlannedTick | None = None


def current_step(state: State) -> PlannedStep:
    """The step on screen. Raises Refusal when there is none."""
    if state.step is None:
        raise refused("no step open")
    return state.step


def step_on_screen(state: State, id_: str) -> PlannedStep:
    """The step on screen. Raises Refusal where that is not the step `id_`."""
    step = current_step(state)
    if step.id != id_:
        raise refused("other step on screen")
    return step


def is_satisfied(state: State, tick: PlannedTick) -> bool:
    """Whether the tick was made, or overridden with a reason."""
    return tick.id in state.ticks or state.overridden(f"tick:{tick.id}")


def open_ticks(state: State, step: PlannedStep, side: Gate) -> tuple[PlannedTick, ...]:
    """Every tick due by this gate and not satisfied: critical ones first, then in the plan's order."""
    return _open_ticks(state, state.plan.number(step.id), side)


@remembers_last
def _open_ticks(state: State, here: int, side: Gate) -> tuple[PlannedTick, ...]:
    plan, gate = state.plan, (here, _ORDER[side])
    found = [
        tick
        for host in plan.steps[: here + 1]
        for tick in host.ticks
        if (plan.number(tick.due_step), _ORDER[tick.due_at]) <= gate and not is_satisfied(state, tick)
    ]
    return tuple(sorted(found, key=lambda tick: not tick.killer))


def cannot_make(state: State, tick: PlannedTick, at: float) -> Message | None:
    """Why a tick cannot be made at `at`, or None when it can."""
    plan, current = state.plan, state.step
    host = next(step for step in plan.steps if tick in step.ticks)
    if current is None or plan.number(host.id) > plan.number(current.id):
        return message("line of a later step", step=host.title)
    due_at_own_start = tick.due_step == host.id and tick.due_at == "start"
    if host.timed and not due_at_own_start and host.id not in state.clocks:
        return message("line before its start", step=host.title)
    if not current.timed and host.id == current.id:
        waiting = start_blockers(state, current, at)
        if waiting and not due_at_own_start:
            return message("first", gate=waiting[0].why)
    return None


def start_blockers(state: State, step: PlannedStep, at: float) -> tuple[Blocker, ...]:
    """The blockers of starting `step` at `at`."""
    return (
        *(_of_tick(tick) for tick in open_ticks(state, step, "start")),
        *joined_too_soon(state, step, at),
        *_residues(state, step),
        *(too_warm_unseen(state, step, at) if step.kind is Kind.DARK else ()),
    )


def end_blockers(state: State, step: PlannedStep, at: float) -> tuple[Blocker, ...]:
    """The blockers of ending `step` at `at`."""
    # Nothing can be ticked in the dark: ticks due by its end are asked for before the next step starts.
    ticks = () if step.in_the_dark else open_ticks(state, step, "end")
    blockers = [_of_tick(tick) for tick in ticks]
    blockers += [*reading_blockers(state, step, at), *too_warm_unseen(state, step, at)]
    if step.kind.traits.held:
        blockers += _too_soon(state, step, at, 0.0)
    if not step.timed:
        blockers += joined_too_soon(state, step, at)
    return tuple(blockers)


def drain_blockers(state: State, step: PlannedStep, at: float) -> tuple[Blocker, ...]:
    """The blocker of pouring out a "not before" bath at `at`: its minimum time, less the draining that counts."""
    if step.ends != "not before":
        return ()
    return _too_soon(state, step, at, drain_lead_s(step))


def blockers_now(state: State, step: PlannedStep, at: float) -> tuple[Blocker, ...]:
    """The blockers of the step's next gate: its start if its clock has not started, else its end."""
    clock = state.clocks.get(step.id)
    if step.timed and clock is None:
        return start_blockers(state, step, at)
    found = list(end_blockers(state, step, at))
    if not step.timed:
        found = [*start_blockers(state, step, at), *found]
    elif step.kind is Kind.BATH and clock is not None and clock.drained_at is None:
        found += drain_blockers(state, step, at)
    return tuple({blocker.key: blocker for blocker in found}.values())


def shut_by(blockers: Sequence[Blocker]) -> Message:
    """Why a gate is shut: its first blocker, and how many more there are."""
    return message("gate shut", gate=blockers[0].why, more=len(blockers) - 1)


def refuse_if_shut(blockers: Sequence[Blocker]) -> None:
    """Raises Refusal with the first blocker and how many more there are."""
    if blockers:
        raise Refusal(shut_by(blockers))


def follows_at_once(plan: Plan, step: PlannedStep) -> bool:
    """Whether this bath or wash follows a developer of the same fill, which works until it is poured in."""
    number = plan.number(step.id)
    if number == 0 or not step.kind.traits.wets or step.background:
        return False
    before = plan.steps[number - 1]
    return develops(before) and not before.background and before.batch == step.batch


def drain_lead_s(step: PlannedStep) -> float:
    """How long (s) before the end pouring out begins; 0 where draining does not count as time in the bath."""
    return step.drain_lead_s if step.draining_counts else 0.0


def pour_lead_s(step: PlannedStep) -> float:
    """As `drain_lead_s`, but 0 for a step that pours nothing out of the tank."""
    return drain_lead_s(step) if step.kind is Kind.BATH and not step.background else 0.0


def drain_opens_in(state: State, step: PlannedStep, at: float) -> float | None:
    """Seconds until it is time to pour out (negative when past); None when no clock with an end runs."""
    clock = state.clocks.get(step.id)
    left = clock.remaining(at) if clock is not None else None
    return None if left is None else left - drain_lead_s(step)


AT_ONCE_S = 2.0
"""Pouring out so little before its moment needs no second key, as a person may anticipate the call by that."""


def may_drain(state: State, step: PlannedStep, at: float) -> bool:
    """Whether it is time to pour this bath out: its minimum is over, or its planned moment has come."""
    clock = state.clocks.get(step.id)
    if step.kind is not Kind.BATH or step.background or clock is None or clock.drained_at is not None:
        return False
    if clock.paused_since is not None or at < clock.t0 or drain_blockers(state, step, at):
        return False
    opens_in = drain_opens_in(state, step, at)
    return step.ends != "on time" or opens_in is None or opens_in <= AT_ONCE_S


def _of_tick(tick: PlannedTick) -> Blocker:
    return Blocker(f"tick:{tick.id}", message("line open", text=tick.text), tick)


def _too_soon(state: State, step: PlannedStep, at: float, lead_s: float) -> tuple[Blocker, ...]:
    key = f"time:{step.id}"
    clock = state.clocks.get(step.id)
    left = clock.remaining(at) if clock is not None else None
    if left is None or left - lead_s <= _INSTANT_S or state.overridden(key):
        return ()
    return (Blocker(key, message("minimum not reached", bath=step.solution_title or step.title)),)


def joined_too_soon(state: State, step: PlannedStep, at: float) -> tuple[Blocker, ...]:
    """The blocker while the background step that `step` joins still needs time; () once it has ended."""
    if step.joins is None or step.joins in state.ended:
        return ()
    return _too_soon(state, state.plan.step(step.joins), at, 0.0)


def too_warm_unseen(state: State, step: PlannedStep, at: float) -> list[Blocker]:
    """The blocker for a bottle that may pass the upper end of its range, unread, while film is loaded.

    [] while a reading that the step needs is open.
    """
    plan, key = state.plan, f"unseen:{step.id}"
    unseen_s = dict(plan.loading.unseen).get(step.id) if plan.loading is not None else None
    if unseen_s is None or step.id in state.clocks or state.overridden(key) or reading_blockers(state, step, at):
        return []
    # Imported only where film is loaded, so that no other screen waits for the import of the forecast.
    from wetside.domain.session.unseen import may_overheat

    why = may_overheat(state, at, unseen_s)
    return [] if why is None else [Blocker(key, why)]


def _residues(state: State, step: PlannedStep) -> tuple[Blocker, ...]:
    if step.solution is None or not step.pour:
        return ()
    plan = state.plan
    found = []
    for on, rule in breaches(state.residues, step.solution, step.pour, plan.rules):
        key = f"residue:{on}:{rule.residue}:{step.id}"
        thing, residue = plan.title_of(on), plan.title_of(rule.residue)
        if not state.overridden(key):
            why = message("residue", thing=thing, residue=residue.lower(), rule=rule.why)
            found.append(Blocker(key, why))
    return tuple(found)


def beside_range(value_c: float, range_c: tuple[float, float]) -> Literal["too cold", "too hot"] | None:
    """On which side of its range a reading lies; None inside it, or where it is shown as equal to the limit."""
    if value_c < range_c[0] - _SHOWN_C:
        return "too cold"
    return "too hot" if value_c > range_c[1] + _SHOWN_C else None


def reading_blockers(state: State, step: PlannedStep, at: float) -> list[Blocker]:
    """The readings a measuring or tempering step still needs: not read, out of range, or too old."""
    if not step.kind.traits.reads:
        return []
    found = []
    for ask in step.readings:
        key = f"reading:{ask.of}:{step.id}"
        if not ask.required or state.overridden(key):
            continue
        reading = state.last_reading(ask.of)
        # A reading from before this step opened does not count.
        if reading is None or reading.at < state.opened_at:
            found.append(Blocker(key, message("not read", title=ask.title)))
        elif step.kind is Kind.WAIT and at - reading.at > FRESH_S:
            found.append(Blocker(key, message("read too long ago", title=ask.title, ago_s=at - reading.at)))
        elif ask.range_c is not None and beside_range(reading.temperature_c, ask.range_c):
            read_c, wanted_c = reading.temperature_c, ask.range_c
            found.append(Blocker(key, message("out of range", title=ask.title, read_c=read_c, wanted_c=wanted_c)))
    return found
