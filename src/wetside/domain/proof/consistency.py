"""Sense in a profile, read as it stands: ids, figures, order of steps, and texts that fit the screen.

One job: everything that can be said without walking a path. The limits on figures and texts are those of
`toml_values.py`; they are asked again here because a profile may be made without a file. It plans nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import chain

from wetside.domain.calc.developer_time import PushTable, TimeTable, UseCompensation
from wetside.domain.profile.model import CONDITIONS, LEAST_BELL_S, Kind, Profile, Solution, Step
from wetside.domain.proof.consistency_bounds import bound_findings
from wetside.domain.proof.consistency_developer import developing_findings
from wetside.domain.proof.consistency_hands import hand_findings
from wetside.domain.proof.consistency_safety import safety_findings
from wetside.domain.proof.developer import developer_sense
from wetside.domain.proof.finding import Finding, Place
from wetside.errors import Refused

COLDEST_C, HOTTEST_C = 0.0, 60.0
MOST_TITLE, MOST_TICK, MOST_SENTENCE, MOST_CAUTION, MOST_CAUTIONS, MOST_TO_REMEMBER = 32, 60, 150, 150, 2, 3
SLACK_C = 0.05
"""Half of what is shown: 39.0 °C and 38.97 °C are the same figure."""
LONGEST_S = 86_400.0
LEAST_INTERVAL_S = 5.0
"""The shortest distance of two calls to agitate (our own number): nearer ones are heard as one."""
TIMED = (Kind.BATH, Kind.WASH, Kind.HANG)


def reference_findings(profile: Profile) -> tuple[Finding, ...]:
    """Every id that is named and not given. With any of these nothing else can be asked."""
    solutions = {each.id for each in profile.solutions}
    vessels = {each.id for each in profile.vessels}
    things = vessels | {"film"}
    cautions = {each.id for each in profile.cautions}
    steps = {each.id for each in profile.steps}
    stages = {each.id for each in profile.stages}
    named: list[tuple[Place, str, Iterable[str | None], set[str]]] = []
    for step in profile.steps:
        where = ("steps", step.id)
        named += [
            (where, "stage", (step.stage,), stages),
            (where, "caution", step.cautions, cautions),
            (where, "solution", (step.solution,), solutions),
            (where, "vessel", (step.through, step.into, step.back_through), vessels),
            (where, "vessel", (*step.touches, *step.rinses), things),
            (where, "step", (step.joins,), steps),
            (where, "solution", (ask.of for ask in step.readings), solutions | {"bath", "room"}),
            (where, "step", (tick.due for tick in step.ticks), steps | {"start", "end"}),
            (where, "vessel", (thing for tick in step.ticks for thing in tick.clears), things),
            (where, "solution", (tick.closes for tick in step.ticks), solutions),
            (where, "condition", sorted(step.conditions()), set(CONDITIONS)),
        ]
    for solution in profile.solutions:
        named.append((("solutions", solution.id), "caution", solution.needs_caution, cautions))
    for vessel in profile.vessels:
        named.append((("vessels", vessel.id), "solution", (vessel.dedicated_to,), solutions))
    for rule in profile.residue_rules:
        named.append((("residue",), "solution", (rule.residue, rule.solution), solutions))
    found = [
        Finding("reference", where, f'{_thing(where)}: there is no {kind} "{id_}".')
        for where, kind, ids, known in named
        for id_ in ids
        if id_ is not None and id_ not in known
    ]
    if len(steps) < len(profile.steps):
        found.append(Finding("reference", ("steps",), "Two steps share an id: give each its own."))
    return tuple(dict.fromkeys(found))


def _thing(place: Place) -> str:
    """A step, solution or vessel by its id; residue rules have none."""
    return f'{place[0].capitalize().removesuffix("s")} "{place[1]}"' if len(place) > 1 else "A residue rule"


def sense_findings(profile: Profile) -> tuple[Finding, ...]:
    """Everything that makes no sense in statements, figures, order and texts."""
    found = [Finding("sense", (), text) for text in _whole(profile)]
    found += [*_unused(profile), *_vessel_findings(profile)]
    found += [*safety_findings(profile), *developing_findings(profile)]
    found += [*bound_findings(profile), *hand_findings(profile)]
    for solution in profile.solutions:
        texts = _solution(profile, solution)
        place = ("solutions", solution.id)
        found += [Finding("sense", place, f'Solution "{solution.id}": {text}') for text in texts]
    number = {step.id: number for number, step in enumerate(profile.steps)}
    for step in profile.steps:
        texts = chain(
            _step(profile, step), developer_sense(profile, step), _order(profile, step, number), _texts(step)
        )
        found += [
            Finding("sense", ("steps", step.id), f'Step "{step.id}" ({step.title}): {text}') for text in texts
        ]
    for caution in profile.cautions:
        place = ("cautions", caution.id)
        length = len(caution.hazard) + len(caution.consequence) + len(caution.avoid)
        if length > MOST_CAUTION:
            words = f'Caution "{caution.id}": {length} characters in all; at most {MOST_CAUTION} fit.'
            found.append(Finding("sense", place, words))
    return tuple(dict.fromkeys(found))


def _whole(profile: Profile) -> Iterator[str]:
    if not profile.steps:
        yield "The profile has no step."
    if not profile.accepts:
        yield "The profile accepts no film."
    if profile.stabiliser_room < 1:
        yield "The last bath has room for no roll: stabiliser_room is at least 1."


def _unused(profile: Profile) -> Iterator[Finding]:
    """What the profile has and no step uses: most often a line that was forgotten."""
    steps = profile.steps
    ticks = {tick.id for step in steps for tick in step.ticks}
    poured = {step.solution for step in steps}
    touched = {id_ for step in steps for id_ in (step.through, step.into, step.back_through, *step.touches)}
    shown = {id_ for step in steps for id_ in step.cautions}
    stages = {step.stage for step in steps}
    for what, ids, used, words in (
        ("Solution", [each.id for each in profile.solutions], poured, "pours it"),
        ("Vessel", [each.id for each in profile.vessels], touched, "pours anything into it or through it"),
        ("Caution", [each.id for each in profile.cautions], shown, "shows it"),
        ("Gear", [each.id for each in profile.gear], ticks, "lists it"),
        ("Stage", [each.id for each in profile.stages], stages, "belongs to it"),
    ):
        for id_ in ids:
            if id_ not in used:
                place = (what.lower() if what == "Gear" else f"{what.lower()}s", id_)
                yield Finding("unused", place, f'{what} "{id_}": no step {words}.')


def _vessel_findings(profile: Profile) -> Iterator[Finding]:
    dedicated = {each.id: each for each in profile.vessels if each.dedicated_to is not None}
    for step in profile.steps:
        for id_ in (step.through, step.into, step.back_through, *step.touches):
            vessel = dedicated.get(id_ or "")
            if vessel is not None and step.solution is not None and step.solution != vessel.dedicated_to:
                carried = profile.solution(step.solution).title.lower()
                words = (
                    f'Step "{step.id}" ({step.title}): {carried} goes into {vessel.title}, which is kept for'
                    f" {profile.solution(vessel.dedicated_to or '').title.lower()} alone."
                )
                yield Finding("dedicated", ("steps", step.id), words)


# ------------------------------------------------------------ solutions


def _solution(profile: Profile, solution: Solution) -> Iterator[str]:
    yield from _title(solution.title)
    if solution.target_c is not None:
        yield from _temperature("its target", solution.target_c)
    if solution.range_c is not None:
        yield from _range("its range", solution.range_c)
        low, high = solution.range_c
        if solution.target_c is not None and not low - SLACK_C <= solution.target_c <= high + SLACK_C:
            yield "its target lies outside its own range."
    yield from _table(solution)
    yield from _factors(solution)
    if solution.hazards and not solution.gloves and any(each.code.startswith("H") for each in solution.hazards):
        yield "it is hazardous and says that no gloves are needed."
    if solution.storage == "bottle":
        yield from _life(solution)
    timed = [s for s in profile.steps if s.solution == solution.id and s.kind is Kind.BATH and s.time_s is None]
    if solution.ends != "when done" and timed and not solution.table:
        yield f'"{timed[0].id}" takes its time from it, and it has no table of times.'


def _temperature(what: str, value_c: float) -> Iterator[str]:
    if not (math.isfinite(value_c) and COLDEST_C <= value_c <= HOTTEST_C):
        yield f"{what} is {value_c:g} °C; baths are between {COLDEST_C:g} and {HOTTEST_C:g} °C."


def _range(what: str, range_c: tuple[float, float]) -> Iterator[str]:
    for value in range_c:
        yield from _temperature(what, value)
    if not range_c[0] < range_c[1]:
        yield f"{what} must rise: {range_c[0]:g} to {range_c[1]:g} °C does not."


def _refused(make: Callable[[], object]) -> Iterator[str]:
    """What the heart itself says against a figure: the rules of a table stand there and nowhere else."""
    try:
        make()
    except Refused as refusal:
        yield str(refusal)


def _table(solution: Solution) -> Iterator[str]:
    for value_c, seconds in solution.table:
        yield from _temperature("a row of its table", value_c)
        if seconds > LONGEST_S:
            yield f"its table has a time of {seconds:g} s at {value_c:g} °C; a bath ends within a day."
    if solution.table:
        yield from _refused(lambda: TimeTable(solution.table, solution.table_tolerance_c))
    if solution.ends != "on time" or not solution.table:
        return
    low_c = solution.table[0][0] - solution.table_tolerance_c - SLACK_C
    high_c = solution.table[-1][0] + solution.table_tolerance_c + SLACK_C
    wanted = (solution.target_c, *(solution.range_c or ()))
    if any(value is not None and not low_c <= value <= high_c for value in wanted):
        yield "its target or range reaches outside its table, where no time is known."
    if not solution.shortest_s > 0:
        yield "its shortest sensible time is more than 0."
    elif solution.table[0][1] < solution.shortest_s:
        yield "every time in its table is shorter than its own shortest sensible time."


def _factors(solution: Solution) -> Iterator[str]:
    use = solution.use
    yield from _refused(lambda: UseCompensation(use.kind, use.per_roll, use.rows))
    yield from _refused(lambda: PushTable(solution.push))
    if use.per_roll > 1:
        yield f"each roll lengthens its time by {use.per_roll:.0%}; that is at most 100 %."
    if any(not 0.2 <= factor <= 5 for _, factor in (*use.rows, *solution.push)):
        yield "a factor of its use or push is not between 0.2 and 5."


def _life(solution: Solution) -> Iterator[str]:
    capacity, stretch = solution.capacity_per_l, solution.stretch_per_l
    if capacity is not None and not capacity > 0:
        yield "its capacity is more than 0 rolls per litre."
    if capacity is not None and stretch is not None and stretch < capacity:
        yield "its stretch is less than its capacity."
    full, part = solution.life_full_days, solution.life_part_days
    if any(days is not None and not days > 0 for days in (full, part)):
        yield "a life is longer than 0 days."
    if full is not None and part is not None and part > full:
        yield "it cannot keep longer in a part-full bottle than in a full one."


# ---------------------------------------------------------------- steps


def _step(profile: Profile, step: Step) -> Iterator[str]:
    if step.kind is Kind.BATH and (step.solution is None or step.into is None):
        yield "a bath needs a solution and something to pour it into."
    if step.kind not in TIMED and step.solution is not None:
        yield f"a {step.kind.value} step pours nothing; make it a bath or a wash."
    if step.kind in (Kind.MEASURE, Kind.WAIT) and not step.readings:
        yield "it measures nothing: name what is read."
    if step.kind is Kind.HANG and step.time_s is None:
        yield "hanging needs a time."
    if step.kind is Kind.CHECK and not step.ticks:
        yield "it has no tick, so there is nothing to confirm."
    if step.kind is Kind.BATH and step.solution is not None:
        solution = profile.solution(step.solution)
        ends = step.ends or solution.ends
        if ends == "on time" and not solution.table:
            yield f"it ends on time, and {solution.title.lower()} has no table of times."
        elif ends == "not before" and not solution.table and step.time_s is None:
            yield "it may not end before its time, and no time is given."
    if step.water_every_s is not None and not (step.kind is Kind.WASH and step.time_s and step.into):
        yield "only a wash in a vessel, with a time, calls its changes of water: leave water_every out."
    if step.background and step.kind not in TIMED:
        yield "only a step with a clock can run in the background."
    yield from _step_figures(profile, step)


def _step_figures(profile: Profile, step: Step) -> Iterator[str]:
    agitation = step.agitation
    times = [("its time", step.time_s)]
    if agitation is not None:
        times += [("its agitation's interval", agitation.every_s), ("its agitation", agitation.for_s)]
        if agitation.first_s < 0 or agitation.for_s > agitation.every_s:
            yield "its agitation takes longer than its own interval, or starts before the clock."
        if 0 < agitation.every_s < LEAST_INTERVAL_S:
            yield (
                f"its agitation is called every {agitation.every_s:g} s; write at least {LEAST_INTERVAL_S:g} s,"
                " and a longer first where it goes on without a pause."
            )
    for what, seconds in times:
        if seconds is not None and not (math.isfinite(seconds) and seconds > 0):
            yield f"{what} is {seconds:g} s; a time is more than 0."
    bell_s = step.bell_every_s
    if bell_s is not None and not (bell_s == 0 or (math.isfinite(bell_s) and bell_s >= LEAST_BELL_S)):
        yield f"its bell comes every {bell_s:g} s; write 0 s for none, else at least {LEAST_BELL_S:g} s."
    if step.lead_in_s is not None and not 0 <= step.lead_in_s <= 60:
        yield f"its lead-in is {step.lead_in_s:g} s; it is between 0 and 60 s."
    for ask in step.readings:
        if ask.range_c is None:
            continue
        yield from _range(f"the range of {ask.title}", ask.range_c)
        own = profile.solution(ask.of).range_c if ask.of not in ("bath", "room") else None
        if own and not (own[0] - SLACK_C <= ask.range_c[0] and ask.range_c[1] <= own[1] + SLACK_C):
            yield f"{ask.title} is accepted here outside its own range of {own[0]:g} to {own[1]:g} °C."


def _order(profile: Profile, step: Step, place: dict[str, int]) -> Iterator[str]:
    here = place[step.id]
    for tick in step.ticks:
        if tick.due not in ("start", "end") and place[tick.due] <= here:
            due = profile.step(tick.due)
            yield f'"{tick.text}" falls due before "{due.id}" ({due.title}), which comes before it can be made.'
        if tick.closes is not None and profile.solution(tick.closes).storage == "tap":
            yield f'"{tick.text}" closes {tick.closes}, which comes from the tap.'
    if step.joins is None:
        return
    joined = profile.step(step.joins)
    if place[step.joins] >= here:
        yield f'it joins "{joined.id}", which comes later.'
    if not joined.background:
        yield f'it joins "{joined.id}", which does not run in the background.'


# ---------------------------------------------------------------- texts


def _title(title: str) -> Iterator[str]:
    if not 0 < len(title) <= MOST_TITLE:
        yield f"its title has {len(title)} characters; 1 to {MOST_TITLE} fit."


def _texts(step: Step) -> Iterator[str]:
    yield from _title(step.title)
    for what, text in (("instruction", step.instruction), ("safe way out", step.safe_way_out)):
        if not 0 < len(text) <= MOST_SENTENCE:
            yield f"its {what} has {len(text)} characters; 1 to {MOST_SENTENCE} fit."
    for tick in step.ticks:
        if not 0 < len(tick.text) <= MOST_TICK:
            yield f'the tick "{tick.text[:MOST_TICK]}" has {len(tick.text)} characters; 1 to {MOST_TICK} fit.'
    if len({tick.id for tick in step.ticks}) < len(step.ticks):
        yield "two of its ticks share an id."
    if len(step.cautions) > MOST_CAUTIONS:
        yield f"it shows {len(step.cautions)} cautions; at most {MOST_CAUTIONS} are read."
    if len(step.remember) > MOST_TO_REMEMBER:
        yield f"{len(step.remember)} things to remember in the dark; nobody keeps more than {MOST_TO_REMEMBER}."
