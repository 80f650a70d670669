"""`wetside resume`: go on with an unfinished session, or add notes to a closed one."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from wetside.commands.arguments import add_plain, add_readings, command_parser, the_probe
from wetside.commands.run_session import holder_of, lead, unfinished_stream, usable_terminal
from wetside.errors import Refused
from wetside.files.settings import Places, settings_to_go_on

EPILOG = """\
Shows the elapsed time first, and starts nothing by itself. Another terminal that drives the session is asked
about, then becomes a follower. A closed session is opened for notes and for how its negatives came out.
default: the unfinished session that was begun last.
example: wetside resume last --plain"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "resume", "go on with an unfinished session", EPILOG)
    parser.add_argument(
        "session", metavar="SESSION", nargs="?", help='an id, a unique beginning of one, or "last"'
    )
    parser.add_argument("--take-over", action="store_true", help="take it from another terminal without asking")
    add_plain(parser)
    add_readings(parser)
    return parser


def run(args: argparse.Namespace, places: Places, *, ask: Callable[[str], str] | None = None) -> int:
    """Go on, on this terminal."""
    probe = the_probe(args.readings)
    terminal = usable_terminal(args.plain)
    from wetside.app.session_factory import follow_session, resume_session, revisit_session, terminal_name
    from wetside.commands.run_session import has_journal
    from wetside.storage.sessions import closed, resolve
    from wetside.storage.store import only_shown, open_to_guide

    if not has_journal(places):
        raise Refused("There is no session yet: `wetside` begins one.")
    settings, wrong = settings_to_go_on(places.settings)
    with open_to_guide(places) as store:
        stream = resolve(store, args.session) if args.session else unfinished_stream(store)
        if only_shown(store):
            return lead(follow_session(store, stream, settings), terminal, settings, args.plain, wrong)
        if closed(store, stream):
            controller = revisit_session(store, places, stream, settings, terminal=terminal_name())
            return lead(controller, terminal, settings, args.plain, wrong, probe)
        take_over = args.take_over or _taken_over(places, stream, ask)
        controller = resume_session(store, places, stream, settings, terminal=terminal_name(), take_over=take_over)
        return lead(controller, terminal, settings, args.plain, wrong, probe)


def _taken_over(places: Places, stream: str, ask: Callable[[str], str] | None) -> bool:
    """Whether the person wants to take the session from the terminal that drives it."""
    holder = holder_of(places, stream)
    if holder is None:
        return False
    if ask is None:
        raise Refused(f"This session is driven by {holder}: `wetside follow` watches it, --take-over takes it.")
    answer = ask(f"This session is driven by {holder}. Take it over, so that the other only follows? (yes/no)")
    if answer.casefold() not in ("y", "yes"):
        raise Refused("Not taken over: `wetside follow` watches it.")
    return True
