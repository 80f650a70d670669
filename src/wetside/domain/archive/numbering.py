"""Numbers of developed rolls, by a pattern, and their densities.

A pattern is text with fields in braces: {year}, {yy}, {month}, {day} of the evening, and one counter with as many
# as it has digits at least: {###}. The counter runs within one series, the pattern with its other fields filled
in: "{year}-{###}" begins at 001 each year. No number is given twice, whatever the pattern was before. Numbers are
stored in events. Sessions closed before there were numbers get theirs in the order they began, by `FIRST_PATTERN`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Literal

from msgspec import Struct, field

FIRST_PATTERN = "{year}-{###}"
"""The default pattern, and that of every session from before there were numbers."""

LONGEST_PATTERN = 40
_FIELD = re.compile(r"\{(year|yy|month|day|#{1,6})\}")
_PLAIN = re.compile(r"[\w .+-]*")
"""The characters allowed outside fields, as a number becomes part of file names."""


class NumberedRoll(Struct, frozen=True):
    """One roll of a session: its index in the setup, its count in the series, its number."""

    roll: int
    count: int
    number: str


class RollsNumbered(Struct, frozen=True):
    """The rolls of one closed session were numbered. series: the pattern filled in except for its counter."""

    session: str
    series: str
    rolls: tuple[NumberedRoll, ...]
    kind: Literal["rolls_numbered"] = "rolls_numbered"


class DensitiesMeasured(Struct, frozen=True):
    """Densities of one roll's base and edge markings: red, green, blue, or one value; () where not measured.

    on: ISO date. The latest of a roll counts; earlier ones stay in the journal.
    """

    session: str
    roll: int
    on: str
    base: tuple[float, ...]
    edge: tuple[float, ...]
    kind: Literal["densities_measured"] = "densities_measured"


Event = RollsNumbered | DensitiesMeasured
RollKey = tuple[str, int]
"""Session id and the roll's index in its setup."""


class ClosedSession(Struct, frozen=True):
    """A closed session: its id, the local day it began, the indices of the developed rolls."""

    session: str
    day: date
    rolls: tuple[int, ...]


class Archive(Struct, frozen=True):
    """The state after the archive's events. sessions: those that have been numbered, with or without a roll."""

    numbers: Mapping[RollKey, str] = field(default_factory=dict)
    densities: Mapping[RollKey, DensitiesMeasured] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)
    sessions: frozenset[str] = frozenset()


def replay(events: Iterable[Event], since: Archive | None = None) -> Archive:
    """The archive after these events; a second numbering of a session changes nothing."""
    before = since or Archive()
    numbers, densities, counts = dict(before.numbers), dict(before.densities), dict(before.counts)
    sessions = set(before.sessions)
    for event in events:
        match event:
            case RollsNumbered(session=session, series=series, rolls=rolls):
                if session in sessions:
                    continue
                sessions.add(session)
                numbers.update({(session, each.roll): each.number for each in rolls})
                counts[series] = max((counts.get(series, 0), *(each.count for each in rolls)))
            case DensitiesMeasured(session=session, roll=roll):
                densities[session, roll] = event
    return Archive(numbers, densities, counts, frozenset(sessions))


def checked_pattern(pattern: str) -> str:
    """The pattern itself. Raises ValueError, with the reason, for one that cannot be used."""
    fields, rest = _FIELD.findall(pattern), _FIELD.sub("", pattern)
    if not pattern or len(pattern) > LONGEST_PATTERN:
        raise ValueError(f"it has 1 to {LONGEST_PATTERN} characters")
    if sum(each.startswith("#") for each in fields) != 1:
        raise ValueError("it has exactly one counter, such as {###}")
    if not _PLAIN.fullmatch(rest) or pattern[0] in "-+. ":
        raise ValueError("it has letters, digits, spaces, _ . + -, and begins with a letter, a digit or a field")
    return pattern


def number_session(archive: Archive, closed: ClosedSession, pattern: str) -> RollsNumbered:
    """The next free numbers for the rolls of `closed`. Raises ValueError for a pattern that cannot be used."""
    checked_pattern(pattern)
    series = _filled(pattern, closed.day, None)
    taken, count = set(archive.numbers.values()), archive.counts.get(series, 0)
    rolls = []
    for roll in closed.rolls:
        count += 1
        while (number := _filled(pattern, closed.day, count)) in taken:
            count += 1
        taken.add(number)
        rolls.append(NumberedRoll(roll, count, number))
    return RollsNumbered(closed.session, series, tuple(rolls))


def number_all(archive: Archive, earlier: Iterable[ClosedSession]) -> tuple[RollsNumbered, ...]:
    """Numbers for the sessions that have none, in the order given (oldest first), by `FIRST_PATTERN`."""
    found = []
    for closed in earlier:
        if closed.session not in archive.sessions:
            event = number_session(archive, closed, FIRST_PATTERN)
            archive = replay((event,), archive)
            found.append(event)
    return tuple(found)


def _filled(pattern: str, day: date, count: int | None) -> str:
    """The pattern with its fields filled in; without a count the counter becomes "{#}"."""
    year, month, on = f"{day.year:04}", f"{day.month:02}", f"{day.day:02}"
    parts = {"year": year, "yy": year[-2:], "month": month, "day": on}

    def fill(match: re.Match[str]) -> str:
        name = match[1]
        return parts.get(name) or ("{#}" if count is None else f"{count:0{len(name)}}")

    return _FIELD.sub(fill, pattern)
