"""The bottles and the film of an evening: age, capacity, tests, cost, and the alerts about them.

Dates are day numbers of one common origin, volumes ml, use in rolls of 135-36 by area. Lives and capacities come
from the profile, as no published table of them was found (the usual six weeks full, four part-full, eight rolls a
litre are from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date

from msgspec import Struct

from wetside.domain.calc.tank import coverages, roll_equivalents
from wetside.domain.messages import Message, Value, alert
from wetside.domain.planning.plan import Batch, Cost, PlannedStep
from wetside.domain.planning.setup import Bottle, Setup, Test
from wetside.domain.profile.model import Profile, Solution

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

STOPPING = ("too-little",)
"""Codes of the alerts that bar an evening and cannot be overridden."""

WANTS_REASON = ("expired", "stretch", "beyond-capacity", "spent", "suspect")
"""Codes of the alerts about a bottle that may be used only with a reason."""


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


def rolls_of(setup: Setup, batches: tuple[Batch, ...], steps: Iterable[PlannedStep]) -> tuple[int, ...]:
    """The rolls (places in the setup) that these steps are about: their own, their batch's, or all; in order."""
    of_batch = {batch.number: batch.rolls for batch in batches}
    found: set[int] = set()
    for step in steps:
        if step.roll is not None:
            found.add(step.roll)
        else:
            found.update(range(len(setup.rolls)) if step.batch is None else of_batch[step.batch])
    return tuple(sorted(found))


def rolls_through(setup: Setup, batches: tuple[Batch, ...], steps: Iterable[PlannedStep]) -> float:
    """The rolls these steps are about, each counted once, in rolls of 135-36."""
    return roll_equivalents(setup.rolls[roll].format for roll in rolls_of(setup, batches, steps))


def best_before_day(
    mixed_day: float,
    full: bool,
    life_full_days: float,
    life_part_days: float,
    part_since_day: float | None = None,
) -> float:
    """The last good day of a mixed solution.

    A full bottle lives `life_full_days` from mixing. A part-full one lives `life_part_days` from the day it became
    so (from mixing when that is not known), and never longer than a full one.
    """
    end_full = mixed_day + life_full_days
    if full:
        return end_full
    since = mixed_day if part_since_day is None else part_since_day
    return min(end_full, since + life_part_days)


class Age(Struct, frozen=True):
    """Days since mixing, days left (negative when past), whether it is past its last good day.

    long_past: older than twice its life, the days from mixing to the last good day.
    """

    age_days: float
    left_days: float
    expired: bool
    long_past: bool


def age(mixed_day: float, today_day: float, last_good_day: float) -> Age:
    """The age of a solution today; the last good day still counts."""
    left, days = last_good_day - today_day, today_day - mixed_day
    return Age(days, left, left < 0, left < 0 and days > _LONG_PAST_LIVES * (last_good_day - mixed_day))


def age_alert(bottle: str, found: Age, test: Test, tested_days_ago: float | None = None) -> Message | None:
    """The alert about a bottle past its date; None while it is good. test: how its solution is tested.

    tested_days_ago: since when every test of it has been passed. For `_TESTED_DAYS` the code is then "tested", not
    "expired", unless the bottle is long past its date.
    """
    if not found.expired:
        return None
    values: dict[str, Value] = {
        "bottle": bottle,
        "late_days": -found.left_days,
        "age_days": found.age_days,
        "test": test,
    }
    if found.long_past:
        return alert("expired", "long past", **values)
    if tested_days_ago is not None and 0 <= tested_days_ago <= _TESTED_DAYS:
        return alert("tested", **values, tested_days=tested_days_ago)
    return alert("expired", "no test" if test == "none" else "", **values)


def capacity_left(per_l: float, volume_ml: float, used_rolls: float) -> float:
    """Rolls of 135-36 left in the bottle, negative beyond its capacity of `per_l` rolls per litre."""
    return per_l * volume_ml / 1000.0 - used_rolls


def capacity_alert(bottle: Bottle, name: str, solution: Solution, tonight_rolls: float) -> Message | None:
    """The alert about a bottle that tonight's rolls take beyond its capacity, or even beyond its stretch."""
    if solution.capacity_per_l is None:
        return None
    per_l = (solution.capacity_per_l, solution.stretch_per_l or solution.capacity_per_l)
    over, beyond = (tonight_rolls - capacity_left(each, bottle.volume_ml, bottle.used_rolls) for each in per_l)
    if over < _SAME_ROLLS:
        return None
    return alert("stretch" if beyond < _SAME_ROLLS else "beyond-capacity", bottle=name, over=over)


def clearing_alert(seconds: float, fresh_seconds: float, solution: str, test: Test) -> Message | None:
    """The alert about a scrap leader that cleared too slowly; None otherwise. `solution` as in "fixer"."""
    ratio = seconds / fresh_seconds
    if ratio <= _SPENT_CLEARING_RATIO:
        return None
    return alert("clearing-spent", "bleach-fix" if test == "bleach-fix" else "", ratio=ratio, solution=solution)


