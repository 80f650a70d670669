"""The state of a bottle: age, what it can still do, whether a test says it is spent, and what a roll costs.

One job: turn dates, volumes and rolls already done into verdicts and sentences. Dates are day numbers (any
origin, the same for all), volumes ml, use in rolls of 135-36 by area. It must not know the shelf's events
or today's date. Lives and capacities come from the profile: the published record names no table (the usual six
weeks full, four part-full, eight rolls a litre are from memory).
"""

from __future__ import annotations

import math
from typing import Literal

from wetside.errors import Refused
from wetside.frozen import dataclass

SPENT_CLEARING_RATIO = 2.0
"""A fixer that needs more than twice its fresh clearing time is spent (NAVEDTRA 14209, Life of a Fixing Bath, read
in print). Of a bleach-fix no print says so: there the rule is borrowed, and the warning says it."""

TESTED_DAYS = 7.0
"""For so long after it a passed test stands against a bottle's age (our own number)."""

LONG_PAST_LIVES = 2.0
"""A bottle older than so many of its lives is mixed fresh before anything else is thought of (our own rule, no
source: a test then says that it still works, not for how many rolls)."""

SAME_ROLLS = 0.05
"""Less than is shown: film lengths are not known better, so nobody is told that a bottle goes 0.0 rolls beyond."""

Test = Literal["leader", "clearing", "bleach", "bleach-fix", "none"]
"""How a solution is tried with a scrap leader. "leader": it goes dark in a developer. "clearing": an undeveloped
one clears in a fixer, and is timed. "bleach": one blackened in the developer clears in the bleach, then in good
fixer. "bleach-fix": the blackened one clears in it, which tests bleaching; an undeveloped one is timed for fixing.
"""

CHECKS: dict[Test, str] = {
    "leader": "see whether a scrap leader goes dark in it",
    "clearing": "time how an undeveloped scrap leader clears in it",
    "bleach": "see whether a leader blackened in the developer clears in it and then in good fixer",
    "bleach-fix": "see whether a leader blackened in the developer clears in it, and time an undeveloped one",
    "none": "look at it: cloudiness, scum or sludge mean that it is spoilt",
}
"""How a solution is tried before film goes in (common practice, no source). No leader shows anything in a
stabiliser or a rinse: these are looked at."""


@dataclass(frozen=True, slots=True)
class StockWarning:
    """One thing to worry about: a stable code for programs and a sentence for the person."""

    code: str
    text: str


def best_before_day(
    mixed_day: float,
    full: bool,
    life_full_days: float,
    life_part_days: float,
    part_since_day: float | None = None,
) -> float:
    """The last good day of a mixed solution.

    A full bottle lives `life_full_days` from mixing. A part-full one lives `life_part_days` from the day it
    became so, and never longer than a full one; when that day is unknown, from mixing, which is the safe side.
    Raises Refused for lives that are not positive, or a part-full day before the mixing.
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
    """Days since mixing, days left (negative when past), and whether it is past.

    long_past: older than twice its life, which is the days from its mixing to its last good day.
    """

    age_days: float
    left_days: float
    expired: bool
    long_past: bool


def age(mixed_day: float, today_day: float, last_good_day: float) -> Age:
    """How old a solution is today. The last good day itself still counts. Refuses a mixing in the future."""
    if mixed_day > today_day:
        raise Refused("The bottle's mixing date lies in the future: check the date.")
    left, days = last_good_day - today_day, today_day - mixed_day
    long_past = left < 0 and days > LONG_PAST_LIVES * (last_good_day - mixed_day)
    return Age(days, left, left < 0, long_past)


def age_warning(bottle: str, found: Age, test: Test, tested_days_ago: float | None = None) -> StockWarning | None:
    """A sentence when a bottle is past its date; None while it is good. test: how its solution is tried.

    tested_days_ago: since when it has passed every test there is of it; then the code is "tested", not "expired",
    for `TESTED_DAYS`. A bottle that is long past its date is not saved by it.
    """
    if not found.expired:
        return None
    if tested_days_ago is not None and 0 <= tested_days_ago <= TESTED_DAYS and not found.long_past:
        when = "today" if tested_days_ago < 1 else f"{_days(tested_days_ago)} ago"
        text = (
            f"{bottle} is {_days(-found.left_days)} past its date, but passed its test {when}: it works; for how"
            " many rolls, no test says."
        )
        return StockWarning("tested", text)
    late, old = _days(-found.left_days), _days(found.age_days)
    if found.long_past:
        text = (
            f"Mix fresh: {bottle} is {late} past its date, older than twice its life ({old} old)."
            f" If it must serve all the same, first {CHECKS[test]}."
        )
    elif test == "none":
        text = f"{bottle} is {late} past its date ({old} old). First {CHECKS[test]}; or mix fresh."
    else:
        text = f"{bottle} is {late} past its date ({old} old): {CHECKS[test]}, or mix fresh."
    return StockWarning("expired", text)


def capacity_left(capacity_rolls_per_litre: float, volume_ml: float, used_roll_equivalents: float) -> float:
    """Rolls of 135-36 still in the bottle; negative when it has done more than its capacity."""
    if not capacity_rolls_per_litre >= 0 or not volume_ml >= 0 or not used_roll_equivalents >= 0:
        raise Refused("Capacity, volume and rolls already done cannot be negative.")
    return capacity_rolls_per_litre * volume_ml / 1000.0 - used_roll_equivalents


@dataclass(frozen=True, slots=True)
class Capacity:
    """Tonight against a bottle's capacity.

    `after_rolls` are left when tonight is done, in rolls of 135-36 (negative: that far beyond).
    """

    verdict: Literal["within", "stretch", "beyond"]
    after_rolls: float


def capacity(
    rolls_per_litre: float,
    stretch_rolls_per_litre: float,
    volume_ml: float,
    used_rolls: float,
    tonight_rolls: float,
) -> Capacity:
    """Will the bottle do tonight's rolls: within its capacity, within the stretch, or beyond both?

    Both capacities are rolls of 135-36 per litre, the stretch no smaller than the capacity (else Refused).
    """
    if stretch_rolls_per_litre < rolls_per_litre:
        raise Refused("The stretch capacity cannot be smaller than the capacity: check the profile.")
    if not tonight_rolls >= 0:
        raise Refused("Tonight's rolls cannot be negative.")
    after = capacity_left(rolls_per_litre, volume_ml, used_rolls) - tonight_rolls
    stretch_left = capacity_left(stretch_rolls_per_litre, volume_ml, used_rolls)
    if after > -SAME_ROLLS:
        return Capacity("within", after)
    if stretch_left - tonight_rolls > -SAME_ROLLS:
        return Capacity("stretch", after)
    return Capacity("beyond", after)


def capacity_warning(bottle: str, found: Capacity) -> StockWarning | None:
    """A sentence when tonight goes beyond the bottle's capacity; None within it."""
    over = f"{-found.after_rolls:.1f} rolls beyond its capacity"
    match found.verdict:
        case "within":
            return None
        case "stretch":
            return StockWarning("stretch", f"{bottle} would go {over}: that is a stretch; give a reason to do it.")
        case "beyond":
            return StockWarning(
                "beyond-capacity",
                f"{bottle} would go {over}, further than it stretches: plan fewer rolls or mix fresh.",
            )


