"""`wetside` without a command: the full screen from home on; with `--plain`, what there is to do in words."""

from __future__ import annotations

import argparse
from typing import Any

from wetside.commands.arguments import print_lines
from wetside.commands.run_session import usable_terminal
from wetside.files.settings import Places, settings_to_go_on


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Home has no arguments of its own."""
    raise NotImplementedError("home is what runs without a command")


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Open home."""
    terminal = usable_terminal(args.plain)
    if args.plain:
        return _plainly(places)
    settings, wrong = settings_to_go_on(places.settings)
    from wetside.commands.navigation import Navigator

    return Navigator(terminal, places, settings, wrong).run_home()


def _plainly(places: Places) -> int:
    """What is unfinished first, with its elapsed time; then the commands to go on with."""
    lines = _unfinished(places)
    lines += [wrong] if (wrong := settings_to_go_on(places.settings)[1]) else []
    lines += ["Begin a session:  wetside start SETUP --plain"]
    lines += ["A dry run:        wetside practise --plain"]
    lines += ["Setups there are: wetside profiles", "Past sessions:    wetside sessions"]
    print_lines(tuple(lines))
    return 0


def _unfinished(places: Places) -> list[str]:
    from wetside.commands.run_session import has_journal

    if not has_journal(places):
        return []
    from datetime import datetime

    from wetside.app.session_factory import clock_of
    from wetside.app.session_start import resume_now
    from wetside.commands.damage import damage_words
    from wetside.domain.calc.wording import span
    from wetside.storage.sessions import load_state, summaries
    from wetside.storage.store import open_store

    lines = []
    with open_store(places, read_only=True) as store:
        lines += [words] if (words := damage_words(store, places)) else []
        for row in summaries(store):
            if row.outcome is None and not row.trouble:
                state = load_state(store, row.stream)
                going_on = resume_now(state, datetime.fromisoformat(row.last_at), clock_of(state), "")
                least = " at the least" if going_on.how == "not known" else ""
                practice = " (practice)" if row.practice else ""
                lines.append(f"Not finished, {span(going_on.at)} since it began{least}: {row.title}{practice}")
                lines.append(f"Go on with it:    wetside resume {row.session} --plain")
    return lines
