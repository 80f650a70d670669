"""The proof of one plan: nothing forbidden meets, nothing hazardous comes unannounced, nothing stays open.

One job: walk a plan step by step as the live guide would, with every tick made at the worst moment its gates
allow (`moments.py`), and say in words where that goes wrong. Residues go through the same functions as the
live gates. The light and the developer have proofs of their own (`proof_light.py`, `proof_developer.py`). It does
not choose paths (`paths.py`) and does not look at single figures (`sense.py`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from wetside.domain.calc.residue import CLEAN, Rule, breaches, pour, rinse
from wetside.domain.planning.plan import Plan, PlannedStep, PlannedTick
from wetside.domain.profile.model import Kind, Profile
from wetside.domain.proof.developer import developer_faults
from wetside.domain.proof.findings import (
    END,
    OPEN,
    RUNNING,
    START,
    Moment,
    ProofFault,
    Timed,
    named,
    pours,
    timed_ticks,
)
from wetside.domain.proof.kinds import kind_faults
from wetside.domain.proof.light import light_faults

MOST_TICKS = 7


def faults(plan: Plan, profile: Profile) -> tuple[ProofFault, ...]:
    """Everything that goes wrong on this plan, by step."""
    timed = timed_ticks(plan)
    found = [
        *_tick_faults(plan, timed),
        *_reading_faults(plan, profile),
        *_residue_faults(plan, timed),
        *_hazard_faults(plan, profile, timed),
        *_bottle_faults(plan, timed),
        *light_faults(plan, profile, timed),
        *developer_faults(plan, profile, timed),
        *kind_faults(plan, profile),
        *_join_faults(plan),
    ]
    return tuple(sorted(found, key=lambda fault: fault.at))


# ---------------------------------------------------------------- ticks


def _tick_faults(plan: Plan, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    for number, step in enumerate(plan.steps):
        if len(step.ticks) > MOST_TICKS:
            text = f"{named(step)}: {len(step.ticks)} ticks at once; at most {MOST_TICKS} fit: split the step."
            yield ProofFault(number, text, number, ("many", step.of))
    for each in timed:
        yield from _out_of_reach(plan, each)


def _out_of_reach(plan: Plan, each: Timed) -> Iterator[ProofFault]:
    """A tick whose gate comes before it can be made, or where nobody can see it."""
    step, due, text = plan.steps[each.host], plan.steps[each.by[0]], each.tick.text
    if each.by < each.first:
        sentence = f'{named(step)}: "{text}" falls due before {due.title}, before it can be made.'
        yield ProofFault(each.host, sentence, each.by[0], ("early", step.of, text))
    if due.in_the_dark and each.by[1] == END:
        sentence = (
            f'{named(step)}: "{text}" falls due in the dark, at the end of {due.title}, where nothing is shown'
            ' and no key ticks: make it due at "start", or before a later step.'
        )
        yield ProofFault(each.by[0], sentence, each.host, ("dark", step.of, text))


# ------------------------------------------------------------- readings


def _reading_faults(plan: Plan, profile: Profile) -> Iterator[ProofFault]:
    """A screen for readings that has none tonight, one that asks twice, and a gate no reading can open."""
    for number, step in enumerate(plan.steps):
        waits = step.kind in (Kind.MEASURE, Kind.WAIT)
        if waits and not step.readings and profile.step(step.of).readings:
            text = f"{named(step)}: nothing is left to read here: give the step the conditions of its readings."
            yield ProofFault(number, text, number, ("nothing read", step.of))
        for of, times in Counter(ask.of for ask in step.readings).items():
            if times > 1:
                text = f"{named(step)}: {plan.title_of(of)} is asked for {times} times on one screen."
                yield ProofFault(number, text, number, ("read twice", step.of, of))
        poured = {later.solution for later in plan.steps[number:]} | {"bath", "room"}
        for ask in step.readings:
            if waits and ask.required and ask.of not in poured:
                text = (
                    f"{named(step)}: {plan.title_of(ask.of)} must be read here, and nothing pours it afterwards:"
                    " give the reading a condition."
                )
                yield ProofFault(number, text, number, ("read for nothing", step.of, ask.of))


# ------------------------------------------------------------- residues


class _Carried:
    """What everything carries at this point of the plan, and what the ticks that can be made now would clear.

    held: by tick, the things it rinses and the residues they carried since it could first be made, which alone it
    clears for certain. brought: by thing and residue, the step that brought it there.
    """

    def __init__(self, plan: Plan, timed: tuple[Timed, ...]) -> None:
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

    def lay(self, solution: str, things: tuple[str, ...], number: int, how: str) -> Iterator[ProofFault]:
        """Bring a solution to things at a step, with a fault for each residue it must not meet there."""
        step = self.plan.steps[number]
        for breach in breaches(self.residues, solution, things, self.rules):
            thing, residue = self.plan.title_of(breach.thing), self.plan.title_of(breach.residue)
            text = (
                f"{named(step)}: {thing} still carries {residue.lower()} when"
                f" {self.plan.title_of(solution).lower()} {how}. {breach.why}"
            )
            since = self.brought.get((breach.thing, breach.residue), number)
            yield ProofFault(number, text, since, ("residue", step.of, breach.residue, how, thing))
        self.residues = pour(self.residues, solution, things)
        for thing in things:
            self.brought[(thing, solution)] = number
            for held in self.held.values():
                held[thing] = held.get(thing, frozenset()) - {solution}

    def end(self, number: int) -> Iterator[ProofFault]:
        """The end of a step: its solution comes back, and the step itself rinses."""
        step = self.plan.steps[number]
        if step.back and step.solution is not None and step.timed:
            yield from self.lay(step.solution, step.back, number, "comes back through it")
        self.residues = rinse(self.residues, step.rinses)


def _residue_faults(plan: Plan, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    carried = _Carried(plan, timed)
    for number, step in enumerate(plan.steps):
        carried.at_moment((number, OPEN))
        carried.at_moment((number, START))
        if step.joins is not None:
            yield from carried.end(plan.number(step.joins))
        if pours(step) and step.solution is not None:
            yield from carried.lay(step.solution, step.pour, number, "reaches it")
        carried.at_moment((number, RUNNING))
        carried.at_moment((number, END))
        if not step.background:
            yield from carried.end(number)


# -------------------------------------------------- hazards and bottles


def _opened(step: PlannedStep, profile: Profile) -> tuple[str, ...]:
    """Solutions whose bottle is open in this step: poured, or read with a thermometer."""
    ids = {each.id for each in profile.solutions if each.storage != "tap"}
    poured = (step.solution,) if pours(step) and step.solution is not None else ()
    return tuple(of for of in dict.fromkeys((*poured, *(ask.of for ask in step.readings))) if of in ids)


def _hazard_faults(plan: Plan, profile: Profile, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
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
                text = f"{named(step)}: {solution.title} is opened before a tick says that gloves are on{again}."
                yield ProofFault(number, text, bare_since[0], ("gloves", step.of, id_))
            missing = [need for need in solution.needs_caution if need not in shown and id_ not in opened]
            for need in missing:
                text = f'{named(step)}: {solution.title} is opened before its caution "{need}" is shown.'
                yield ProofFault(number, text, 0, ("caution", step.of, id_, need))
            if hazardous and step.solution == id_ and id_ not in poured:
                poured.add(id_)
                if not step.cautions:
                    text = (
                        f"{named(step)}: {solution.title} is hazardous and is poured here without any caution"
                        " on the"
                        " screen: name one in cautions."
                    )
                    yield ProofFault(number, text, number, ("no caution", step.of, id_))
            opened.add(id_)
        if step.kind is Kind.DARK:
            # Film is loaded with dry bare hands: whatever was on them before says nothing about after.
            bare_since = (number, END)


def _bottle_faults(plan: Plan, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    last: dict[str, int] = {}
    for number, step in enumerate(plan.steps):
        if step.storage == "bottle" and step.solution is not None and pours(step):
            last[step.solution] = number
    closings = [(each.tick.closes, each.first) for each in timed if each.tick.closes is not None]
    for solution, number in last.items():
        if not any(closed == solution and first >= (number, RUNNING) for closed, first in closings):
            step = plan.steps[number]
            text = f"{named(step)}: the bottle of {step.solution_title.lower()} is opened and no tick closes it."
            yield ProofFault(number, text, number, ("open", solution))


# ---------------------------------------------------------------- joins


def _join_faults(plan: Plan) -> Iterator[ProofFault]:
    joined = {step.joins for step in plan.steps}
    for number, step in enumerate(plan.steps):
        if step.background and step.id not in joined:
            text = f"{named(step)}: it runs on in the background and no later step joins it."
            yield ProofFault(number, text, number, ("join", step.of))
