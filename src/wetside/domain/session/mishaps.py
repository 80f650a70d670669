"""What a mishap in the light means for film and bottles, by the state of the session; codes, no sentences.

`present/mishap_answers.toml` has the words for each case and where they come from. The findings follow from the
plan (which bath does what, which residue must not reach which bath, the push rows) and from the clocks.
"""

from __future__ import annotations

from typing import Literal, assert_never

from msgspec import Struct

from wetside.domain.calc.developer_time import push_factor, stops_of
from wetside.domain.messages import Message, message, refused
from wetside.domain.planning.plan import BATH_READING, Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import MishapHappened, MishapId
from wetside.domain.session.film import develops
from wetside.domain.session.gates import drain_lead_s
from wetside.domain.session.state import State

Film = Literal["not loaded", "undeveloped", "developed", "bleached", "safe"]
"""The state of the film of this fill after the baths so far. "safe": it is no longer sensitive to light."""

BathWork = Literal["water", "before", "developer", "between", "bleach", "fixer", "bleach-fix", "rinse"]
"""The role of a solution tonight. before: used before the developer; between: after it and before the fixer."""

ELSEWHERE = "elsewhere"


class Overrun(Struct, frozen=True):
    """How long film was in an on-time bath: over_s beyond end_s (s, below zero: not yet over).

    stops: the push it amounts to by the profile's rows; None without rows. beyond: it is beyond the last row, so
    that `stops` is a lower bound.
    """

    over_s: float
    end_s: float
    stops: float | None = None
    beyond: bool = False


class Finding(Struct, frozen=True):
    """The consequences of a mishap. case: which of its cases; suspects: solutions whose bottle is now doubtful.

    about: the solution, step or place it is about, "" for none. rolls: indices of this fill's rolls in the setup.
    over: the time in a developer beyond its end, None where the mishap is not about that.
    """

    what: MishapId
    case: str
    about: str = ""
    suspects: tuple[str, ...] = ()
    rolls: tuple[int, ...] = ()
    over: Overrun | None = None


class _Fill(Struct, frozen=True):
    """The current tank fill: its steps in order, its rolls, and the step whose bath is in the tank, if any."""

    state: State
    steps: tuple[PlannedStep, ...]
    rolls: tuple[int, ...]
    running: PlannedStep | None

    def begun(self, step: PlannedStep) -> bool:
        """Whether the step's clock was started."""
        return step.id in self.state.clocks

    @property
    def developers(self) -> tuple[PlannedStep, ...]:
        """The baths of this fill that are ended on time, in order."""
        return tuple(step for step in self.steps if develops(step))

    @property
    def developing(self) -> bool:
        """Whether a developer is in the tank."""
        return self.running is not None and develops(self.running)

    @property
    def backed(self) -> bool:
        """Whether film with a removable backing is in this fill."""
        return any(self.state.plan.setup.rolls[roll].kind == "backed" for roll in self.rolls)

    def film(self, but: PlannedStep | None) -> Film:
        """The state of the film after the baths so far, the step `but` not counted."""
        begun = [step for step in self.steps if self.begun(step) and step is not but]
        if any(step.makes_light_safe and step.id in self.state.ended for step in begun):
            return "safe"
        if any(step.bleaches for step in begun):
            return "bleached"
        if any(develops(step) for step in begun):
            return "developed"
        loaded = any(step.kind is Kind.DARK and step.id in self.state.ended for step in self.steps)
        return "undeveloped" if loaded else "not loaded"


_Found = tuple[str, tuple[str, ...]]
"""A case, and the solutions that it makes suspect."""


def choices_about(state: State, what: MishapId) -> tuple[str, ...]:
    """What the mishap may be about: solutions, steps, or places; () when there is nothing to ask."""
    plan, step = state.plan, _step(state)
    match what:
        case "wrong bath":
            baths = dict.fromkeys(s.solution for s in plan.steps if s.solution and s.storage != "tap")
            return tuple(solution for solution in baths if solution != step.solution)
        case "forgotten":
            here = plan.number(step.id)
            steps = _fill(state).steps
            return tuple(s.id for s in steps if s.kind.traits.wets and plan.number(s.id) <= here)
        case "thermometer":
            bottles = plan.tempering.bottles if plan.tempering is not None else ()
            return (*bottles, BATH_READING, ELSEWHERE)
        case "lid off" | "overrun" | "not covered" | "contaminated" | "spill" | "off reel":
            return ()
        case _:
            assert_never(what)


