"""What a mishap in the light means for film and bottles, where the session stands. Pure; codes, no sentences.

`present/mishap_answers.py` has the words for each case and where they come from. What is found follows from the
plan (which bath does what, which residue must not reach which bath, the push rows) and from the clocks.
"""

from __future__ import annotations

from typing import Literal

from wetside.domain.calc.developer_time import PushTable, push_factor, stops_of
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import MishapId
from wetside.domain.session.messages import refused
from wetside.domain.session.state import State
from wetside.frozen import dataclass

Film = Literal["not loaded", "undeveloped", "developed", "bleached", "safe"]
"""What the baths so far have made of the film of this fill. "safe": it minds light no more."""

BathWork = Literal["water", "before", "developer", "between", "bleach", "fixer", "bleach-fix", "rinse"]
"""What a solution does tonight. before, between: what comes before the developer, and between it and the fixer."""

ELSEWHERE, WARM_BATH = "elsewhere", "bath"


@dataclass(frozen=True, slots=True)
class Overrun:
    """How long film was in an on-time bath: over_s beyond end_s (s, below zero: not yet over).

    stops: what that is worth as push by the profile's rows; None without rows. beyond: more than they reach, so
    that `stops` is the least it can be.
    """

    over_s: float
    end_s: float
    stops: float | None = None
    beyond: bool = False


@dataclass(frozen=True, slots=True)
class Finding:
    """What follows from a mishap. case: which of its cases; suspects: solutions whose bottle is now doubtful.

    bath: the step whose bath is in the tank now, "" for none. about: the solution, step or place it is about.
    rolls: the film of this fill, as numbers of the setup's rolls. over: how long it was too long in a developer.
    """

    what: MishapId
    case: str
    film: Film
    bath: str = ""
    about: str = ""
    suspects: tuple[str, ...] = ()
    rolls: tuple[int, ...] = ()
    over: Overrun | None = None


@dataclass(frozen=True, slots=True)
class _Now:
    """Where the session stands: the steps of the tank fill at work, and the step whose bath is in the tank."""

    state: State
    plan: Plan
    steps: tuple[PlannedStep, ...]
    running: PlannedStep | None
    at: float

    def begun(self, step: PlannedStep) -> bool:
        """Whether the step's clock was started."""
        return step.id in self.state.clocks

    @property
    def developers(self) -> tuple[PlannedStep, ...]:
        """The baths of this fill that are ended on time, in order."""
        return tuple(step for step in self.steps if _develops(step))

    @property
    def developing(self) -> bool:
        """Whether a developer is in the tank."""
        return self.running is not None and _develops(self.running)

    @property
    def backed(self) -> bool:
        """Whether film with a removable backing is in this fill."""
        return any(self.plan.setup.rolls[roll].kind == "backed" for roll in _rolls(self.plan, self.steps))


_Found = tuple[str, tuple[str, ...]]
"""A case, and the solutions that it makes suspect."""

_WET = (Kind.BATH, Kind.WASH)


def choices_about(state: State, plan: Plan, what: MishapId) -> tuple[str, ...]:
    """What the mishap may be about: solutions, steps, or places; () when there is nothing to ask."""
    step = _step(state, plan)
    match what:
        case "wrong bath":
            baths = dict.fromkeys(s.solution for s in plan.steps if s.solution and s.storage != "tap")
            return tuple(solution for solution in baths if solution != step.solution)
        case "forgotten":
            here = plan.number(step.id)
            fill = _fill(state, plan)
            return tuple(s.id for s in fill if s.kind in _WET and plan.number(s.id) <= here)
        case "thermometer":
            bottles = plan.tempering.bottles if plan.tempering is not None else ()
            return (*bottles, WARM_BATH, ELSEWHERE)
        case _:
            return ()


def find(state: State, plan: Plan, what: MishapId, about: str, at: float) -> Finding:
    """What the mishap means at `at`. Raises CommandRefused for an `about` that is none of `choices_about`."""
    if about not in (choices_about(state, plan, what) or ("",)):
        raise refused("no such mishap")
    now = _Now(state, plan, _fill(state, plan), _running(state, plan), at)
    film = _film(now, but=now.running if what == "wrong bath" else None)
    case, suspects = _case(now, what, about, film)
    bath = now.running.id if now.running else ""
    over = _overrun(now, case) if what == "overrun" or case == "developer again" else None
    return Finding(what, case, film, bath, about, suspects, _rolls(plan, now.steps), over)


