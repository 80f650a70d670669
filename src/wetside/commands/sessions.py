"""`wetside sessions`: lists past and unfinished sessions, how the latest went, and the person's own trends."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Final

from wetside.app.console import say
from wetside.commands.common import journal_to_read, json_text, print_lines, this_terminal
from wetside.commands.salvage import damage_words
from wetside.files.settings import Places, read_settings

if TYPE_CHECKING:
    from wetside.export.past_sessions import PastEvening
    from wetside.storage.sessions import SessionSummary

Went = dict[str, "PastEvening"]
"""How sessions went, by their streams."""

LISTED: Final = 20
"""How many of the latest sessions are listed: as many as fit one window (our own number)."""


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    rows, more, went = _listed(places, args.all, args.went)
    if args.json:
        sys.stdout.write(json_text(_data(rows, more, went)))
    elif rows:
        lines = [line for row in rows for line in (_line(row), *_went_lines(went.get(row.stream)))]
        lines += _trend_lines(went, places) if went else []
        lines += ["", f"{more} earlier: `wetside sessions --all` lists them too."] if more else []
        print_lines(tuple(lines))
    else:
        say("there is no session yet; `wetside` begins one.")
    return 0


def _listed(places: Places, every: bool, went: bool) -> tuple[tuple[SessionSummary, ...], int, Went]:
    """The sessions in short, how many more there are, and how the latest of them went ({} unless `went`)."""
    with journal_to_read(places) as store:
        if store is None:
            return (), 0, {}
        from wetside.storage.sessions import newest

        if words := damage_words(store, places):
            say(words)
        rows, more = newest(store, None if every else LISTED)
        if not went:
            return rows, more, {}
        from wetside.domain.calc.learning import SESSIONS_REMEMBERED
        from wetside.export.past_sessions import past_evenings

        evenings, rows = past_evenings(store, rows, len(rows) if every else SESSIONS_REMEMBERED)
    streams = {row.session: row.stream for row in rows if row.developed}
    return rows, more, {streams[each.session]: each for each in evenings}


def _went_lines(evening: PastEvening | None) -> tuple[str, ...]:
    if evening is None:
        return ()
    from wetside.export.past_sessions import went_in_words
    from wetside.sanitize import escape_controls

    return tuple(f"    {escape_controls(words)}" for words in went_in_words(evening))


def _trend_lines(went: Went, places: Places) -> list[str]:
    from wetside.export.past_sessions import trends, trends_in_words

    unit, ascii_only = read_settings(places.settings).temperature_unit, not this_terminal().utf8
    drawn = trends_in_words(trends([*went.values()]), unit, ascii_only)
    return ["", "Your own trends, the oldest first:", *(f"  {line}" for line in drawn)] if drawn else []


def _data(rows: tuple[SessionSummary, ...], more: int, went: Went) -> dict[str, object]:
    from msgspec import to_builtins

    from wetside.export.past_sessions import trends

    listed = [_row(row, went.get(row.stream)) for row in rows]
    return {"sessions": listed, "more": more, "trends": to_builtins(trends([*went.values()]))}


def _row(row: SessionSummary, evening: PastEvening | None) -> dict[str, object]:
    """One session as data for JSON; None for what was not looked up or not measured."""
    from msgspec import to_builtins

    went = {} if evening is None else to_builtins(evening)
    if evening is not None:
        went["looks"] = [{"roll": roll, "text": text} for roll, text in evening.looks]
    names = ("planned_s", "actual_s", "baths", "looks", "developer_off_c", "drain_s")
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
        **{name: went.get(name) for name in names},
    }


def _line(row: SessionSummary) -> str:
    from wetside.present.view_model import outcome_words
    from wetside.present.wording import counted
    from wetside.sanitize import escape_controls

    outcome = outcome_words(row.outcome, row.deviations)
    practice = " (practice)" if row.practice else ""
    trouble = f"; CANNOT BE READ: {escape_controls(row.trouble)}" if row.trouble else ""
    rolls = f", {counted(len(row.rolls), 'roll')}" if row.rolls else ""
    return f"{row.session}  {row.began}  {outcome}{practice}: {escape_controls(row.title)}{rolls}{trouble}"
