"""Sound profiles: the shipped ones with other figures, names, words, steps and order, all inside what is allowed.

A finding in one of these is a false alarm.
"""

from __future__ import annotations

import random
from typing import Any

from msgspec.structs import replace
from tests.shipped import shipped_profile

from wetside.domain.profile.model import (
    Agitation,
    FilmKind,
    Kind,
    Profile,
    Solution,
    Step,
    Tick,
    Use,
    developers,
    is_developer,
)

THREE, MOTION, SLIDES, TWO = "three-bath", "motion-picture", "one-shot-reversal", "two-bath"


def sound(chance: random.Random) -> Profile:
    """A shipped profile changed in ways that keep it sound."""
    name = chance.choices((THREE, SLIDES, TWO, MOTION), weights=(5, 5, 1, 1))[0]
    profile = shipped_profile(name)
    if name == THREE:
        kinds: tuple[FilmKind, ...] = chance.choice((("standard",), ("slide",), ("standard", "slide")))
        profile = replace(profile, accepts=kinds)
    changes = (
        other_figures,
        other_names,
        other_words,
        other_agitation,
        more_washes,
        more_checks,
        other_dues,
        less,
        another_order,
    )
    for change in changes:
        if chance.random() < 0.6:
            profile = change(profile, chance)
    return profile


def other_figures(profile: Profile, chance: random.Random) -> Profile:
    by_c, by = chance.uniform(-3.0, 3.0), chance.uniform(1.0, 1.8)

    def moved(range_c: tuple[float, float] | None) -> tuple[float, float] | None:
        return None if range_c is None else (range_c[0] + by_c, range_c[1] + by_c)

    def solution(each: Solution) -> Solution:
        if each.storage == "tap":
            return each  # hands go into this water, and some of it has the highest temperature allowed for that
        return replace(
            each,
            target_c=None if each.target_c is None else each.target_c + by_c,
            range_c=moved(each.range_c),
            table=tuple((at_c + by_c, seconds * by) for at_c, seconds in each.table),
            use=chance.choice(
                (each.use, Use(), Use("compound", 0.03), Use("steps", 0.0, ((0.0, 1.0), (8.0, 1.2))))
            ),
            capacity_per_l=chance.choice((None, each.capacity_per_l)),
            shortest_s=min(each.shortest_s, 60.0),
        )

    def step(each: Step) -> Step:
        return replace(
            each,
            readings=tuple(replace(ask, range_c=moved(ask.range_c)) for ask in each.readings),
            time_s=None if each.time_s is None else each.time_s * by,
            # "0 s" stands where a developer still works: there a process says its own, of 10 s at the most.
            lead_in_s=chance.choice((0.0, 10.0) if each.lead_in_s == 0 else (None, 0.0, 10.0)),
        )

    return replace(
        profile,
        solutions=tuple(solution(each) for each in profile.solutions),
        steps=tuple(step(each) for each in profile.steps),
        stabiliser_room=chance.randint(1, 3),
    )


def other_words(profile: Profile, chance: random.Random) -> Profile:
    def words(most: int) -> str:
        return "".join(chance.choice("abc däö'[]<>%") for _ in range(chance.randint(1, most)))

    def step(each: Step) -> Step:
        hand_in_water = each.hand_in_water
        ticks = tuple(
            replace(
                tick, text=words(40) + ("< 43 °C" if hand_in_water and tick.killer and tick.due == "start" else "")
            )
            for tick in each.ticks
        )
        return replace(each, title=words(32), instruction=words(150), safe_way_out=words(150), ticks=ticks)

    return replace(profile, steps=tuple(step(each) for each in profile.steps))


def other_names(profile: Profile, chance: random.Random) -> Profile:
    """Titles of solutions, words of cautions and first aid; some solutions are called by a number alone."""

    def title(each: Solution, number: int) -> Solution:
        return replace(each, title=chance.choice((f"Bath {number}", f"Teil {number}", "Développeur", each.title)))

    letters = tuple(title(each, number) for number, each in enumerate(profile.solutions, 1))
    lines = tuple(f"{line} Then ask." for line in profile.first_aid[: chance.randint(4, 9)])
    cautions = tuple(replace(each, avoid="Do not do it.") for each in profile.cautions)
    return replace(profile, solutions=letters, first_aid=lines, cautions=cautions)


