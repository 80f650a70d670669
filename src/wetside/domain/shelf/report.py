"""The report of a bottle on a given day: age, last good day, rolls done and left, cost, and the alerts about it.

A bottle is judged by the figures copied from the profile when it was mixed. `present/shelf_text.py` words the
report.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from math import floor
from typing import Literal

from msgspec import Struct

from wetside.domain.messages import Message, alert, message
from wetside.domain.planning.bottles import (
    Age,
    age,
    age_alert,
    best_before_day,
    capacity_left,
    clearing_alert,
)
from wetside.domain.planning.setup import Test
from wetside.domain.shelf.events import (
    BleachTested,
    ClearingTested,
    LeaderTested,
)
from wetside.domain.shelf.state import Kit, ShelfBottle, ShelfState

Status = Literal["good", "past its date", "stretched", "used up", "spent", "suspect", "empty", "discarded"]

SLACK_ROLLS = 1e-9
"""Rounding error of a sum of areas."""

PACE_DAYS = 7
"""The fewest days from which a pace is worked out (our own number)."""

FURTHEST_DAYS = 3650
"""The longest extrapolation of a pace: ten years."""

ORDER_AHEAD_DAYS = 14
"""How long before its end a bottle is to be ordered again (our own number)."""


class BottleReport(Struct, frozen=True):
    """A bottle of a kit, judged on one day. Rolls are of 135-36.

    long_past: older than twice its life. best_before: its last good day; left_days: up to then, negative after it;
    both None without a life in the profile. left_rolls, stretch_left_rolls: to its capacity and to the stretch,
    negative beyond, None without a capacity. cost_so_far, cost_at_capacity: a roll's share of the set's price.
    used_up_on: the day on which its capacity is used up at the pace since it was mixed; order_by: two weeks before
    that day or the last good one, None where neither is known; today for a bottle that has ended.
    """

    bottle: ShelfBottle
    kit: Kit
    status: Status
    alerts: tuple[Message, ...]
    age_days: int
    long_past: bool
    best_before: str | None
    left_days: int | None
    capacity_rolls: float | None
    left_rolls: float | None
    stretch_left_rolls: float | None
    cost_so_far: float | None
    cost_at_capacity: float | None
    used_up_on: str | None
    order_by: str | None


def report(state: ShelfState, today: date) -> tuple[BottleReport, ...]:
    """Every recorded bottle, in the order they were mixed, the discarded ones last."""
    bottles = sorted(state.bottles.values(), key=lambda bottle: bottle.discarded is not None)
    return tuple(bottle_report(state, bottle, today) for bottle in bottles)


def bottle_report(state: ShelfState, bottle: ShelfBottle, today: date) -> BottleReport:
    """The report of one bottle on the day `today`."""
    kit = state.kit_of(bottle)
    figures = bottle.figures
    mixed, last_day, left = date.fromisoformat(bottle.mixed_on), best_before(bottle), left_rolls(bottle)
    stretch_left = _left(bottle, figures.stretch_per_l or figures.capacity_per_l)
    old = _age(bottle, today, last_day)
    alerts = _alerts(bottle, today, old, left, stretch_left)
    so_far, at_capacity = _cost(state, kit)
    used_up = _used_up_day(bottle, today)
    # A one-shot solution, and one that keeps no longer than an order takes, is mixed for one evening.
    ahead = timedelta(days=ORDER_AHEAD_DAYS)
    lasting = last_day is None or last_day - ahead > mixed
    reusable = bottle.discarded is None and figures.storage != "one-shot" and lasting
    ends = [day - ahead for day in (used_up, last_day) if day is not None and reusable]
    status = _status(bottle, alerts)
    if reusable and _ended(status, left):
        ends.append(today)
    return BottleReport(
        bottle=bottle,
        kit=kit,
        status=status,
        alerts=alerts,
        age_days=(today - mixed).days,
        long_past=old is not None and old.long_past,
        best_before=None if last_day is None else last_day.isoformat(),
        left_days=None if last_day is None else (last_day - today).days,
        capacity_rolls=_capacity(bottle),
        left_rolls=left,
        stretch_left_rolls=stretch_left,
        cost_so_far=so_far,
        cost_at_capacity=at_capacity,
        used_up_on=None if used_up is None else used_up.isoformat(),
        order_by=min(ends).isoformat() if ends else None,
    )


Ending = Literal["is spent", "is empty", "is used up"]
"""Why nothing is left to expect of a bottle, whatever its date and its pace say."""


def _ended(status: Status, left: float | None) -> Ending | None:
    """Why a bottle on the shelf serves no more film; None where it still does. left: rolls to its capacity."""
    if status == "spent" or status == "empty":
        return "is spent" if status == "spent" else "is empty"
    return "is used up" if left is not None and left <= SLACK_ROLLS else None


class OrderAgain(Struct, frozen=True):
    """When to order a solution again: by the day `by`, at once where that is None.

    why: it is used up about the day `on` at its pace, it is good to that day, or it was; or it has ended already.
    """

    title: str
    why: Literal["used up", "good to", "was good to"] | Ending
    on: str
    by: str | None


def order_again(reports: Iterable[BottleReport], today: date) -> OrderAgain | None:
    """When to order again the bottle of a kit that ends first; None where no end is known."""
    known = ((each.order_by, each) for each in reports if each.order_by is not None)
    by, first = min(known, key=lambda pair: pair[0], default=("", None))
    if first is None:
        return None
    title, later = first.bottle.figures.title, by if by > today.isoformat() else None
    if ended := _ended(first.status, first.left_rolls):
        return OrderAgain(title, ended, today.isoformat(), None)
    if first.best_before is not None and first.best_before < today.isoformat():
        return OrderAgain(title, "was good to", first.best_before, later)
    if first.used_up_on is not None and first.used_up_on <= (first.best_before or first.used_up_on):
        return OrderAgain(title, "used up", first.used_up_on, later)
    return OrderAgain(title, "good to", first.best_before or "", later)


def _used_up_day(bottle: ShelfBottle, today: date) -> date | None:
    """The day on which its capacity is used up at the pace since it was mixed, today if it is over.

    None without a capacity or a pace: `PACE_DAYS` must have passed, and film must have gone through it.
    """
    left, days = left_rolls(bottle), (today - date.fromisoformat(bottle.mixed_on)).days
    if left is None or bottle.rolls <= 0.0 or days < PACE_DAYS or bottle.discarded is not None:
        return None
    return today + timedelta(days=min(floor(max(0.0, left) * days / bottle.rolls), FURTHEST_DAYS))


def best_before(bottle: ShelfBottle) -> date | None:
    """The last good day; without a life in the profile, the day it was mixed for a one-shot solution, else None.

    A past spell of k days with air in the bottle, of a part-full life of n days, moves the end by k/n towards the
    end of a bottle that was left part-full (our own rule, no source: never later than for a bottle that stayed
    full, nor earlier than for one that was never squeezed again).
    """
    full_days = bottle.figures.life_full_days
    if full_days is None:
        return date.fromisoformat(bottle.mixed_on) if bottle.figures.storage == "one-shot" else None
    part_days = bottle.figures.life_part_days or full_days
    mixed = date.fromisoformat(bottle.mixed_on).toordinal()
    end = best_before_day(mixed, True, full_days, part_days)
    for began, stopped in bottle.aired:
        since, until = (date.fromisoformat(day).toordinal() for day in (began, stopped))
        share = min(1.0, max(0, until - since) / part_days)
        end -= share * max(0.0, end - (since + part_days))
    if bottle.part_since is not None:
        since = date.fromisoformat(bottle.part_since).toordinal()
        end = min(end, best_before_day(mixed, False, full_days, part_days, max(mixed, since)))
    return date.fromordinal(mixed) + timedelta(days=floor(end - mixed))


def spent_by_test(bottle: ShelfBottle) -> Message | None:
    """The alert of the latest test of each kind that found the solution spent; None where none did.

    A leader that stays pale or dark means that it is spent (common practice, no source).
    """
    solution = bottle.figures.title.lower()
    if bottle.leaders and not bottle.leaders[-1].went_dark:
        return alert("developer-dead")
    if bottle.bleachings and not bottle.bleachings[-1].cleared:
        return alert("bleach-spent", solution=solution)
    if bottle.clearings:
        last = bottle.clearings[-1]
        return clearing_alert(last.seconds, last.fresh_seconds, solution, bottle.figures.test)
    return None


def passed_on(bottle: ShelfBottle) -> str | None:
    """The day (ISO) since which every test of its solution is passed; None when one is missing or failed."""
    kinds: dict[Test, tuple[tuple[LeaderTested | ClearingTested | BleachTested, ...], ...]] = {
        "leader": (bottle.leaders,),
        "clearing": (bottle.clearings,),
        "bleach": (bottle.bleachings,),
        "bleach-fix": (bottle.bleachings, bottle.clearings),
        "none": (),
    }
    tests = kinds[bottle.figures.test]
    if not tests or not all(tests) or spent_by_test(bottle) is not None:
        return None
    return min(made[-1].on for made in tests)


def suspicion(bottle: ShelfBottle) -> Message | None:
    """The day and the reason of the latest suspicion; None where there is none."""
    latest = bottle.suspected[-1:]
    return message("suspected", on=latest[0].on, why=latest[0].why) if latest else None


def left_rolls(bottle: ShelfBottle) -> float | None:
    """Rolls of 135-36 to the bottle's capacity, negative beyond it; None without one."""
    return _left(bottle, bottle.figures.capacity_per_l)


