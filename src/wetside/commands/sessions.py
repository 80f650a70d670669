"""`wetside sessions`: past and unfinished sessions as a list, how the latest went, and the person's own trends."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any

from wetside.commands.arguments import command_parser, print_lines, this_terminal
from wetside.settings import Places, read_settings

if TYPE_CHECKING:
    from wetside.journal.sessions import SessionSummary
    from wetside.record.went import Went

EPILOG = """\
The session begun last comes first; the latest ten real ones say how they went, plan against actual, and how
their negatives came out. The trends are yours: how far off the developer was as its bath began, and how long
pouring out took.
Times are local; JSON has them in UTC, spans in seconds, differences in °C.
example: wetside sessions --json"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "sessions", "past and unfinished sessions, and how they went", EPILOG)
    parser.add_argument("--all", action="store_true", help="say of every session how it went, not of ten only")
    parser.add_argument("--json", action="store_true", help="as JSON, with stable keys")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """List the sessions."""
    rows, told = _summaries(places, args.all)
    if args.json:
        json.dump(_data(rows, told), sys.stdout, ensure_ascii=False, indent=2, allow_nan=False)
        sys.stdout.write("\n")
    elif rows:
        _write(rows, told, places)
    else:
        print("wetside: there is no session yet; `wetside` begins one.", file=sys.stderr)
    return 0


def _summaries(places: Places, every: bool) -> tuple[tuple[SessionSummary, ...], tuple[Went, ...]]:
    """Every session in short, and how those that are told of went."""
    from wetside.commands.leading import has_journal

    if not has_journal(places):
        return (), ()
    from wetside.craft.learning import SESSIONS_REMEMBERED
    from wetside.journal.sessions import summaries
    from wetside.journal.store import open_store
    from wetside.record.went import past_went

    with open_store(places, read_only=True) as store:
        rows = summaries(store)
        return rows, past_went(store, rows, len(rows) if every else SESSIONS_REMEMBERED)


def _write(rows: tuple[SessionSummary, ...], told: tuple[Went, ...], places: Places) -> None:
    from wetside.letters import coded
    from wetside.record.went import trends, trends_in_words, went_in_words

    by_session = {each.session: each for each in told}
    lines = []
    for row in rows:
        lines.append(_line(row))
        session = None if row.practice else by_session.get(row.session)
        lines += [f"    {coded(words)}" for words in (went_in_words(session) if session is not None else ())]
    utf8 = this_terminal().utf8
    drawn = trends_in_words(trends(told), read_settings(places.settings).temperature_unit, not utf8)
    if drawn:
        lines += ["", "Your own trends, the oldest first:", *(f"  {line}" for line in drawn)]
    print_lines(tuple(lines))


def _data(rows: tuple[SessionSummary, ...], told: tuple[Went, ...]) -> dict[str, object]:
    if not rows:
        return {"sessions": [], "trends": {"developer_off_c": [], "drain_s": []}}
    from wetside.record.went import trends

    by_session = {each.session: each for each in told}
    listed = [_row(row, None if row.practice else by_session.get(row.session)) for row in rows]
    return {"sessions": listed, "trends": asdict(trends(told))}


def _row(row: SessionSummary, session: Went | None) -> dict[str, object]:
    """One session; what was not looked up, or not measured, is null."""
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
        "planned_s": None if session is None else session.planned_s,
        "actual_s": None if session is None else session.actual_s,
        "baths": None if session is None else [asdict(bath) for bath in session.baths],
        "looks": None if session is None else [{"roll": roll, "text": text} for roll, text in session.looks],
        "developer_off_c": None if session is None else session.developer_off_c,
        "drain_s": None if session is None else session.drain_s,
    }


def _line(row: SessionSummary) -> str:
    from wetside.letters import coded

    began = datetime.fromisoformat(row.began_wall).astimezone()
    outcome: str = row.outcome or "not finished"
    if row.outcome == "complete with deviations":
        outcome = f"{outcome} ({row.deviations})"
    practice = " (practice)" if row.practice else ""
    trouble = f"; CANNOT BE READ: {coded(row.trouble)}" if row.trouble else ""
    rolls = f"{len(row.rolls)} roll{'s' if len(row.rolls) != 1 else ''}"
    return f"{row.session}  {began:%Y-%m-%d %H:%M}  {outcome}{practice}: {coded(row.title)}, {rolls}{trouble}"