def clearing_warning(seconds: float, fresh_seconds: float, solution: str, test: Test) -> StockWarning | None:
    """A sentence when a scrap leader cleared in more than `SPENT_CLEARING_RATIO` times the fresh time.

    solution: what it is called, such as "fixer". Refuses times that are not positive.
    """
    if not (math.isfinite(seconds) and seconds > 0 and math.isfinite(fresh_seconds) and fresh_seconds > 0):
        raise Refused("Clearing times must be more than 0 seconds, both the fresh one and today's.")
    ratio = seconds / fresh_seconds
    if ratio <= SPENT_CLEARING_RATIO:
        return None
    spent = f"The leader cleared in {ratio:.1f} times the fresh time: the {solution}"
    if test == "bleach-fix":
        text = f"{spent} fixes too slowly, by the rule for fixers (no print says it of a bleach-fix); mix fresh."
    else:
        text = f"{spent} is spent; mix fresh."
    return StockWarning("clearing-spent", text)


def bleach_warning(cleared: bool, solution: str) -> StockWarning | None:
    """A sentence when a leader blackened in the developer stayed dark (common practice, no source)."""
    if cleared:
        return None
    text = f"The blackened leader stayed dark: the {solution} bleaches no more; mix fresh before film goes in."
    return StockWarning("bleach-spent", text)


def leader_warning(went_dark: bool) -> StockWarning | None:
    """A sentence when a scrap leader in developer, in room light, stayed pale (common practice, no source)."""
    if went_dark:
        return None
    text = "The leader stayed pale: the developer is dead; mix fresh before any film goes in."
    return StockWarning("developer-dead", text)


@dataclass(frozen=True, slots=True)
class Cost:
    """Price of one roll, in the currency the set was bought in; `so_far` is None before the first roll."""

    so_far: float | None
    at_capacity: float


def cost_per_roll(price: float, rolls_so_far: float, rolls_at_capacity: float) -> Cost:
    """Price of the set over the rolls it has done and over all it can do. Refuses impossible numbers."""
    if not price >= 0 or not rolls_so_far >= 0 or not rolls_at_capacity > 0:
        raise Refused("A cost needs a price and rolls that are not negative, and a capacity above 0 rolls.")
    return Cost(price / rolls_so_far if rolls_so_far > 0 else None, price / rolls_at_capacity)


def _days(days: float) -> str:
    whole = math.floor(days)
    if whole < 1:
        return "less than a day"
    return "1 day" if whole == 1 else f"{whole} days"