def named(plan: Plan, what: MishapId, about: str) -> Message:
    """What a mishap is about: one of `choices_about`."""
    if what == "forgotten":
        return message("named", title=plan.step(about).title)
    if about in (BATH_READING, ELSEWHERE):
        return message("in the warm bath" if about == BATH_READING else "somewhere else")
    return message("in the bottle" if what == "thermometer" else "named", title=plan.title_of(about))


def told(plan: Plan, event: MishapHappened) -> Message:
    """The mishap and its step as they outlive the record of the session, in what is kept of a bottle."""
    if event.text is not None:
        return event.text
    step = plan.step(event.step).title
    if not event.about:
        return message("mishap", what=event.what, step=step)
    return message("mishap about", what=event.what, about=named(plan, event.what, event.about), step=step)


def find(state: State, what: MishapId, about: str, at: float) -> Finding:
    """What the mishap means at `at`. Raises Refusal for an `about` that is none of `choices_about`."""
    if about not in (choices_about(state, what) or ("",)):
        raise refused("no such mishap")
    fill = _fill(state)
    case, suspects = _case(fill, what, about, at)
    again = case == "developer again"
    over = _overrun(fill, at, again=again) if what == "overrun" or again else None
    return Finding(what, case, about, suspects, fill.rolls, over)


def bath_work(plan: Plan, solution: str) -> BathWork:
    """The role of this solution tonight, by the steps that pour it."""
    steps = [step for step in plan.steps if step.solution == solution]
    if any(step.storage == "tap" for step in steps):
        return "water"
    if any(develops(step) for step in steps):
        return "developer"
    bleaches, fixes = any(s.bleaches for s in steps), any(s.makes_light_safe for s in steps)
    if bleaches or fixes:
        return "bleach-fix" if bleaches and fixes else "bleach" if bleaches else "fixer"
    first = min((plan.number(step.id) for step in steps), default=0)
    if all(first < plan.number(step.id) for step in plan.steps if develops(step)):
        return "before"
    after = any(step.makes_light_safe for step in plan.steps[:first])
    return "rinse" if after else "between"


def _case(fill: _Fill, what: MishapId, about: str, at: float) -> _Found:
    running = fill.running
    film = fill.film(but=running if what == "wrong bath" else None)
    match what:
        case "wrong bath":
            return _wrong_bath(fill, about, film)
        case "lid off":
            return _lid_off(fill, film), ()
        case "overrun" if running is not None and not fill.developing:
            return ("wash" if running.kind is Kind.WASH else "minimum"), ()
        case "overrun":
            over = _overrun(fill, at)
            return ("none" if over is None else "developer" if over.over_s > 0 else "in time"), ()
        case "not covered":
            return ("none" if running is None else "developer" if fill.developing else "other"), ()
        case "contaminated":
            return _contaminated(fill)
        case "forgotten":
            return _forgotten(fill, fill.state.plan.step(about)) if about else ("none", ())
        case "spill":
            return ("bath in" if running is not None else "bottle"), ()
        case "off reel":
            wet = any(step.kind.traits.wets and fill.begun(step) for step in fill.steps)
            return ("safe" if film == "safe" else "wet" if wet else "dry"), ()
        case "thermometer":
            return (about, ()) if about in (BATH_READING, ELSEWHERE) else ("bottle", (about,))


def _wrong_bath(fill: _Fill, about: str, film: Film) -> _Found:
    """The case of `about` in the tank instead of the bath of this step. film: its state before the mishap."""
    plan = fill.state.plan
    work = bath_work(plan, about)
    spoilt = () if work == "water" else (about,)
    match film, work:
        case "not loaded", _:
            return "no film", ()
        case "undeveloped", "developer" if fill.developers and about != fill.developers[0].solution:
            return "wrong developer", spoilt
        case "undeveloped", "developer":
            # Without the prebath, the backing comes off in the developer.
            kept_off = any(bath_work(plan, step.solution) == "before" for step in fill.steps if step.solution)
            return "developer at once", (spoilt if fill.backed and kept_off else ())
        case "undeveloped", "fixer" | "bleach-fix":
            return "fixer first", ()
        case "undeveloped", _:
            return ("bleach first" if work == "bleach" else "undeveloped, other"), ()
        case "developed", "developer":
            return ("developer again", ()) if about == _last_developer(fill) else ("wrong developer", spoilt)
        case "developed", "fixer":
            return "fixer before bleach", ()
        case "developed", "bleach" | "bleach-fix":
            return "too soon", (spoilt if _must_not_reach(plan, _last_developer(fill), about) else ())
        case "developed", _:
            return "developed, other", spoilt
        case "bleached", "bleach" | "fixer" | "bleach-fix":
            return "again", ()
        case "bleached", _:
            return ("bleached, developer" if work == "developer" else "bleached, other"), spoilt
        case "safe", _:
            return ("fixed, developer", spoilt) if work == "developer" else ("fixed", ())


