"""`wetside follow`: watch a session from a second terminal, read-only."""

from __future__ import annotations

import argparse
from typing import Any

from wetside.commands.arguments import add_plain, command_parser
from wetside.commands.run_session import lead, unfinished_stream, usable_terminal
from wetside.errors import Refused
from wetside.files.settings import Places, settings_to_go_on

EPILOG = """\
Sees each change within a second and changes nothing. Of a developer whose temperature was read it also draws
the course, where the window has 80 columns and 24 rows or more.
default: the unfinished session that was begun last.
example: wetside follow"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "follow", "watch a session from a second terminal, read-only", EPILOG)
    parser.add_argument(
        "session", metavar="SESSION", nargs="?", help='an id, a unique beginning of one, or "last"'
    )
    add_plain(parser)
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Watch it until the person leaves."""
    terminal = usable_terminal(args.plain)
    from wetside.app.session_factory import follow_session
    from wetside.commands.run_session import has_journal
    from wetside.storage.sessions import resolve
    from wetside.storage.store import open_store

    if not has_journal(places):
        raise Refused("There is no session yet: `wetside` begins one.")
    settings, wrong = settings_to_go_on(places.settings)
    with open_store(places, read_only=True) as store:
        stream = resolve(store, args.session) if args.session else unfinished_stream(store)
        return lead(follow_session(store, stream, settings), terminal, settings, args.plain, wrong)
