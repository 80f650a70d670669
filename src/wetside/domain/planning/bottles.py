"""The bottles and the film of an evening: age, capacity, tests, cost, and the warnings about them.

Dates are day numbers of one common origin, volumes ml, use in rolls of 135-36 by area. Lives and capacities come
from the profile, as no published table of them was found (the usual six weeks full, four part-full, eight rolls a
litre are from memory).
"""

from __future__ import annotations

import math
from datetime import date
from typing import Literal

from wetside.domain.calc.tank import coverages, roll_equivalents
from wetside.domain.calc.wording import VolumeUnit, volume
from wetside.domain.planning.plan import Batch, Cost, PlannedStep, WarningText
from wetside.domain.planning.setup import Bottle, Setup, Test
from wetside.domain.profile.model import Profile, Solution
from wetside.errors import Refused
from wetside.frozen import dataclass

_SPENT_CLEARING_RATIO = 2.0
"""A fixer that needs more than twice its fresh clearing time is spent (NAVEDTRA 14209, Life of a Fixing Bath, read
in print). No print states this of a bleach-fix: there the rule is borrowed, and the warning says so."""

_TESTED_DAYS = 7.0
"""For so many days a passed test counts against a bottle's age (our own number)."""

_LONG_PAST_LIVES = 2.0
"""A bottle older than so many of its lives is to be mixed fresh whatever a test says (our own rule, no source: a
test shows that it still works, not for how many rolls)."""

_SAME_ROLLS = 0.05
"""An excess below this is not shown, as film lengths are not known better."""

CHECKS: dict[Test, str] = {
    "leader": "see whether a scrap leader goes dark in it",
    "clearing": "time how an undeveloped scrap leader clears in it",
    "bleach": "see whether a leader blackened in the developer clears in it and then in good fixer",
    "bleach-fix": "see whether a leader blackened in the developer clears in it, and time an undeveloped one",
    "none": "look at it: cloudiness, scum or sludge mean that it is spoilt",
}
"""How a solution is tested before film goes in (common practice, no source)."""

STOPPING = ("too-little",)
"""Codes of the warnings with which no evening begins, whatever the reason."""

COVER_FIRST = "Top it up or mix more, or plan fewer rolls."
"""The remedy for a warning in `STOPPING`."""

WANTS_REASON = ("expired", "stretch", "beyond-capacity", "spent", "suspect")
"""Codes of the warnings about a bottle that may be used only with a reason."""

REASON_FIRST = 'To use it all the same, say why in the setup: reason = "..." under its [[bottles]].'
"""The remedy for a warning in `WANTS_REASON`, where the setup is a file."""


def bottle_of(setup: Setup, solution: str) -> Bottle | None:
    """The bottle of this solution tonight (the first that the setup names); None without one."""
    return next((bottle for bottle in setup.bottles if bottle.solution == solution), None)


def test_of(solution: Solution) -> Test:
    """How a solution is tested: a bath ended on time develops, one that makes film safe in light fixes."""
    if solution.ends == "on time" and solution.table:
        return "leader"
    if solution.bleaches:
        return "bleach-fix" if solution.makes_light_safe else "bleach"
    return "clearing" if solution.makes_light_safe else "none"


def rolls_per_litre(setup: Setup, bottle: Bottle | None, batches: tuple[Batch, ...], before: int) -> float:
    """Rolls of 135-36 that a litre of this bottle has done before batch number `before` (1 is the first)."""
    if bottle is None:
        return 0.0
    tonight = [setup.rolls[i].format for batch in batches if batch.number < before for i in batch.rolls]
    return (bottle.used_rolls + roll_equivalents(tonight)) / (bottle.volume_ml / 1000.0)


def best_before_day(
    mixed_day: float,
    full: bool,
    life_full_days: float,
    life_part_days: float,
    part_since_day: float | None = None,
) -> float:
    """The last good day of a mixed solution.

    A full bottle lives `life_full_days` from mixing. A part-full one lives `life_part_days` from the day it became
    so (from mixing when that is not known), and never longer than a full one. Raises Refused for lives that are
    not positive, or a part-full day before the mixing.
    """
    if not life_full_days > 0 or not life_part_days > 0:
        raise Refused("A solution's life must be more than 0 days, full and part-full.")
    end_full = mixed_day + life_full_days
    if full:
        return end_full
    since = mixed_day if part_since_day is None else part_since_day
    if since < mixed_day:
        raise Refused("The bottle cannot have been part-full before it was mixed: check the two dates.")
    return min(end_full, since + life_part_days)


