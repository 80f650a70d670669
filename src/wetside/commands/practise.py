"""`wetside practise`: a dry run with a fast clock, kept apart from real sessions."""

from __future__ import annotations

import argparse
from typing import Any, Final

from wetside.app.clock import FASTEST
from wetside.commands.arguments import add_plain, add_readings, command_parser, the_probe
from wetside.commands.run_session import lead, usable_terminal
from wetside.errors import UsageError
from wetside.files.settings import Places, read_settings

SETUP: Final = "three-rolls"
SPEED: Final = 20.0
TOUR_SPEED: Final = 1.0
EPILOG: Final = f"""\
Marked as practice on every screen; never counted, and takes nothing from the shelf.
default: the setup {SETUP}, at {SPEED:.0f} times the speed; 1 is real time, {FASTEST:.0f} the most.
The tour is for a first evening: it tries every key in two minutes.
example: wetside practise three-rolls --speed 60, or wetside practise --tour"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "practise", "a dry run with a fast clock, kept apart", EPILOG)
    parser.add_argument(
        "setup",
        metavar="SETUP",
        nargs="?",
        help=f"a file, or the name of a setup (default: {SETUP})",
    )
    parser.add_argument(
        "--tour", action="store_true", help="two minutes with every key instead: no film, nothing poured"
    )
    parser.add_argument(
        "--speed", type=float, metavar="N", help=f"times as fast as real (default: {SPEED:.0f}; the tour: 1)"
    )
    add_plain(parser)
    add_readings(parser)
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Begin a practice and lead it."""
    speed = args.speed if args.speed is not None else TOUR_SPEED if args.tour else SPEED
    if not 1.0 <= speed <= FASTEST:
        raise UsageError(f"--speed is from 1 to {FASTEST:.0f} times as fast as real.")
    if args.tour and args.setup is not None:
        raise UsageError("The tour has a setup of its own: leave SETUP or --tour out.")
    probe = the_probe(args.readings)
    terminal = usable_terminal(args.plain)
    from wetside.app.session_factory import begin_session, terminal_name
    from wetside.commands.tonight import plan_evening
    from wetside.files.profile_places import tour_setup
    from wetside.storage.store import open_store

    settings = read_settings(places.settings)
    evening = plan_evening(str(tour_setup()) if args.tour else args.setup or SETUP, places, settings)
    with open_store(places) as store:
        controller = begin_session(
            store,
            places,
            evening.plan,
            evening.profile.text,
            settings,
            terminal=terminal_name(),
            practice=True,
            speed=speed,
        )
        return lead(controller, terminal, settings, args.plain, probe=probe)