def _capacity(bottle: ShelfBottle) -> float | None:
    """Rolls that the bottle will have done when used up; spilt solution takes its share away. None if unknown."""
    left = left_rolls(bottle)
    return None if left is None else bottle.rolls + left


def _left(bottle: ShelfBottle, per_l: float | None) -> float | None:
    return None if per_l is None else capacity_left(per_l, bottle.volume_ml, bottle.worn_rolls)


def _alerts(
    bottle: ShelfBottle, today: date, old: Age | None, left: float | None, stretch_left: float | None
) -> tuple[Message, ...]:
    if bottle.discarded is not None:
        return ()
    name = bottle.label
    found = [spent_by_test(bottle)]
    if old is not None:
        # a bottle long past its date must be mixed fresh, so that no other alert matters
        passed = passed_on(bottle)
        ago = None if passed is None else (today - date.fromisoformat(passed)).days
        found.insert(0 if old.long_past else 1, age_alert(name, old, bottle.figures.test, ago))
    elif bottle.mixed_on > today.isoformat():
        found.append(alert("age-unknown", "future", bottle=name))
    if (why := suspicion(bottle)) is not None:
        found.insert(0, alert("suspect", bottle=name, why=why))
    if stretch_left is not None and stretch_left < -SLACK_ROLLS:
        found.append(alert("beyond-capacity", "done", bottle=name, over=-stretch_left))
    elif left is not None and left < -SLACK_ROLLS:
        found.append(alert("stretch", "done", bottle=name, over=-left))
    if bottle.backed_rolls > 0 and bottle.figures.storage == "bottle":
        found.append(alert("backing-in-bottle", "on the shelf", bottle=name, rolls=bottle.backed_rolls))
    if bottle.volume_ml <= 0:
        found.append(alert("empty", bottle=name))
    return tuple(each for each in found if each is not None)