@dataclass(frozen=True, slots=True)
class Age:
    """Days since mixing, days left (negative when past), whether it is past its last good day.

    long_past: older than twice its life, the days from mixing to the last good day.
    """

    age_days: float
    left_days: float
    expired: bool
    long_past: bool


def age(mixed_day: float, today_day: float, last_good_day: float) -> Age:
    """The age of a solution today; the last good day still counts. Raises Refused for a mixing in the future."""
    if mixed_day > today_day:
        raise Refused("The bottle's mixing date lies in the future: check the date.")
    left, days = last_good_day - today_day, today_day - mixed_day
    return Age(days, left, left < 0, left < 0 and days > _LONG_PAST_LIVES * (last_good_day - mixed_day))


def age_warning(bottle: str, found: Age, test: Test, tested_days_ago: float | None = None) -> WarningText | None:
    """The warning about a bottle past its date; None while it is good. test: how its solution is tested.

    tested_days_ago: since when every test of it has been passed. For `_TESTED_DAYS` the code is then "tested", not
    "expired", unless the bottle is long past its date.
    """
    if not found.expired:
        return None
    late, old = _days(-found.left_days), _days(found.age_days)
    if tested_days_ago is not None and 0 <= tested_days_ago <= _TESTED_DAYS and not found.long_past:
        when = "today" if tested_days_ago < 1 else f"{_days(tested_days_ago)} ago"
        works = f"{bottle} is {late} past its date, but passed its test {when}: it works"
        return WarningText("tested", f"{works}; for how many rolls, no test says.")
    if found.long_past:
        text = (
            f"Mix fresh: {bottle} is {late} past its date, older than twice its life ({old} old)."
            f" If it must serve all the same, first {CHECKS[test]}."
        )
    elif test == "none":
        text = f"{bottle} is {late} past its date ({old} old). First {CHECKS[test]}; or mix fresh."
    else:
        text = f"{bottle} is {late} past its date ({old} old): {CHECKS[test]}, or mix fresh."
    return WarningText("expired", text)


def capacity_left(capacity_rolls_per_litre: float, volume_ml: float, used_roll_equivalents: float) -> float:
    """Rolls of 135-36 left in the bottle, negative beyond its capacity. Raises Refused for negative values."""
    if not capacity_rolls_per_litre >= 0 or not volume_ml >= 0 or not used_roll_equivalents >= 0:
        raise Refused("Capacity, volume and rolls already done cannot be negative.")
    return capacity_rolls_per_litre * volume_ml / 1000.0 - used_roll_equivalents


@dataclass(frozen=True, slots=True)
class Capacity:
    """Whether a bottle can do tonight's rolls, and the rolls of 135-36 left after them (negative: beyond)."""

    verdict: Literal["within", "stretch", "beyond"]
    after_rolls: float


def capacity(
    rolls_per_litre: float,
    stretch_rolls_per_litre: float,
    volume_ml: float,
    used_rolls: float,
    tonight_rolls: float,
) -> Capacity:
    """Compare tonight's rolls with the bottle's capacity and with its stretch, both per litre.

    Raises Refused for a stretch below the capacity and for negative values.
    """
    if stretch_rolls_per_litre < rolls_per_litre:
        raise Refused("The stretch capacity cannot be smaller than the capacity: check the profile.")
    if not tonight_rolls >= 0:
        raise Refused("Tonight's rolls cannot be negative.")
    after = capacity_left(rolls_per_litre, volume_ml, used_rolls) - tonight_rolls
    stretch_left = capacity_left(stretch_rolls_per_litre, volume_ml, used_rolls)
    if after > -_SAME_ROLLS:
        return Capacity("within", after)
    return Capacity("stretch" if stretch_left - tonight_rolls > -_SAME_ROLLS else "beyond", after)


def capacity_warning(bottle: str, found: Capacity) -> WarningText | None:
    """The warning about a bottle that tonight's rolls take beyond its capacity; None within it."""
    over = f"{bottle} would go {-found.after_rolls:.1f} rolls beyond its capacity"
    match found.verdict:
        case "within":
            return None
        case "stretch":
            return WarningText("stretch", f"{over}: that is a stretch; give a reason to do it.")
        case "beyond":
            return WarningText(
                "beyond-capacity", f"{over}, further than it stretches: plan fewer rolls or mix fresh."
            )


