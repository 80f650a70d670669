"""The proof of one plan: nothing forbidden meets, nothing hazardous comes unannounced, nothing stays open.

One job: walk a plan step by step as the live guide would, with every tick made at the worst moment its gates
allow, and say in words where that goes wrong. Residues go through the same functions as the live gates. It
does not choose paths (`paths.py`) and does not look at single figures (`sense.py`).

A tick can be made from the moment its step is open (with a clock: running, unless it is due before the start)
until the gate it is due at. What a tick rinses is therefore clean for certain only from that gate on, and
only of what was there when the tick could first be made. What it opens is open from the first of these moments.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from wetside.craft.residue import CLEAN, Rule, breaches, pour, rinse
from wetside.frozen import dataclass
from wetside.profile.model import Kind, Profile
from wetside.session.plan import Plan, PlannedStep, PlannedTick

OPEN, START, RUNNING, END = range(4)
Moment = tuple[int, int]
MOST_TICKS = 7
MOST_BETWEEN_BATHS = 2
"""Design number of our own: the developer still works in the film while these are read."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that goes wrong at planned step `at`; `since` is the step it began at, for the account."""

    at: int
    sentence: str
    since: int
    key: tuple[str, ...]


def faults(plan: Plan, profile: Profile) -> tuple[Fault, ...]:
    """Everything that goes wrong on this plan, by step."""
    timed = _timed(plan)
    found = [
        *_tick_faults(plan, timed),
        *_reading_faults(plan, profile),
        *_residue_faults(plan, timed),
        *_hazard_faults(plan, profile, timed),
        *_bottle_faults(plan, timed),
        *_light_faults(plan, profile, timed),
        *_join_faults(plan),
    ]
    return tuple(sorted(found, key=lambda fault: fault.at))


@dataclass(frozen=True, slots=True)
class _Timed:
    """A tick of planned step `host`: it can be made from `first` on, and is made by `by` for certain."""

    host: int
    tick: PlannedTick
    first: Moment
    by: Moment


def _timed(plan: Plan) -> tuple[_Timed, ...]:
    """Every tick with its two moments. The live rules are `gates.cannot_make` and `gates.open_ticks`."""
    numbers = {step.id: number for number, step in enumerate(plan.steps)}
    found = []
    for number, step in enumerate(plan.steps):
        for tick in step.ticks:
            own_start = tick.due_step == step.id and tick.due_at == "start"
            first = (number, RUNNING if step.timed and not own_start else OPEN)
            by = (numbers[tick.due_step], START if tick.due_at == "start" else END)
            found.append(_Timed(number, tick, first, by))
    return tuple(found)


def _pours(step: PlannedStep) -> bool:
    return step.timed and step.solution is not None and bool(step.pour)


def _named(step: PlannedStep) -> str:
    return f'Step "{step.of}" ({step.title})'


# ---------------------------------------------------------------- ticks


def _tick_faults(plan: Plan, timed: tuple[_Timed, ...]) -> Iterator[Fault]:
    gates = Counter(each.by for each in timed)
    for number, step in enumerate(plan.steps):
        if len(step.ticks) > MOST_TICKS:
            text = f"{_named(step)}: {len(step.ticks)} ticks at once; at most {MOST_TICKS} fit: split the step."
            yield Fault(number, text, number, ("many", step.of))
        waiting = gates[(number, START)]
        before = plan.steps[number - 1] if number else step
        in_tank = before.kind is Kind.BATH and step.kind in (Kind.BATH, Kind.WASH) and before.batch == step.batch
        at_once = number > 0 and in_tank and before.ends == "on time"
        if at_once and waiting > MOST_BETWEEN_BATHS:
            text = (
                f"{_named(step)}: {waiting} ticks stand between {before.title} and it while the"
                f" {before.solution_title.lower()} still works in the film; at most {MOST_BETWEEN_BATHS} may."
            )
            yield Fault(number, text, number - 1, ("between", step.of))
    for each in timed:
        yield from _out_of_reach(plan, each)


def _out_of_reach(plan: Plan, each: _Timed) -> Iterator[Fault]:
    """A tick whose gate comes before it can be made, or where nobody can see it."""
    step, due, text = plan.steps[each.host], plan.steps[each.by[0]], each.tick.text
    if each.by < each.first:
        sentence = f'{_named(step)}: "{text}" falls due before {due.title}, before it can be made.'
        yield Fault(each.host, sentence, each.by[0], ("early", step.of, text))
    if due.in_the_dark and each.by[1] == END:
        sentence = (
            f'{_named(step)}: "{text}" falls due in the dark, at the end of {due.title}, where nothing is shown'
            ' and no key ticks: make it due at "start", or before a later step.'
        )
        yield Fault(each.by[0], sentence, each.host, ("dark", step.of, text))


# ------------------------------------------------------------- readings