def other_agitation(profile: Profile, chance: random.Random) -> Profile:
    """Continuous at first, then at intervals; or continuous; never at intervals longer than the bath."""

    def step(each: Step) -> Step:
        if each.agitation is None:
            return each
        every_s = chance.choice((10.0, 15.0, 30.0, 55.0))
        moved = chance.choice(
            (
                Agitation(chance.uniform(0.0, 60.0), every_s, chance.uniform(1.0, every_s), "Turn it over."),
                Agitation(7200.0, 7200.0, 10.0, "Keep it moving all the while."),
            )
        )
        return replace(each, agitation=moved)

    return replace(profile, steps=tuple(step(each) for each in profile.steps))


def more_washes(profile: Profile, chance: random.Random) -> Profile:
    """The open wash again, once or more, and more rinsing wherever something is rinsed."""
    wash = replace(profile.step("wash"), ticks=(Tick("again", "Water changed again"),), joins=None)
    steps: list[Step] = []
    for step in profile.steps:
        steps.append(replace(step, rinses=(*step.rinses, "film")) if step.rinses else step)
        if step.id == "wash":
            steps += [replace(wash, id=f"wash-{number}") for number in range(chance.randint(1, 3))]
    return replace(profile, steps=tuple(steps))


def more_checks(profile: Profile, chance: random.Random) -> Profile:
    """Steps of ticks between the others, some of them for a part of the paths alone; none after a developer."""
    steps = list(profile.steps)
    for number in range(chance.randint(1, 4)):
        free_places = [at for at in range(len(steps)) if at == 0 or not is_developer(profile, steps[at - 1])]
        at = chance.choice(free_places)
        neighbour = steps[at]
        free = not set(neighbour.when) & {"dark room", "changing bag"}
        when = chance.choice(((), ("dark room",), ("not changing bag",))) if free else ()
        ticks = tuple(Tick(f"t{n}", f"Thing {n} lies ready") for n in range(chance.randint(1, 7)))
        extra = Step(
            f"extra-{number}", "One more look", neighbour.stage, Kind.CHECK, neighbour.scope, "Look.", "Stop."
        )
        steps.insert(at, replace(extra, when=(*neighbour.when, *when), ticks=ticks))
    return replace(profile, steps=tuple(steps))


def other_dues(profile: Profile, chance: random.Random) -> Profile:
    """Ticks that only state something may wait for the last step, but for those of the dark and of hot water."""
    last = profile.steps[-1].id

    def tick(each: Tick) -> Tick:
        plain = not (each.clears or each.closes or each.lid or each.gloves) and each.asks == "yes"
        return replace(each, due=last) if plain and chance.random() < 0.2 else each

    steps = tuple(
        step
        if step.id == last or step.kind is Kind.DARK or step.hand_in_water
        else replace(step, ticks=tuple(tick(each) for each in step.ticks))
        for step in profile.steps
    )
    return replace(profile, steps=steps)


def less(profile: Profile, chance: random.Random) -> Profile:
    """What a sound profile can do without: agitation of short baths, notes, pushes, rules of other baths."""
    spared = {each.id for each in developers(profile)}
    rules = tuple(rule for rule in profile.residue_rules if rule.solution in spared or chance.random() < 0.5)
    short = {each.id for each in profile.solutions if all(seconds < 60 for _, seconds in each.table)}
    steps = tuple(
        replace(
            step,
            agitation=None if step.solution in short and chance.random() < 0.5 else step.agitation,
            readings=tuple(ask for ask in step.readings if ask.of != "bath"),
            remember=step.remember[: chance.randint(0, 3)],
        )
        for step in profile.steps
    )
    solutions = tuple(replace(each, push=() if chance.random() < 0.5 else each.push) for each in profile.solutions)
    return replace(profile, residue_rules=rules, steps=steps, solutions=solutions, notes=())


def another_order(profile: Profile, chance: random.Random) -> Profile:
    def mixed(things: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(chance.sample(things, len(things)))

    return replace(
        profile,
        solutions=mixed(profile.solutions),
        vessels=mixed(profile.vessels),
        cautions=mixed(profile.cautions),
        residue_rules=mixed(profile.residue_rules),
        sources=mixed(profile.sources),
    )