def bath_work(plan: Plan, solution: str) -> BathWork:
    """What this solution does tonight."""
    steps = [step for step in plan.steps if step.solution == solution]
    if any(step.storage == "tap" for step in steps):
        return "water"
    if any(_develops(step) for step in steps):
        return "developer"
    bleaches, fixes = any(s.bleaches for s in steps), any(s.makes_light_safe for s in steps)
    if bleaches or fixes:
        return "bleach-fix" if bleaches and fixes else "bleach" if bleaches else "fixer"
    first = min((plan.number(step.id) for step in steps), default=0)
    if all(first < plan.number(step.id) for step in plan.steps if _develops(step)):
        return "before"
    after = any(step.makes_light_safe for step in plan.steps[:first])
    return "rinse" if after else "between"


def _case(now: _Now, what: MishapId, about: str, film: Film) -> _Found:
    match what:
        case "wrong bath":
            return _wrong_bath(now, about, film)
        case "lid off":
            return _lid_off(now, film), ()
        case "overrun":
            return _too_long(now), ()
        case "not covered":
            return ("none" if now.running is None else "developer" if now.developing else "other"), ()
        case "contaminated":
            return _contaminated(now)
        case "forgotten":
            return _forgotten(now, now.plan.step(about)) if about else ("none", ())
        case "spill":
            return ("bath in" if now.running is not None else "bottle"), ()
        case "off reel":
            wet = any(step.kind in _WET and now.begun(step) for step in now.steps)
            return (
                "dry" if film in ("not loaded", "undeveloped") and not wet else "safe" if film == "safe" else "wet"
            ), ()
        case "thermometer":
            place = about if about in (WARM_BATH, ELSEWHERE) else "bottle"
            return place, ((about,) if place == "bottle" else ())


def _wrong_bath(now: _Now, about: str, film: Film) -> _Found:
    """`about` is in the tank instead of the bath of this step; film is as the baths before left it."""
    did = bath_work(now.plan, about)
    develops = did == "developer"
    match film:
        case "not loaded":
            return "no film", ()
        case "undeveloped":
            return _before_developer(now, about, did)
        case "developed":
            return _after_developer(now, about, did)
        case "bleached":
            if did in ("bleach", "fixer", "bleach-fix"):
                return "again", ()
            return ("bleached, developer" if develops else "bleached, other"), _unless_water(about, did)
        case "safe":
            return ("fixed, developer" if develops else "fixed"), ((about,) if develops else ())


def _before_developer(now: _Now, about: str, did: BathWork) -> _Found:
    if did == "developer":
        first = now.developers[0].solution if now.developers else about
        if about != first:
            return "wrong developer", (about,)
        # Backing that no prebath has taken off comes off in the developer.
        kept_off = any(bath_work(now.plan, step.solution) == "before" for step in now.steps if step.solution)
        return "developer at once", ((about,) if now.backed and kept_off else ())
    if did in ("fixer", "bleach-fix"):
        return "fixer first", ()
    return ("bleach first" if did == "bleach" else "undeveloped, other"), ()


def _after_developer(now: _Now, about: str, did: BathWork) -> _Found:
    done = [step for step in now.developers if now.begun(step) and step is not now.running]
    last = done[-1].solution if done else None
    if did == "developer":
        return ("developer again", ()) if about == last else ("wrong developer", (about,))
    if did == "fixer":
        return "fixer before bleach", ()
    if did in ("bleach", "bleach-fix"):
        return "too soon", ((about,) if _must_not_reach(now.plan, last, about) else ())
    return "developed, other", _unless_water(about, did)


def _lid_off(now: _Now, film: Film) -> str:
    """In a reversal light does no harm once the first developer is out: the rest is made developable anyway."""
    if now.plan.yields == "positive" and film == "developed":
        first = now.state.clocks.get(now.developers[0].id)
        if first is not None and first.drained_at is not None:
            return "reversed"
    return "developing" if now.developing else film


def _too_long(now: _Now) -> str:
    if now.running is not None and not now.developing:
        return "wash" if now.running.kind is Kind.WASH else "minimum"
    over = _overrun(now, "")
    return "none" if over is None else "developer" if over.over_s > 0 else "in time"


