"""`wetside` without a command: opens the home screen; with `--plain`, prints what can be done next."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import TYPE_CHECKING

from wetside.commands.common import journal_to_read, print_lines, usable_terminal
from wetside.files.settings import Places, settings_to_go_on

if TYPE_CHECKING:
    from wetside.commands.navigation import Navigator
    from wetside.tui.home_screen import HomeChoice


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    terminal = usable_terminal(args.plain)
    if args.plain:
        print_lines(tuple(_plain_lines(places)))
        return 0
    settings, wrong = settings_to_go_on(places.settings)
    from wetside.commands.navigation import Navigator

    return Navigator(terminal, places, settings, wrong).run_home(open_chosen)


def open_chosen(navigator: Navigator, choice: HomeChoice) -> None:
    """Open a screen that needs planning or files. Their import would double the time to the first screen."""
    from wetside.commands import screens

    screens.open_chosen(navigator, choice)


def _plain_lines(places: Places) -> Iterator[str]:
    """Unfinished sessions with their elapsed times, then the commands to go on with."""
    yield from _unfinished(places)
    if wrong := settings_to_go_on(places.settings)[1]:
        yield wrong
    yield "Begin a session:  wetside start SETUP --plain"
    yield "A dry run:        wetside practise --plain"
    yield "Setups there are: wetside profiles"
    yield "Past sessions:    wetside sessions"


def _unfinished(places: Places) -> Iterator[str]:
    with journal_to_read(places) as store:
        if store is None:
            return
        from datetime import datetime

        from wetside.app.session_start import clock_of, elapsed
        from wetside.commands.salvage import damage_words
        from wetside.present.wording import span
        from wetside.storage.sessions import load_state, summaries

        if words := damage_words(store, places):
            yield words
        for row in summaries(store):
            if row.outcome is None and not row.trouble:
                state = load_state(store, row.stream)
                at, how = elapsed(state, datetime.fromisoformat(row.last_at), clock_of(state).now())
                least = " at the least" if how == "not known" else ""
                practice = " (practice)" if row.practice else ""
                clock = "on its fast clock" if row.practice and state.speed != 1.0 else "since it began"
                yield f"Not finished, {span(at)} {clock}{least}: {row.title}{practice}"
                yield f"Go on with it:    wetside resume {row.session} --plain"
