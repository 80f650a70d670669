"""Figures of a profile beside the published ones for that kind of bath: what lies far from print.

Nothing is corrected, and a kit's own sheet may well be right. Only baths with a `role` are compared. The limit of
"far" is our own number, given beside each comparison.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from wetside.domain.calc.developer_time import GAS_CONSTANT_J_PER_MOL_K, ZERO_CELSIUS_K
from wetside.domain.messages import Message, alert
from wetside.domain.profile.model import Profile, Solution, Sure

Printed = tuple[str, Sure]
"""Where published figures come from: a publication by number or title, and how surely it is known."""

TABLE_4_1: Final = ("process manual Z-131, table 4-1", Sure.PRINT)
_DEVELOPERS: Final = (
    (37.8, 195.0, TABLE_4_1),
    (38.9, 210.0, ("two copies of a two-bath kit's sheet", Sure.SECOND_HAND)),
    (41.1, 180.0, ("hand-processing table of 2004", Sure.SECOND_HAND)),
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
    "bleach-fix": (180.0, ("sheet of a liquid kit, at 45 °C", Sure.MEMORY)),
}
"""The shortest published time (s) and source of each role whose time may be longer but not shorter."""

_BATHS_C: Final = (24.0, 41.0, TABLE_4_1)
"""Published temperatures of what follows the developer: 38 ± 3 °C for bleach and fixer, 24 to 41 °C else."""

_PUSH: Final = (1.1, 1.5, ("a camera club's table (1.15 a stop) and a handbook (1.33)", Sure.SECOND_HAND))
"""Factors of one stop, from a little below the least published to a little above the largest (kit sheets: 1.3)."""

_MOST_ROLLS: Final = (16.0, ("kit labels (8) and what is reported (up to 16)", Sure.MEMORY))
_MOST_DAYS: Final = (
    183.0,
    ("manual of a three-bath kit (6 weeks); half a year is one account", Sure.SECOND_HAND),
)


def profile_notes(profile: Profile) -> tuple[Message, ...]:
    """The alerts about a profile that are no faults: a base that has changed, figures far from published ones."""
    with_role = (each for each in profile.solutions if each.role is not None)
    return (*profile.remarks, *(note for solution in with_role for note in _far_from_print(solution)))


def _far_from_print(of: Solution) -> Iterator[Message]:
    """An alert for every figure of a bath that lies far from the published ones for that kind of bath."""
    if of.role == "developer":
        for at_c, seconds in of.table:
            low, high, printed = published_developer_s(at_c)
            if not low / TIME_SLACK <= seconds <= high * TIME_SLACK:
                yield _note(of, "time", seconds, low, high, printed, at_c)
        if of.life_full_days is not None and of.life_full_days > _MOST_DAYS[0]:
            yield _note(of, "life", of.life_full_days, 0.0, *_MOST_DAYS)
    baths = of.role in ("bleach", "fixer", "bleach-fix", "stop")
    if baths and of.target_c is not None and not _BATHS_C[0] <= of.target_c <= _BATHS_C[1]:
        yield _note(of, "temperature", of.target_c, *_BATHS_C)
    if of.role in _SHORTEST:
        least_s, (source, sure) = _SHORTEST[of.role]
        for _, seconds in of.table:
            if seconds < least_s:
                more = {"source": source, "sure": sure.value}
                yield alert("note-on-profile", "shortest time", title=of.title, value=seconds, low=least_s, **more)
    for stops, factor in of.push:
        if stops > 0:
            least, most, printed = _PUSH
            if not least**stops <= factor <= most**stops:
                yield _note(of, "push", factor, least**stops, most**stops, printed, stops)
    if of.capacity_per_l is not None and of.capacity_per_l > _MOST_ROLLS[0]:
        yield _note(of, "capacity", of.capacity_per_l, 0.0, *_MOST_ROLLS)


def _note(
    of: Solution, variant: str, value: float, low: float, high: float, printed: Printed, at: float = 0.0
) -> Message:
    """at: the temperature (°C) of a time, the stops of a factor."""
    title, sure = printed
    figures = {"value": value, "at": at, "low": low, "high": high}
    return alert("note-on-profile", variant, title=of.title, **figures, source=title, sure=sure.value)


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
