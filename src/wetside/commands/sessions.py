"""`wetside sessions`: lists past and unfinished sessions, how the latest went, and the person's own trends."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from wetside.app.console import say
from wetside.commands.arguments import (
    add_json,
    command_parser,
    journal_to_read,
    json_text,
    print_lines,
    this_terminal,
)
from wetside.commands.salvage import damage_words
from wetside.files.settings import Places, read_settings

if TYPE_CHECKING:
    from wetside.export.past_sessions import PastEvening
    from wetside.storage.sessions import SessionSummary

EPILOG: Final = """\
The session begun last comes first: the latest twenty, and every one that is not finished. With --went
the latest ten real ones say how they went, plan against actual, and how their negatives came out; below stand your
own trends: how far off the developer was as its bath began, and how long pouring out took.
Times are local; JSON has them in UTC, spans in seconds, differences in °C, and under "more" how many are left out.
example: wetside sessions --went"""

LISTED: Final = 20
"""How many of the latest sessions are listed: as many as fit one window (our own number)."""


def add_sessions(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add the command."""
    words = "past and unfinished sessions, and how they went"
    parser = command_parser(subparsers, run, "sessions", words, EPILOG)
    parser.add_argument("--went", action="store_true", help="also how the latest ten went, and your own trends")
    parser.add_argument("--all", action="store_true", help="every session; with --went, how each of them went")
    add_json(parser)


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """List the sessions."""
    rows, more, evenings = _summaries(places, args.all, args.went)
    if args.json:
        sys.stdout.write(json_text(_data(rows, more, evenings)))
    elif rows:
        _write(rows, more, evenings, places)
    else:
        say("there is no session yet; `wetside` begins one.")
    return 0


def _summaries(
    places: Places, every: bool, went: bool
) -> tuple[tuple[SessionSummary, ...], int, tuple[PastEvening, ...]]:
    """The sessions in short, how many more there are, and how the latest of them went (() unless `went`)."""
    with journal_to_read(places) as store:
        if store is None:
            return (), 0, ()
        from wetside.storage.sessions import newest

        if words := damage_words(store, places):
            say(words)
        rows, more = newest(store, None if every else LISTED)
        if not went:
            return rows, more, ()
        from wetside.domain.calc.learning import SESSIONS_REMEMBERED
        from wetside.export.past_sessions import past_evenings

        return rows, more, past_evenings(store, rows, len(rows) if every else SESSIONS_REMEMBERED)


def _write(rows: tuple[SessionSummary, ...], more: int, evenings: tuple[PastEvening, ...], places: Places) -> None:
    lines = _lines_with_evenings(rows, evenings, places) if evenings else [_line(row) for row in rows]
    if more:
        lines += ["", f"{more} earlier: `wetside sessions --all` lists them too."]
    print_lines(tuple(lines))


def _lines_with_evenings(
    rows: tuple[SessionSummary, ...], evenings: tuple[PastEvening, ...], places: Places
) -> list[str]:
    """A line for each session, below it how it went, and the person's own trends at the end."""
    from wetside.export.past_sessions import trends, trends_in_words, went_in_words
    from wetside.sanitize import escape_controls

    by_session = {each.session: each for each in evenings}
    lines = []
    for row in rows:
        lines.append(_line(row))
        evening = None if row.practice else by_session.get(row.session)
        lines += [
            f"    {escape_controls(words)}" for words in (went_in_words(evening) if evening is not None else ())
        ]
    utf8 = this_terminal().utf8
    drawn = trends_in_words(trends(evenings), read_settings(places.settings).temperature_unit, not utf8)
    if drawn:
        lines += ["", "Your own trends, the oldest first:", *(f"  {line}" for line in drawn)]
    return lines


def _data(rows: tuple[SessionSummary, ...], more: int, evenings: tuple[PastEvening, ...]) -> dict[str, object]:
    if not evenings:
        none: dict[str, list[float]] = {"developer_off_c": [], "drain_s": []}
        return {"sessions": [_row(row, None) for row in rows], "more": more, "trends": none}
    from wetside.export.past_sessions import trends

    by_session = {each.session: each for each in evenings}
    listed = [_row(row, None if row.practice else by_session.get(row.session)) for row in rows]
    return {"sessions": listed, "more": more, "trends": asdict(trends(evenings))}


def _row(row: SessionSummary, evening: PastEvening | None) -> dict[str, object]:
    """One session as data for JSON; None for what was not looked up or not measured."""
    return {
        "session": row.session,
        "title": row.title,
        "began": row.began_wall,
        "last_entry": row.last_at,
        "outcome": row.outcome,
        "deviations": row.deviations,
        "practice": row.practice,
        "rolls": list(row.rolls),
        "trouble": row.trouble,
        "planned_s": None if evening is None else evening.planned_s,
        "actual_s": None if evening is None else evening.actual_s,
        "baths": None if evening is None else [asdict(bath) for bath in evening.baths],
        "looks": None if evening is None else [{"roll": roll, "text": text} for roll, text in evening.looks],
        "developer_off_c": None if evening is None else evening.developer_off_c,
        "drain_s": None if evening is None else evening.drain_s,
    }


def began_words(row: SessionSummary) -> str:
    """The local date and time at which the session began: "2031-03-01 21:05"."""
    return f"{datetime.fromisoformat(row.began_wall).astimezone():%Y-%m-%d %H:%M}"


def _line(row: SessionSummary) -> str:
    from wetside.present.view_model import outcome_words
    from wetside.present.wording import counted
    from wetside.sanitize import escape_controls

    outcome = outcome_words(row.outcome, row.deviations)
    practice = " (practice)" if row.practice else ""
    trouble = f"; CANNOT BE READ: {escape_controls(row.trouble)}" if row.trouble else ""
    rolls = f", {counted(len(row.rolls), 'roll')}" if row.rolls else ""
    return f"{row.session}  {began_words(row)}  {outcome}{practice}: {escape_controls(row.title)}{rolls}{trouble}"