def _reading_faults(plan: Plan, profile: Profile) -> Iterator[Fault]:
    """A screen for readings that has none tonight, one that asks twice, and a gate no reading can open."""
    for number, step in enumerate(plan.steps):
        waits = step.kind in (Kind.MEASURE, Kind.WAIT)
        if waits and not step.readings and profile.step(step.of).readings:
            text = f"{_named(step)}: nothing is left to read here: give the step the conditions of its readings."
            yield Fault(number, text, number, ("nothing read", step.of))
        for of, times in Counter(ask.of for ask in step.readings).items():
            if times > 1:
                text = f"{_named(step)}: {plan.title_of(of)} is asked for {times} times on one screen."
                yield Fault(number, text, number, ("read twice", step.of, of))
        poured = {later.solution for later in plan.steps[number:]} | {"bath", "room"}
        for ask in step.readings:
            if waits and ask.required and ask.of not in poured:
                text = (
                    f"{_named(step)}: {plan.title_of(ask.of)} must be read here, and nothing pours it afterwards:"
                    " give the reading a condition."
                )
                yield Fault(number, text, number, ("read for nothing", step.of, ask.of))


# ------------------------------------------------------------- residues


class _Carried:
    """What everything carries at this point of the plan, and what the ticks that can be made now would clear.

    held: by tick, the things it rinses and the residues they carried since it could first be made, which alone it
    clears for certain. brought: by thing and residue, the step that brought it there.
    """

    def __init__(self, plan: Plan, timed: tuple[_Timed, ...]) -> None:
        self.plan = plan
        self.rules = tuple(Rule(rule.residue, rule.solution, rule.why) for rule in plan.rules)
        self.residues = CLEAN
        self.brought: dict[tuple[str, str], int] = {}
        self.opening: dict[Moment, list[PlannedTick]] = {}
        self.closing: dict[Moment, list[PlannedTick]] = {}
        self.held: dict[str, dict[str, frozenset[str]]] = {}
        for each in timed:
            if each.tick.clears:
                self.opening.setdefault(each.first, []).append(each.tick)
                self.closing.setdefault(each.by, []).append(each.tick)

    def at_moment(self, moment: Moment) -> None:
        """Ticks that can be made from here on, then those made by now for certain."""
        for tick in self.opening.get(moment, ()):
            self.held[tick.id] = {thing: self.residues.on(thing) for thing in tick.clears}
        for tick in self.closing.get(moment, ()):
            for thing, cleared in self.held.pop(tick.id, {}).items():
                self.residues = rinse(self.residues, (thing,), cleared)

    def lay(self, solution: str, things: tuple[str, ...], number: int, how: str) -> Iterator[Fault]:
        """Bring a solution to things at a step, with a fault for each residue it must not meet there."""
        step = self.plan.steps[number]
        for breach in breaches(self.residues, solution, things, self.rules):
            thing, residue = self.plan.title_of(breach.thing), self.plan.title_of(breach.residue)
            text = (
                f"{_named(step)}: {thing} still carries {residue.lower()} when"
                f" {self.plan.title_of(solution).lower()} {how}. {breach.why}"
            )
            since = self.brought.get((breach.thing, breach.residue), number)
            yield Fault(number, text, since, ("residue", step.of, breach.residue, how, thing))
        self.residues = pour(self.residues, solution, things)
        for thing in things:
            self.brought[(thing, solution)] = number
            for held in self.held.values():
                held[thing] = held.get(thing, frozenset()) - {solution}

    def end(self, number: int) -> Iterator[Fault]:
        """The end of a step: its solution comes back, and the step itself rinses."""
        step = self.plan.steps[number]
        if step.back and step.solution is not None and step.timed:
            yield from self.lay(step.solution, step.back, number, "comes back through it")
        self.residues = rinse(self.residues, step.rinses)


def _residue_faults(plan: Plan, timed: tuple[_Timed, ...]) -> Iterator[Fault]:
    carried = _Carried(plan, timed)
    for number, step in enumerate(plan.steps):
        carried.at_moment((number, OPEN))
        carried.at_moment((number, START))
        if step.joins is not None:
            yield from carried.end(plan.number(step.joins))
        if _pours(step) and step.solution is not None:
            yield from carried.lay(step.solution, step.pour, number, "reaches it")
        carried.at_moment((number, RUNNING))
        carried.at_moment((number, END))
        if not step.background:
            yield from carried.end(number)


# -------------------------------------------------- hazards and bottles


def _opened(step: PlannedStep, profile: Profile) -> tuple[str, ...]:
    """Solutions whose bottle is open in this step: poured, or read with a thermometer."""
    ids = {each.id for each in profile.solutions if each.storage != "tap"}
    poured = (step.solution,) if _pours(step) and step.solution is not None else ()
    return tuple(of for of in dict.fromkeys((*poured, *(ask.of for ask in step.readings))) if of in ids)