def _last_developer(fill: _Fill) -> str | None:
    done = [step for step in fill.developers if fill.begun(step) and step is not fill.running]
    return done[-1].solution if done else None


def _lid_off(fill: _Fill, film: Film) -> str:
    """The case of a lid off. In a reversal process light does no harm once the first developer is out."""
    if fill.state.plan.yields == "positive" and film == "developed":
        first = fill.state.clocks.get(fill.developers[0].id)
        if first is not None and first.drained_at is not None:
            return "reversed"
    return "developing" if fill.developing else film


def _overrun(fill: _Fill, at: float, *, again: bool = False) -> Overrun | None:
    """How far the latest developer of this fill is beyond its end; None before one has begun.

    again: a developer was poured in the running step too, so that its time counts.
    """
    running, clocks = fill.running, fill.state.clocks
    done = [step for step in fill.developers if fill.begun(step) and not (again and step is running)]
    if not done:
        return None
    step, clock = done[-1], clocks[done[-1].id]
    if clock.end_s is None or clock.end_s <= 0:
        return None
    # Where draining counts, its planned time is taken, as the moment the next bath was in is not measured.
    spent_s = clock.elapsed(at if clock.drained_at is None else clock.drained_at + drain_lead_s(step))
    if again and running is not None:
        spent_s += max(0.0, clocks[running.id].elapsed(at))
    over_s = spent_s - clock.end_s
    push = next((batch.push for batch in fill.state.plan.batches if batch.number == step.batch), 0.0)
    table = step.push
    found = stops_of(table, push_factor(table, push) * spent_s / clock.end_s) if over_s > 0 else None
    return Overrun(over_s, clock.end_s, *((found[0] - push, found[1]) if found else ()))


def _contaminated(fill: _Fill) -> _Found:
    coming = next((step for step in fill.developers if not fill.begun(step)), None)
    suspect = fill.running if fill.developing else coming or (fill.developers[-1] if fill.developers else None)
    case = "in the tank" if fill.developing else "before" if coming is not None else "after"
    return case, ((suspect.solution,) if suspect is not None and suspect.solution else ())


def _forgotten(fill: _Fill, left_out: PlannedStep) -> _Found:
    """The case of a bath that was left out, by its role.

    A bath begun after it is suspect where the residue left in the film must not reach it.
    """
    number = fill.steps.index(left_out)
    before, after = _chemistry(fill.steps[:number][::-1]), _chemistry(fill.steps[number + 1 :])
    reached = after.solution if after is not None and fill.begun(after) else None
    carried = before is not None and _must_not_reach(fill.state.plan, before.solution, reached)
    work = bath_work(fill.state.plan, left_out.solution) if left_out.solution else "water"
    if work == "developer":
        if len(fill.developers) < 2:
            return "developer", ()
        return ("first developer" if left_out is fill.developers[0] else "last developer"), ()
    first = fill.steps.index(fill.developers[0]) if fill.developers else len(fill.steps)
    if number < first:
        backed = work == "before" and fill.backed
        return ("prebath" if backed else "prewet"), ((reached,) if backed and reached else ())
    return ("wash" if work == "water" else work), ((reached,) if carried and reached else ())


def _must_not_reach(plan: Plan, residue: str | None, solution: str | None) -> bool:
    return any(rule.residue == residue and rule.solution == solution for rule in plan.rules)


def _chemistry(steps: tuple[PlannedStep, ...]) -> PlannedStep | None:
    """The first of these steps that pours chemistry."""
    return next(
        (step for step in steps if step.kind.traits.wets and step.solution and step.storage != "tap"), None
    )


def _step(state: State) -> PlannedStep:
    return state.step or state.plan.steps[-1]


def _fill(state: State) -> _Fill:
    """The current tank fill; the first one before any has begun."""
    plan, step = state.plan, _step(state)
    here = plan.number(step.id)
    number = next((each.batch for each in reversed(plan.steps[: here + 1]) if each.batch is not None), 1)
    steps = tuple(each for each in plan.steps if each.batch == number)
    rolls = next((batch.rolls for batch in plan.batches if batch.number == number), ()) if steps else ()
    clock = state.clocks.get(step.id)
    inside = clock is not None and clock.drained_at is None and step.id not in state.ended
    running = step if inside and step.kind.traits.wets and not step.background else None
    return _Fill(state, steps, rolls, running)
