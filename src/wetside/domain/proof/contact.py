"""The proof of one plan: no forbidden residue, no hazard without its caution, no bottle left open.

A plan is walked step by step as the live guide would, with every tick made at the worst moment its gates allow
(`findings.py`); residues go through the same functions as the live gates. Each film gets what its kind needs, and
each bath the care it needs. The light and the developer have proofs of their own (`light.py`, `developer.py`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from wetside.domain.calc.residue import CLEAN, Residues, breaches, carried, pour, rinse
from wetside.domain.messages import message
from wetside.domain.planning.plan import Batch, Plan, PlannedStep, PlannedTick
from wetside.domain.profile.model import MOST_TICKS, Kind, Profile, developers
from wetside.domain.proof.developer import developer_faults
from wetside.domain.proof.findings import (
    END,
    OPEN,
    RUNNING,
    START,
    Moment,
    ProofFault,
    Timed,
    fault,
    into_tank,
    named,
    pours,
    steps_of,
    tank_ids,
    timed_ticks,
)
from wetside.domain.proof.light import light_faults

LEAST_LAST_WASH_S: Final = 60.0
"""Our own number; 1:05 is the shortest wash of the standard cycle (Z-131 table 2-1, second-hand)."""


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
    ]
    for batch in plan.batches:
        found += [*_backing(plan, profile, batch), *_two_developers(plan, profile, batch)]
        found += _unwashed(plan, profile, batch.number)
    found += [*_unread(plan, profile), *_join_faults(plan)]
    return tuple(sorted(found, key=lambda each: each.at))


# --------------------------------------------------- ticks, readings, joins


def _tick_faults(plan: Plan, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    for number, step in enumerate(plan.steps):
        if len(step.ticks) > MOST_TICKS:
            yield fault(plan, number, number, message("many ticks", count=len(step.ticks), most=MOST_TICKS))
    for each in timed:
        due, text = plan.steps[each.by[0]], each.tick.text
        if each.by < each.first:
            yield fault(plan, each.host, each.by[0], message("due too early", tick=text, due=due.title), text)
        if due.in_the_dark and each.by[1] == END:
            what = message("due in the dark", tick=text, due=due.title)
            yield fault(plan, each.by[0], each.host, what, text, of=each.host)


def _reading_faults(plan: Plan, profile: Profile) -> Iterator[ProofFault]:
    """A screen for readings that has none tonight, one that asks twice, and a gate no reading can open."""
    for number, step in enumerate(plan.steps):
        waits = step.kind.traits.reads
        if waits and not step.readings and profile.step(step.of).readings:
            yield fault(plan, number, number, message("nothing to read"))
        for of, times in Counter(ask.of for ask in step.readings).items():
            if times > 1:
                yield fault(plan, number, number, message("read twice", title=plan.title_of(of), times=times), of)
        poured = {later.solution for later in plan.steps[number:]} | {"bath", "room"}
        for ask in step.readings:
            if waits and ask.required and ask.of not in poured:
                yield fault(plan, number, number, message("read for nothing", title=plan.title_of(ask.of)), ask.of)


def _join_faults(plan: Plan) -> Iterator[ProofFault]:
    joined = {step.joins for step in plan.steps}
    for number, step in enumerate(plan.steps):
        if step.background and step.id not in joined:
            yield fault(plan, number, number, message("never joined"))


# ------------------------------------------------------------- residues


class _Carried:
    """The residues on all things at this point of the plan, and what the open ticks would clear.

    held: by tick, what the things it rinses carry since it could first be made, which alone it clears for certain.
    brought: by thing and residue, the step that brought it there.
    """

    def __init__(self, plan: Plan, timed: tuple[Timed, ...]) -> None:
        self.plan = plan
        self.residues = CLEAN
        self.brought: dict[tuple[str, str], int] = {}
        self.opening: dict[Moment, list[PlannedTick]] = {}
        self.closing: dict[Moment, list[PlannedTick]] = {}
        self.held: dict[str, Residues] = {}
        for each in timed:
            if each.tick.clears:
                self.opening.setdefault(each.first, []).append(each.tick)
                self.closing.setdefault(each.by, []).append(each.tick)

    def at_moment(self, moment: Moment) -> None:
        """Apply the ticks that can be made from this moment on, then those that are certainly made by now."""
        for tick in self.opening.get(moment, ()):
            self.held[tick.id] = carried(self.residues, tick.clears)
        for tick in self.closing.get(moment, ()):
            self.residues -= self.held.pop(tick.id, CLEAN)

    def lay(self, solution: str, things: tuple[str, ...], number: int, back: bool = False) -> Iterator[ProofFault]:
        """Bring a solution to things at a step, with a fault for each residue it must not meet there."""
        for on, rule in breaches(self.residues, solution, things, self.plan.rules):
            thing, residue = self.plan.title_of(on), self.plan.title_of(rule.residue)
            what = message(
                "residue comes back" if back else "residue reached",
                thing=thing,
                residue=residue,
                solution=self.plan.title_of(solution),
                why=rule.why,
            )
            since = self.brought.get((on, rule.residue), number)
            yield fault(self.plan, number, since, what, rule.residue, thing)
        laid = pour(CLEAN, solution, things)
        self.residues |= laid
        self.brought |= dict.fromkeys(laid, number)
        self.held = {tick: held - laid for tick, held in self.held.items()}

    def end(self, number: int) -> Iterator[ProofFault]:
        """The end of a step: its solution comes back, and the step itself rinses."""
        step = self.plan.steps[number]
        if step.back and step.solution is not None and step.timed:
            yield from self.lay(step.solution, step.back, number, back=True)
        self.residues = rinse(self.residues, step.rinses)


def _residue_faults(plan: Plan, timed: tuple[Timed, ...]) -> Iterator[ProofFault]:
    walked = _Carried(plan, timed)
    for number, step in enumerate(plan.steps):
        walked.at_moment((number, OPEN))
        walked.at_moment((number, START))
        if step.joins is not None:
            yield from walked.end(plan.number(step.joins))
        if pours(step) and step.solution is not None:
            yield from walked.lay(step.solution, step.pour, number)
        walked.at_moment((number, RUNNING))
        walked.at_moment((number, END))
        if not step.background:
            yield from walked.end(number)


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
                again = bare_since > (0, OPEN)
                what = message("opened before gloves", solution=solution.title, again=again)
                yield fault(plan, number, bare_since[0], what, id_)
            missing = [need for need in solution.needs_caution if need not in shown and id_ not in opened]
            for need in missing:
                what = message("opened without caution", solution=solution.title, caution=need)
                yield fault(plan, number, 0, what, id_, need)
            if hazardous and step.solution == id_ and id_ not in poured:
                poured.add(id_)
                if not step.cautions:
                    what = message("poured without caution", solution=solution.title)
                    yield fault(plan, number, number, what, id_)
            opened.add(id_)
        if step.kind is Kind.DARK:
            # Film is loaded with dry bare hands, so gloves put on before do not count afterwards.
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
            what = message("left open", solution=step.solution_title)
            yield ProofFault(number, number, what, named(step.of, step.title), ("open", solution))


# -------------------------------------------------- what each kind needs


def _backing(plan: Plan, profile: Profile, batch: Batch) -> Iterator[ProofFault]:
    """A backed roll whose backing no step takes off or states to keep on."""
    own = steps_of(plan, batch.number)
    handled = [step.roll for _, step in own if profile.step(step.of).backing is not None]
    for roll in batch.rolls:
        if plan.setup.rolls[roll].kind == "backed" and None not in handled and roll not in handled:
            number, step = next((each for each in own if each[1].kind is Kind.DARK), own[0])
            what = message("backing stays")
            yield ProofFault(number, number, what, named(step.of, step.title), ("backing",))
            return


def _two_developers(plan: Plan, profile: Profile, batch: Batch) -> Iterator[ProofFault]:
    """A negative film that meets two developers, as only reversal film does."""
    kinds = {plan.setup.rolls[roll].kind for roll in batch.rolls}
    known = {each.id for each in developers(profile)}
    met = {step.solution: number for number, step in steps_of(plan, batch.number) if step.solution in known}
    if len(met) > 1 and kinds & {"standard", "backed"}:
        first, second = sorted(met.values())[:2]
        yield fault(plan, second, first, message("second developer", first=plan.steps[first].title))


def _unwashed(plan: Plan, profile: Profile, batch: int) -> Iterator[ProofFault]:
    """A fill without a wash of a minute between the bath that makes film light-safe and the next chemistry."""
    tanks, own = tank_ids(profile), steps_of(plan, batch)
    fixed = next((number for number, step in own if step.makes_light_safe and pours(step)), None)
    if fixed is None:
        return
    washed_s, after = 0.0, fixed
    for after, step in own:
        if after <= fixed:
            continue
        if pours(step) and step.storage != "tap":
            break
        if into_tank(step, tanks) and step.planned_s is None and step.kind is Kind.WASH:
            return  # a wash without a time, which ends by its ticks
        washed_s += (step.planned_s or 0.0) if into_tank(step, tanks) else 0.0
    if washed_s < LEAST_LAST_WASH_S - 0.5:
        what = message("not washed", fixer=plan.steps[fixed].title, washed_s=washed_s, least_s=LEAST_LAST_WASH_S)
        yield fault(plan, after, fixed, what)


def _unread(plan: Plan, profile: Profile) -> Iterator[ProofFault]:
    """A bath that is warmed and whose temperature is never asked for; `developer.py` checks developers."""
    known = {each.id for each in developers(profile)}
    warmed = {each.id for each in profile.solutions if each.tempered and each.storage != "tap"} - known
    asked: set[tuple[str, int | None]] = set()
    for number, step in enumerate(plan.steps):
        if step.kind.traits.reads:
            readings = (ask for ask in step.readings if ask.required and ask.range_c is not None)
            asked |= {(ask.of, step.batch) for ask in readings}
        of = step.solution
        if of in warmed and pours(step) and not {(of, None), (of, step.batch)} & asked:
            yield fault(plan, number, number, message("warmed unread", title=step.solution_title, solution=of))
