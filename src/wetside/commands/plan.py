"""`wetside plan`: what tonight works out to, as text or JSON."""

from __future__ import annotations

import argparse
import sys
import textwrap
from typing import Any

from wetside.commands.arguments import command_parser, json_text, print_lines, text_width, this_terminal
from wetside.files.settings import Places, read_settings

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
    from wetside.app.clock import LocalZone, SystemClock
    from wetside.commands.tonight import after_tonight, plan_evening
    from wetside.present.plan_json import plan_json
    from wetside.present.plan_text import plan_lines

    clock = SystemClock()
    plan = plan_evening(args.setup, places, read_settings(places.settings), clock).plan
    if args.json:
        sys.stdout.write(json_text(plan_json(plan)))
        return 0
    terminal = this_terminal()
    width = text_width(terminal)
    print_lines(plan_lines(plan, width, not terminal.utf8, clock.now().wall.astimezone(LocalZone())))
    print_lines(_after(after_tonight(plan, places), width, ascii_only=not terminal.utf8))
    return 0


def _after(said: tuple[str, ...], width: int, *, ascii_only: bool) -> tuple[str, ...]:
    """What is left in the kits, as one more section of the plan; nothing where no kit of the shelf is used."""
    from wetside.present.shelf_text import LEFT_AFTER
    from wetside.sanitize import in_ascii

    if not said:
        return ()
    lines = ["", *textwrap.wrap(LEFT_AFTER, width)]
    for words in said:
        lines += textwrap.wrap(words, width, initial_indent="  - ", subsequent_indent="    ")
    return tuple(in_ascii(line) if ascii_only else line for line in lines)