def _overrun(now: _Now, case: str) -> Overrun | None:
    """How far the newest developer of this fill has gone, or went, beyond its end; None before one has begun.

    case "developer again": the time of the step that runs now is time in the developer too.
    """
    again = case == "developer again"
    done = [step for step in now.developers if now.begun(step) and not (again and step is now.running)]
    if not done:
        return None
    step, clock = done[-1], now.state.clocks[done[-1].id]
    if clock.end_s is None or clock.end_s <= 0:
        return None
    # Where draining counts, it is counted as long as planned: when the next bath was in, nobody measured.
    lead_s = step.drain_lead_s if step.draining_counts else 0.0
    spent_s = clock.elapsed(now.at if clock.drained_at is None else clock.drained_at + lead_s)
    if again and now.running is not None:
        spent_s += max(0.0, now.state.clocks[now.running.id].elapsed(now.at))
    over_s = spent_s - clock.end_s
    push = next((batch.push for batch in now.plan.batches if batch.number == step.batch), 0.0)
    table = PushTable(step.push)
    found = stops_of(table, push_factor(table, push) * spent_s / clock.end_s) if over_s > 0 else None
    return Overrun(over_s, clock.end_s, *((found[0] - push, found[1]) if found else ()))


def _contaminated(now: _Now) -> _Found:
    coming = next((step for step in now.developers if not now.begun(step)), None)
    suspect = now.running if now.developing else coming or (now.developers[-1] if now.developers else None)
    case = "in the tank" if now.developing else "before" if coming is not None else "after"
    return case, ((suspect.solution,) if suspect is not None and suspect.solution else ())


def _forgotten(now: _Now, left_out: PlannedStep) -> _Found:
    """By what the bath does. Suspect is a bath begun after it that what was kept off must not reach."""
    number = now.steps.index(left_out)
    before, after = _bath(now.steps[:number][::-1]), _bath(now.steps[number + 1 :])
    reached = after.solution if after is not None and now.begun(after) else None
    carried = before is not None and _must_not_reach(now.plan, before.solution, reached)
    suspects = (reached,) if carried and reached else ()
    did = bath_work(now.plan, left_out.solution) if left_out.solution else "water"
    if did == "developer":
        if len(now.developers) < 2:
            return "developer", ()
        return ("first developer" if left_out is now.developers[0] else "last developer"), ()
    first = now.steps.index(now.developers[0]) if now.developers else len(now.steps)
    if number < first:
        backed = did == "before" and now.backed
        return ("prebath" if backed else "prewet"), ((reached,) if backed and reached else ())
    return ("wash" if did == "water" else did), suspects


def _must_not_reach(plan: Plan, residue: str | None, solution: str | None) -> bool:
    return any(rule.residue == residue and rule.solution == solution for rule in plan.rules)


def _bath(steps: tuple[PlannedStep, ...]) -> PlannedStep | None:
    """The first of these steps that pours chemistry."""
    return next((step for step in steps if step.kind in _WET and step.solution and step.storage != "tap"), None)


def _unless_water(about: str, did: BathWork) -> tuple[str, ...]:
    return () if did == "water" else (about,)


def _develops(step: PlannedStep) -> bool:
    return step.kind is Kind.BATH and step.ends == "on time" and step.storage != "tap"


def _step(state: State, plan: Plan) -> PlannedStep:
    return plan.step(state.current) if state.current is not None else plan.steps[-1]


def _fill(state: State, plan: Plan) -> tuple[PlannedStep, ...]:
    """The steps of the tank fill that is at work, in order; of the first one before any has begun."""
    here = plan.number(_step(state, plan).id)
    batch = next((step.batch for step in reversed(plan.steps[: here + 1]) if step.batch is not None), 1)
    return tuple(step for step in plan.steps if step.batch == batch)


def _rolls(plan: Plan, steps: tuple[PlannedStep, ...]) -> tuple[int, ...]:
    numbers = {step.batch for step in steps}
    return tuple(roll for batch in plan.batches if batch.number in numbers for roll in batch.rolls)


def _running(state: State, plan: Plan) -> PlannedStep | None:
    """The step whose bath is in the tank now; None between two baths."""
    step = _step(state, plan)
    clock = state.clocks.get(step.id)
    inside = clock is not None and clock.drained_at is None and step.id not in state.ended
    return step if inside and step.kind in _WET and not step.background else None


def _film(now: _Now, but: PlannedStep | None) -> Film:
    """What the baths have made of this fill's film, `but` one left out of account."""
    begun = [step for step in now.steps if now.begun(step) and step is not but]
    if any(step.makes_light_safe and step.id in now.state.ended for step in begun):
        return "safe"
    if any(step.bleaches for step in begun):
        return "bleached"
    if any(_develops(step) for step in begun):
        return "developed"
    loaded = any(step.kind is Kind.DARK and step.id in now.state.ended for step in now.steps)
    return "undeveloped" if loaded else "not loaded"