def clearing_warning(seconds: float, fresh_seconds: float, solution: str, test: Test) -> WarningText | None:
    """The warning about a scrap leader that cleared too slowly; None otherwise. `solution` as in "fixer".

    Raises Refused for times that are not positive.
    """
    if not (math.isfinite(seconds) and seconds > 0 and math.isfinite(fresh_seconds) and fresh_seconds > 0):
        raise Refused("Clearing times must be more than 0 seconds, both the fresh one and today's.")
    ratio = seconds / fresh_seconds
    if ratio <= _SPENT_CLEARING_RATIO:
        return None
    spent = f"The leader cleared in {ratio:.1f} times the fresh time: the {solution}"
    if test == "bleach-fix":
        text = f"{spent} fixes too slowly, by the rule for fixers (no print says it of a bleach-fix); mix fresh."
    else:
        text = f"{spent} is spent; mix fresh."
    return WarningText("clearing-spent", text)


def bleach_warning(cleared: bool, solution: str) -> WarningText | None:
    """The warning about a blackened leader that stayed dark (common practice, no source); None otherwise."""
    if cleared:
        return None
    text = f"The blackened leader stayed dark: the {solution} bleaches no more; mix fresh before film goes in."
    return WarningText("bleach-spent", text)


def leader_warning(went_dark: bool) -> WarningText | None:
    """The warning about a leader that stayed pale in developer (common practice, no source); None otherwise."""
    if went_dark:
        return None
    text = "The leader stayed pale: the developer is dead; mix fresh before any film goes in."
    return WarningText("developer-dead", text)


def _days(days: float) -> str:
    whole = math.floor(days)
    return "less than a day" if whole < 1 else "1 day" if whole == 1 else f"{whole} days"


def bottle_warnings(
    profile: Profile,
    setup: Setup,
    batches: tuple[Batch, ...],
    steps: tuple[PlannedStep, ...],
    today: date | None,
    unit: VolumeUnit = "ml",
) -> list[WarningText]:
    """The warnings about the bottles that the steps pour; without `today` none about their age."""
    used = {step.solution for step in steps}
    covering = {(s.solution, s.batch) for s in steps if s.solution and s.batch and s.volume_ml is not None}
    warnings: list[WarningText] = []
    for solution in profile.solutions:
        bottle = bottle_of(setup, solution.id)
        if solution.id not in used or solution.storage == "tap" or bottle is None:
            continue
        name = bottle.label or solution.title
        poured = tuple(batch for batch in batches if (solution.id, batch.number) in covering)
        # the age comes first: what is long past its date is to be mixed fresh, whatever else is wrong with it
        found = [_age_warning(name, bottle, solution, today)]
        found += _volume_warnings(name, bottle, setup, poured, solution, unit)
        found.append(_capacity_warning(name, bottle, setup, solution))
        found.append(WarningText("spent", f"{name}: {bottle.spent}") if bottle.spent else None)
        found.append(WarningText("suspect", f"{name} is suspect. {bottle.suspect}") if bottle.suspect else None)
        warnings += [_with_reason(warning, bottle.reason.strip()) for warning in found if warning is not None]
    return warnings


def _with_reason(warning: WarningText, reason: str) -> WarningText:
    """The warning with the reason that overrides it, where there is one."""
    if not reason or warning.code not in WANTS_REASON:
        return warning
    return WarningText("used-all-the-same", f"{warning.text.rstrip('.')}. Used all the same: {reason}")


def _volume_warnings(
    name: str, bottle: Bottle, setup: Setup, batches: tuple[Batch, ...], solution: Solution, unit: VolumeUnit
) -> list[WarningText]:
    carry = setup.tank.carry_over_ml
    lost = [batch.volume_ml if solution.storage == "one-shot" else carry * len(batch.rolls) for batch in batches]
    fills = tuple((batch.volume_ml, loss) for batch, loss in zip(batches, lost, strict=True))
    return [
        WarningText(
            "too-little",
            f"{name}: batch {batch.number} needs {volume(answer.needed_ml, unit)}, the bottle has"
            f" {volume(answer.have_ml, unit)}: {volume(answer.short_ml, unit)} short.",
        )
        for batch, answer in zip(batches, coverages(bottle.volume_ml, fills), strict=True)
        if not answer.enough
    ]


def _capacity_warning(name: str, bottle: Bottle, setup: Setup, solution: Solution) -> WarningText | None:
    if solution.capacity_per_l is None:
        return None
    found = capacity(
        solution.capacity_per_l,
        solution.stretch_per_l or solution.capacity_per_l,
        bottle.volume_ml,
        bottle.used_rolls,
        roll_equivalents([roll.format for roll in setup.rolls]),
    )
    return capacity_warning(name, found)


