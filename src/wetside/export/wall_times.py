"""Session seconds as wall-clock moments, by the events only.

Each event is dated by the wall clock of the session's beginning or of the latest time the guide was opened again,
with later steps of that clock and changes of zone applied. The machine's own clock and zone are never read: the
same events give the same moments everywhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import TypeVar

from msgspec import Struct

from wetside.domain.session.events import ClockJumped, Event, SessionBegan, SessionResumed
from wetside.errors import JournalUnusable

K = TypeVar("K", bound=Event)


class WallTime(Struct, frozen=True, order=True):
    """`at` seconds on the session's clock, and the aware wall-clock time that was, to a millisecond."""

    at: float
    wall: datetime

    def beside(self, other: WallTime) -> str:
        """Its time of day to a second, with the date or the offset where it is not `other`'s: "19:05:07"."""
        words = self.wall.strftime("%H:%M:%S")
        if self.wall.date() != other.wall.date():
            words = f"{self.wall.date()} {words}"
        return words if self.wall.utcoffset() == other.wall.utcoffset() else f"{words} ({self.offset})"

    @property
    def offset(self) -> str:
        """The offset of its wall clock: "UTC+01:00"."""
        return f"UTC{self.wall.isoformat(timespec='minutes')[16:].replace('+00:00', '')}"

    def moment(self, at: float) -> WallTime:
        """`at` seconds on the session's clock, as dated from here; JournalUnusable beyond the calendar."""
        return WallTime(at, self.stepped(at - self.at).wall)

    def stepped(self, seconds: float) -> WallTime:
        """The same moment by a wall clock put forward by `seconds`; JournalUnusable beyond the calendar."""
        try:
            return WallTime(self.at, self.wall + timedelta(milliseconds=round(seconds * 1000)))
        except OverflowError as error:
            raise JournalUnusable(
                f"The session's record moves its clock by {seconds:g} s, which is off the calendar: restore the"
                " journal from a copy."
            ) from error

    def in_zone(self, seconds: float) -> WallTime:
        """The same moment in a zone `seconds` further east."""
        offset = self.wall.utcoffset() or timedelta()
        return WallTime(self.at, wall_time(self.wall.isoformat(), round(offset.total_seconds() + seconds)))


class DatedEvent(Struct, frozen=True):
    """One event and the moment, known on both clocks, that it is dated from."""

    event: Event
    anchor: WallTime

    @property
    def moment(self) -> WallTime:
        return self.anchor.moment(self.event.at)


def dated_events(events: Sequence[Event]) -> tuple[SessionBegan, tuple[DatedEvent, ...]]:
    """The session's beginning, and every event with its anchor. JournalUnusable unless it is the first event."""
    if not events or not isinstance(events[0], SessionBegan):
        raise JournalUnusable(
            "This session's record does not start with its beginning: restore the journal from a copy."
        )
    rows = []
    anchor = _anchor(events[0])
    for event in events:
        match event:
            case SessionBegan() | SessionResumed():
                anchor = _anchor(event)
            case ClockJumped(what="wall step", seconds=seconds):
                anchor = anchor.stepped(seconds)
            case ClockJumped(what="zone", seconds=seconds):
                anchor = anchor.in_zone(seconds)
        rows.append(DatedEvent(event, anchor))
    return events[0], tuple(rows)


def of_kind(rows: Iterable[DatedEvent], kind: type[K]) -> list[tuple[WallTime, K]]:
    """The events of one class, in order, each with its moment."""
    return [(row.moment, row.event) for row in rows if isinstance(row.event, kind)]


def wall_time(wall: str, offset_s: int) -> datetime:
    """An RFC 3339 time in the zone `offset_s` seconds east of UTC, to a millisecond.

    RFC 3339 offsets are whole minutes, so an older zone's odd seconds are cut. JournalUnusable when it is none.
    """
    try:
        parsed = datetime.fromisoformat(wall)
        aware = parsed if parsed.tzinfo is not None else parsed.replace(tzinfo=UTC)
        local = aware.astimezone(timezone(timedelta(minutes=offset_s // 60)))
        return local.replace(microsecond=local.microsecond // 1000 * 1000)
    except (ValueError, OverflowError) as error:
        raise JournalUnusable(
            f"The session's record holds {wall[:40]!r} with offset {offset_s} s, which is no time of day: restore"
            " the journal from a copy."
        ) from error


def _anchor(event: SessionBegan | SessionResumed) -> WallTime:
    return WallTime(event.at, wall_time(event.wall, event.offset_s))