def bottle_alerts(
    profile: Profile,
    setup: Setup,
    batches: tuple[Batch, ...],
    steps: tuple[PlannedStep, ...],
    today: date | None,
) -> list[Message]:
    """The alerts about the bottles that the steps pour; without `today` none about their age."""
    used = {step.solution for step in steps}
    covering = {(s.solution, s.batch) for s in steps if s.solution and s.batch and s.volume_ml is not None}
    tonight = roll_equivalents(roll.format for roll in setup.rolls)
    alerts: list[Message] = []
    for solution in profile.solutions:
        bottle = bottle_of(setup, solution.id)
        if solution.id not in used or solution.storage == "tap" or bottle is None:
            continue
        name = bottle.label or solution.title
        poured = tuple(batch for batch in batches if (solution.id, batch.number) in covering)
        # the age comes first: what is long past its date is to be mixed fresh, whatever else is wrong with it
        found = [_age_alert(name, bottle, solution, today)]
        found += _volume_alerts(name, bottle, setup, poured, solution)
        found.append(capacity_alert(bottle, name, solution, tonight))
        found.append(alert("spent", bottle=name, why=bottle.spent) if bottle.spent is not None else None)
        found.append(alert("suspect", bottle=name, why=bottle.suspect) if bottle.suspect is not None else None)
        reason = bottle.reason.strip()
        alerts += [
            alert("used-all-the-same", alert=each, reason=reason) if reason and each.code in WANTS_REASON else each
            for each in found
            if each is not None
        ]
    return alerts


def _volume_alerts(
    name: str, bottle: Bottle, setup: Setup, batches: tuple[Batch, ...], solution: Solution
) -> list[Message]:
    carry = setup.tank.carry_over_ml
    lost = [batch.volume_ml if solution.storage == "one-shot" else carry * len(batch.rolls) for batch in batches]
    fills = tuple((batch.volume_ml, loss) for batch, loss in zip(batches, lost, strict=True))
    return [
        alert(
            "too-little",
            bottle=name,
            batch=batch.number,
            needed_ml=answer.needed_ml,
            have_ml=answer.have_ml,
            short_ml=answer.short_ml,
        )
        for batch, answer in zip(batches, coverages(bottle.volume_ml, fills), strict=True)
        if not answer.enough
    ]


def _age_alert(name: str, bottle: Bottle, solution: Solution, today: date | None) -> Message | None:
    if today is None or (solution.life_full_days is None and bottle.best_before is None):
        return None
    if bottle.mixed_on is None:
        return alert("age-unknown", bottle=name, test=test_of(solution))
    mixed, now = _ordinal(bottle.mixed_on), today.toordinal()
    if mixed > now:
        return alert("age-unknown", "future", bottle=name)
    full_days = solution.life_full_days or math.inf
    if bottle.best_before is not None:
        last_good: float = _ordinal(bottle.best_before)
    else:
        last_good = best_before_day(mixed, bottle.full, full_days, solution.life_part_days or full_days)
    tested = None if bottle.tested is None else now - _ordinal(bottle.tested)
    return age_alert(name, age(mixed, now, last_good), test_of(solution), tested)


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
    for number, bottle in enumerate(setup.poured_from):
        mine = [step for step in steps if step.solution == bottle.solution]
        if not mine:
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
    profile: Profile, setup: Setup, batches: tuple[Batch, ...], bottle: Bottle, steps: list[PlannedStep]
) -> float | None:
    """The share of a bottle that tonight takes; None without a capacity."""
    solution = profile.solution(bottle.solution)
    if solution.storage == "one-shot":
        return math.fsum(step.volume_ml or 0.0 for step in steps) / bottle.volume_ml
    if not solution.capacity_per_l:
        return None
    return rolls_through(setup, batches, steps) / (solution.capacity_per_l * bottle.volume_ml / 1000.0)


def film_alerts(profile: Profile, setup: Setup, keeps_backing: bool) -> list[Message]:
    """The alerts about the film in this process, its backing, times from memory and second bottles.

    keeps_backing: backed film goes into the developer with its backing on.
    """
    found = []
    if set(profile.accepts) - {"slide"} and any(roll.kind == "slide" for roll in setup.rolls):
        found.append(alert("slide"))
    if keeps_backing and any(roll.kind == "backed" for roll in setup.rolls):
        found.append(alert("backing-on", instead=profile.backed_instead))
    for bottle in setup.poured_from:
        if bottle.backed_rolls > 0:
            found.append(alert("backing-in-bottle", bottle=bottle.label, rolls=bottle.backed_rolls))
    sure = {source.id: source.sure.value for source in profile.sources}
    remembered = [s.title for s in profile.solutions if s.table and sure.get(s.source) == "from memory"]
    if remembered:
        found.append(alert("from-memory", baths=tuple(remembered)))
    for bottle in setup.bottles:
        if bottle_of(setup, bottle.solution) is not bottle:
            found.append(alert("second-bottle", bottle=bottle.label, solution=bottle.solution))
    return found
