"""Figures of a profile beside the published ones for that kind of bath: what lies far from print.

Nothing is corrected, and a kit's own sheet may well be right. Only baths with a `role` are compared. The limit of
"far" is our own number, given beside each comparison.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Final, Literal

from msgspec import Struct

from wetside.domain.calc.developer_time import GAS_CONSTANT_J_PER_MOL_K, ZERO_CELSIUS_K
from wetside.domain.messages import Message, Value, alert
from wetside.domain.profile.model import Profile, Solution, Sure

What = Literal["time", "temperature", "push", "capacity", "life"]


class Printed(Struct, frozen=True):
    """Where published figures come from: a publication by number or title."""

    title: str
    sure: Sure


class FarFromPrint(Struct, frozen=True):
    """One figure far from the published ones.

    `value` and the published `low` to `high` are in s (time), °C (temperature), factors (push), rolls per litre
    (capacity) or days (life); `at` is the temperature in °C of a time, the stops of a factor. `key` is the
    solution's key that holds the figure. `slack`: the factor beyond the published ones that is allowed.
    """

    solution: str
    title: str
    what: What
    key: str
    value: float
    at: float
    low: float
    high: float
    source: Printed
    slack: float = 1.0


def far_alert(far: FarFromPrint) -> Message:
    """The alert about a figure and the published ones. It keeps of them what its sentence says."""
    source: dict[str, Value] = {"source": far.source.title, "sure": far.source.sure.value}
    found: dict[str, Value] = {"title": far.title, "value": far.value, "low": far.low}
    if far.what == "time" and math.isinf(far.high):
        return alert("note-on-profile", "shortest time", **found, **source)
    return alert("note-on-profile", far.what, **found, at=far.at, high=far.high, **source)


def profile_notes(profile: Profile) -> tuple[Message, ...]:
    """The alerts about a profile that are no faults: a base that has changed, figures far from published ones."""
    return (*profile.remarks, *map(far_alert, far_from_print(profile)))


TABLE_4_1: Final = Printed("process manual Z-131, table 4-1", Sure.PRINT)
_DEVELOPERS: Final = (
    (37.8, 195.0, TABLE_4_1),
    (38.9, 210.0, Printed("two copies of a two-bath kit's sheet", Sure.SECOND_HAND)),
    (41.1, 180.0, Printed("hand-processing table of 2004", Sure.SECOND_HAND)),
)
"""Published developers for colour negatives: °C, seconds, source."""

LEAST_J_PER_MOL: Final = 53_000.0
MOST_J_PER_MOL: Final = 108_000.0
"""How much a developer's time depends on its temperature: a factor of 2 in 10 K (Sheppard and Mees; seen
second-hand) to one of nearly 4 (tables of powder kits, from memory)."""

TIME_SLACK: Final = 1.25
"""Our own number: a time this many times longer or shorter than every published one is far from print."""

_SHORTEST: Final = {
    "bleach": (60.0, TABLE_4_1),
    "fixer": (90.0, TABLE_4_1),
    "bleach-fix": (180.0, Printed("sheet of a liquid kit, at 45 °C", Sure.MEMORY)),
}
"""The shortest published time (s) and source of each role whose time may be longer but not shorter."""

_BATHS_C: Final = (24.0, 41.0, TABLE_4_1)
"""Published temperatures of what follows the developer: 38 ± 3 °C for bleach and fixer, 24 to 41 °C else."""

_PUSH: Final = (1.1, 1.5, Printed("a camera club's table (1.15 a stop) and a handbook (1.33)", Sure.SECOND_HAND))
"""Factors of one stop, from a little below the least published to a little above the largest (kit sheets: 1.3)."""

_MOST_ROLLS: Final = (16.0, Printed("kit labels (8) and what is reported (up to 16)", Sure.MEMORY))
_MOST_DAYS: Final = (
    183.0,
    Printed("manual of a three-bath kit (6 weeks); half a year is one account", Sure.SECOND_HAND),
)


def far_from_print(profile: Profile) -> tuple[FarFromPrint, ...]:
    """Every figure of a bath with a role that lies far from the published ones for that kind of bath."""
    return tuple(
        each
        for solution in profile.solutions
        if solution.role is not None
        for each in _compared(solution)
        if not each.low / each.slack <= each.value <= each.high * each.slack
    )


def _compared(of: Solution) -> Iterator[FarFromPrint]:
    """Every figure of a bath beside the published ones, far or not."""
    beside = partial(FarFromPrint, of.id, of.title)
    if of.role == "developer":
        for at_c, seconds in of.table:
            yield beside("time", "table", seconds, at_c, *published_developer_s(at_c), TIME_SLACK)
        if of.life_full_days is not None:
            yield beside("life", "life_full", of.life_full_days, 0.0, 0.0, *_MOST_DAYS)
    elif of.role in ("bleach", "fixer", "bleach-fix", "stop") and of.target_c is not None:
        yield beside("temperature", "target", of.target_c, 0.0, *_BATHS_C)
    if of.role in _SHORTEST:
        least, source = _SHORTEST[of.role]
        for at_c, seconds in of.table:
            yield beside("time", "table", seconds, at_c, least, math.inf, source)
    for stops, factor in of.push:
        if stops > 0:
            least, most, source = _PUSH
            yield beside("push", "push", factor, stops, least**stops, most**stops, source)
    if of.capacity_per_l is not None:
        yield beside("capacity", "capacity", of.capacity_per_l, 0.0, 0.0, *_MOST_ROLLS)


def published_developer_s(at_c: float) -> tuple[float, float, Printed]:
    """The shortest and longest developer time in s that published ones come to at this temperature.

    Each published time is carried over by the least and the most dependence on temperature; the source is the one
    nearest in temperature.
    """
    times = []
    for published_c, seconds, _ in _DEVELOPERS:
        by = (1 / (at_c + ZERO_CELSIUS_K) - 1 / (published_c + ZERO_CELSIUS_K)) / GAS_CONSTANT_J_PER_MOL_K
        times += [seconds * math.exp(energy * by) for energy in (LEAST_J_PER_MOL, MOST_J_PER_MOL)]
    nearest = min(_DEVELOPERS, key=lambda row: abs(row[0] - at_c))
    return min(times), max(times), nearest[2]
