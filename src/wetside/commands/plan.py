"""`wetside plan`: what tonight works out to, as text or JSON."""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from wetside.commands.arguments import command_parser, print_lines, text_width, this_terminal
from wetside.settings import Places, read_settings

EPILOG = """\
units: text goes by your settings (default: °C, ml); JSON has seconds, °C and millilitres.
example: wetside plan three-rolls --json"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "plan", "what tonight works out to, from a setup", EPILOG)
    parser.add_argument("setup", metavar="SETUP", help="a setup file, or the name of a setup")
    parser.add_argument("--json", action="store_true", help="as JSON, with stable keys")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Plan the evening and print it."""
    from wetside.clock import SystemClock
    from wetside.commands.evening import plan_evening
    from wetside.session.plan_data import plan_json
    from wetside.session.plan_text import plan_lines

    clock = SystemClock()
    plan = plan_evening(args.setup, places, read_settings(places.settings), clock).plan
    if args.json:
        json.dump(plan_json(plan), sys.stdout, ensure_ascii=False, indent=2, allow_nan=False)
        sys.stdout.write("\n")
        return 0
    terminal = this_terminal()
    print_lines(plan_lines(plan, text_width(terminal), not terminal.utf8, clock.now().wall.astimezone()))
    return 0
