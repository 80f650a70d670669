"""`wetside start`: begin a session from a setup, straight to its review."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING, Any

from wetside.app.terminal import Terminal
from wetside.commands.arguments import add_plain, add_readings, command_parser, print_lines, text_width, the_probe
from wetside.commands.run_session import has_journal, lead, other_evening, usable_terminal
from wetside.files.settings import Places, Settings, read_settings
from wetside.sanitize import sendable

if TYPE_CHECKING:
    from wetside.app.probe import Probe
    from wetside.commands.tonight import Evening

EPILOG = """\
Shows tonight's plan and the review, and begins only when told to.
defaults: lead-in, units and calls as in your settings.
example: wetside start my-evening.toml"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "start", "begin a session from a setup: straight to its review", EPILOG)
    parser.add_argument("setup", metavar="SETUP", help="a setup file, or the name of a setup")
    add_plain(parser)
    add_readings(parser)
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Review, then lead."""
    probe = the_probe(args.readings)
    terminal = usable_terminal(args.plain)
    from wetside.commands.tonight import plan_evening, refuse_unfit

    settings = read_settings(places.settings)
    evening = plan_evening(args.setup, places, settings)
    refuse_unfit(evening.plan)
    if args.plain:
        return plainly(evening, places, settings, terminal, probe)
    from wetside.commands.navigation import Navigator

    return Navigator(terminal, places, settings, probe=probe).run_review(evening)


def plainly(
    evening: Evening, places: Places, settings: Settings, terminal: Terminal, probe: Probe | None = None
) -> int:
    """The plan and the review as text; an empty line begins the session."""
    from wetside.app.clock import LocalZone, SystemClock
    from wetside.app.session_factory import begin_session, terminal_name
    from wetside.present.mixing_plan import guide_lines
    from wetside.present.plan_text import plan_lines
    from wetside.present.review_text import review_lines
    from wetside.storage.store import open_store

    width = text_width(terminal)
    if evening.plan.kit is None:
        now = SystemClock().now().wall.astimezone(LocalZone())
        print_lines(plan_lines(evening.plan, width, not terminal.utf8, now))
    else:
        print_lines(tuple(sendable(line, terminal.utf8) for line in guide_lines(evening.plan)))
    print_lines(("", *review_lines(evening.plan, "text", width), ""))
    if has_journal(places):
        with open_store(places, read_only=True) as store:
            print_lines((other_evening(store),))
    print_lines(("An empty line begins the session. Any other line leaves, and nothing is begun.",))
    sys.stdout.flush()
    if _typed() != "":
        return 0
    with open_store(places) as store:
        controller = begin_session(
            store, places, evening.plan, evening.profile.text, settings, terminal=terminal_name()
        )
        return lead(controller, terminal, settings, plain=True, probe=probe)


def _typed() -> str | None:
    """One line, read letter by letter so that what comes after it is left for the session; None at the end."""
    line = b""
    try:
        while (letter := os.read(sys.stdin.fileno(), 1)) != b"\n":
            if not letter:
                return None
            line += letter
    except (OSError, ValueError, AttributeError):  # closed, or no file behind it
        return None
    return line.decode("utf-8", "replace").rstrip("\r")