def _age(bottle: ShelfBottle, today: date, last_day: date | None) -> Age | None:
    mixed = date.fromisoformat(bottle.mixed_on).toordinal()
    if last_day is None or mixed > today.toordinal():
        return None
    return age(mixed, today.toordinal(), last_day.toordinal())


_STATUS_OF: dict[str, Status] = {
    "empty": "empty",
    "suspect": "suspect",
    "developer-dead": "spent",
    "clearing-spent": "spent",
    "bleach-spent": "spent",
    "beyond-capacity": "used up",
    "expired": "past its date",
    "tested": "past its date",
    "stretch": "stretched",
}
"""The status for each code of an alert, the most severe first."""

STATUSES: tuple[Status, ...] = ("good", *reversed(dict.fromkeys(_STATUS_OF.values())))
"""Every status of a bottle on the shelf, the best first."""


def _status(bottle: ShelfBottle, alerts: tuple[Message, ...]) -> Status:
    if bottle.discarded is not None:
        return "discarded"
    codes = {each.code for each in alerts}
    return next((status for code, status in _STATUS_OF.items() if code in codes), "good")


def _cost(state: ShelfState, kit: Kit) -> tuple[float | None, float | None]:
    """A roll's share of the set's price, so far and at capacity. A roll goes through every solution of the set."""
    if kit.price is None:
        return None, None
    rolls: dict[str, float] = {}
    capacities: dict[str, float] = {}
    for bottle in (state.bottles[id_] for id_ in kit.bottles):
        name = bottle.figures.solution
        rolls[name] = rolls.get(name, 0.0) + bottle.rolls
        if (can_do := _capacity(bottle)) is not None:
            capacities[name] = capacities.get(name, 0.0) + can_do
    done, can = max(rolls.values(), default=0.0), min(capacities.values(), default=0.0)
    return kit.price / done if done > 0 else None, kit.price / can if can > 0 else None