def _age_warning(name: str, bottle: Bottle, solution: Solution, today: date | None) -> WarningText | None:
    if today is None or (solution.life_full_days is None and bottle.best_before is None):
        return None
    if bottle.mixed_on is None:
        check = CHECKS[test_of(solution)]
        text = f"{name}: nobody wrote down when it was mixed. {check[0].upper()}{check[1:]}."
        return WarningText("age-unknown", text)
    mixed, now = _ordinal(bottle.mixed_on), today.toordinal()
    full_days = solution.life_full_days or math.inf
    try:
        if bottle.best_before is not None:
            last_good: float = _ordinal(bottle.best_before)
        else:
            last_good = best_before_day(mixed, bottle.full, full_days, solution.life_part_days or full_days)
        tested = None if bottle.tested is None else now - _ordinal(bottle.tested)
        return age_warning(name, age(mixed, now, last_good), test_of(solution), tested)
    except Refused as refusal:
        return WarningText("age-unknown", f"{name}: {refusal}")


def _ordinal(day: str) -> int:
    return date.fromisoformat(day).toordinal()


def evening_cost(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], steps: tuple[PlannedStep, ...]
) -> Cost | None:
    """Tonight's share of what the bottles cost; None where none of them has a price.

    A bottle that is poured back counts with the share of its capacity that tonight's film takes, one that is used
    once with the share that is poured. Bottles of one kit of the shelf have the price of their set, which counts
    once, with the largest share. No share is above 1.
    """
    sets: dict[str, tuple[float, float]] = {}
    without = []
    for number, bottle in enumerate(setup.bottles):
        mine = tuple(step for step in steps if step.solution == bottle.solution)
        if not mine or bottle_of(setup, bottle.solution) is not bottle:
            continue
        share = _share(profile, setup, batches, bottle, mine)
        if bottle.price is None or share is None:
            without.append(profile.solution(bottle.solution).title)
            continue
        bought = f"bottle {number}" if bottle.shelf_id is None else bottle.shelf_id.partition("-")[0]
        sets[bought] = (bottle.price, max(share, sets.get(bought, (0.0, 0.0))[1]))
    if not sets:
        return None
    evening = math.fsum(price * min(share, 1.0) for price, share in sets.values())
    return Cost(evening, evening / len(setup.rolls), tuple(without))


def _share(
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], bottle: Bottle, steps: tuple[PlannedStep, ...]
) -> float | None:
    """The share of a bottle that tonight takes; None without a capacity."""
    solution = profile.solution(bottle.solution)
    if solution.storage == "one-shot":
        return math.fsum(step.volume_ml or 0.0 for step in steps) / bottle.volume_ml
    if not solution.capacity_per_l:
        return None
    whole = {batch.number: batch.rolls for batch in batches}
    every = tuple(range(len(setup.rolls)))
    rolls = {
        roll
        for step in steps
        for roll in ((step.roll,) if step.roll is not None else whole.get(step.batch or 0, every))
    }
    through = roll_equivalents(setup.rolls[roll].format for roll in sorted(rolls))
    return through / (solution.capacity_per_l * bottle.volume_ml / 1000.0)


def film_warnings(profile: Profile, setup: Setup, keeps_backing: bool) -> list[WarningText]:
    """The warnings about the film in this process, its backing, times from memory and second bottles.

    keeps_backing: backed film goes into the developer with its backing on.
    """
    found = []
    if set(profile.accepts) - {"slide"} and any(roll.kind == "slide" for roll in setup.rolls):
        text = "Slide film comes out as a negative with colours nobody can promise: take pictures you can lose."
        found.append(WarningText("slide", text))
    if keeps_backing and any(roll.kind == "backed" for roll in setup.rolls):
        text = (
            "Backed film goes through the baths with its backing on, by itself and last: some of it stays in the"
            " bottles, can spoil the developer for good and settles on rolls developed in it later."
        )
        other = f" The process {profile.backed_instead} takes it off before." if profile.backed_instead else ""
        found.append(WarningText("backing-on", text + other))
    for bottle in setup.bottles:
        if bottle.backed_rolls > 0 and bottle_of(setup, bottle.solution) is bottle:
            text = (
                f"{bottle.label}: {bottle.backed_rolls:.1f} rolls went through it with their backing on. Grey or"
                " with sludge it is spent; else let it settle, and try a leader in it first."
            )
            found.append(WarningText("backing-in-bottle", text))
    sure = {source.id: source.sure.value for source in profile.sources}
    remembered = [s.title for s in profile.solutions if s.table and sure.get(s.source) == "from memory"]
    if remembered:
        text = f"{', '.join(remembered)}: the times are from memory. Compare them with your kit's own sheet first."
        found.append(WarningText("from-memory", text))
    for bottle in setup.bottles:
        if bottle_of(setup, bottle.solution) is not bottle:
            text = f"{bottle.label}: only the first bottle of {bottle.solution} is used."
            found.append(WarningText("second-bottle", text))
    return found
