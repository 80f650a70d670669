"""How base units are put into words on screen. Text only; nothing is read or decided here."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone


def the(title: str) -> str:
    """A title inside a sentence: "Developer" as "the developer"; a title in capitals keeps them."""
    return f"the {title[:1].lower()}{title[1:]}" if title[1:2].islower() else f"the {title}"


def span(seconds: float) -> str:
    """A length of time as people say it: "45 s", "6 min", "2 h 05 min"."""
    whole = round(abs(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes = round(whole / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def wall_at(wall: str, offset_s: int, plus_s: float) -> datetime:
    """The local wall-clock time `plus_s` after the RFC 3339 UTC instant `wall`."""
    instant = datetime.fromisoformat(wall).astimezone(UTC) + timedelta(seconds=plus_s)
    return instant.astimezone(timezone(timedelta(seconds=offset_s)))


def later_by_clock(starts_at: datetime, plus_s: float) -> datetime:
    """The local time `plus_s` after `starts_at`, through a change of the clocks, if it has a zone that knows them.

    In such a night an hour is left out or comes twice, so that it is reckoned by way of UTC.
    """
    plus = timedelta(seconds=plus_s)
    zone = starts_at.tzinfo
    return starts_at + plus if zone is None else (starts_at.astimezone(UTC) + plus).astimezone(zone)


def hours_minutes(wall: str, offset_s: int, plus_s: float) -> str:
    """That time as "21:05"."""
    return f"{wall_at(wall, offset_s, plus_s):%H:%M}"