def _hazard_faults(plan: Plan, profile: Profile, timed: tuple[_Timed, ...]) -> Iterator[Fault]:
    shown: set[str] = set()
    opened: set[str] = set()
    poured: set[str] = set()
    bare_since = (0, OPEN)
    gloves = [(each.first, each.by) for each in timed if each.tick.gloves]
    for number, step in enumerate(plan.steps):
        shown |= {caution.id for caution in step.cautions}
        gloved = any(bare_since <= first and by <= (number, START) for first, by in gloves)
        for id_ in _opened(step, profile):
            solution = profile.solution(id_)
            hazardous = any(hazard.code.startswith("H") for hazard in solution.hazards)
            if (hazardous or solution.gloves) and not gloved:
                again = " again after the loading" if bare_since > (0, OPEN) else ""
                text = f"{_named(step)}: {solution.title} is opened before a tick says that gloves are on{again}."
                yield Fault(number, text, bare_since[0], ("gloves", step.of, id_))
            missing = [need for need in solution.needs_caution if need not in shown and id_ not in opened]
            for need in missing:
                text = f'{_named(step)}: {solution.title} is opened before its caution "{need}" is shown.'
                yield Fault(number, text, 0, ("caution", step.of, id_, need))
            if hazardous and step.solution == id_ and id_ not in poured:
                poured.add(id_)
                if not solution.needs_caution and not step.cautions:
                    text = f"{_named(step)}: {solution.title} is hazardous and is poured without any caution."
                    yield Fault(number, text, number, ("no caution", step.of, id_))
            opened.add(id_)
        if step.kind is Kind.DARK:
            # Film is loaded with dry bare hands: whatever was on them before says nothing about after.
            bare_since = (number, END)


def _bottle_faults(plan: Plan, timed: tuple[_Timed, ...]) -> Iterator[Fault]:
    last: dict[str, int] = {}
    for number, step in enumerate(plan.steps):
        if step.storage == "bottle" and step.solution is not None and _pours(step):
            last[step.solution] = number
    closings = [(each.tick.closes, each.first) for each in timed if each.tick.closes is not None]
    for solution, number in last.items():
        if not any(closed == solution and first >= (number, RUNNING) for closed, first in closings):
            step = plan.steps[number]
            text = f"{_named(step)}: the bottle of {step.solution_title.lower()} is opened and no tick closes it."
            yield Fault(number, text, number, ("open", solution))


# ---------------------------------------------------------------- light


def _light_faults(plan: Plan, profile: Profile, timed: tuple[_Timed, ...]) -> Iterator[Fault]:
    tanks = {vessel.id for vessel in profile.vessels if vessel.kind == "tank"}
    for batch in plan.batches:
        yield from _batch_light_faults(plan, batch.number, tanks, timed)


def _batch_light_faults(plan: Plan, batch: int, tanks: set[str], timed: tuple[_Timed, ...]) -> Iterator[Fault]:
    own = [(number, step) for number, step in enumerate(plan.steps) if step.batch == batch]
    on = _lid_moments(plan, timed, batch, "on")
    off = _lid_moments(plan, timed, batch, "off")
    closed = min((by for _, by in on), default=None)
    safe = min(((number, END) for number, step in own if step.makes_light_safe and _pours(step)), default=None)
    for number, step in own:
        poured = _pours(step) and any(thing in tanks for thing in step.pour)
        if not poured or (safe is not None and number > safe[0]):
            continue
        if closed is None or closed > (number, START):
            text = f"{_named(step)}: it is poured into the tank before the lid is on; the film still minds light."
            yield Fault(number, text, 0, ("lid on", step.of))
            break
    for first, _ in off:
        if safe is None or first < (safe[0], END) or first[0] <= safe[0]:
            step = plan.steps[first[0]]
            until = f"until {plan.steps[safe[0]].title} has ended" if safe is not None else "to the very end"
            text = f"{_named(step)}: the lid comes off here, but the film minds light {until}."
            yield Fault(first[0], text, closed[0] if closed is not None else 0, ("lid off", step.of))
    opened = min((by for _, by in off), default=None)
    handled = next((number for number, step in own if step.roll is not None), None)
    if closed is not None and opened is None:
        at = handled if handled is not None else own[-1][0]
        text = f"{_named(plan.steps[at])}: the lid went on and no step or tick takes it off again."
        yield Fault(at, text, closed[0], ("lid stays", plan.steps[at].of))
    elif opened is not None and handled is not None and opened > (handled, START):
        step = plan.steps[handled]
        text = f"{_named(step)}: single rolls are handled here, and the lid comes off only later."
        yield Fault(handled, text, closed[0] if closed is not None else 0, ("lid late", step.of))


def _lid_moments(plan: Plan, timed: tuple[_Timed, ...], batch: int, lid: str) -> list[tuple[Moment, Moment]]:
    """From when, and by when at the latest, the lid goes on or off in this batch."""
    found = []
    for number, step in enumerate(plan.steps):
        if step.batch == batch and step.lid == lid:
            found.append(((number, OPEN), (number, OPEN)) if lid == "off" else ((number, END), (number, END)))
    for each in timed:
        if plan.steps[each.host].batch == batch and each.tick.lid == lid:
            found.append((each.first, each.by))
    return found


# ---------------------------------------------------------------- joins


def _join_faults(plan: Plan) -> Iterator[Fault]:
    joined = {step.joins for step in plan.steps}
    for number, step in enumerate(plan.steps):
        if step.background and step.id not in joined:
            text = f"{_named(step)}: it runs on in the background and no later step joins it."
            yield Fault(number, text, number, ("join", step.of))
