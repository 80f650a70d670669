"""`wetside review`: the safety and gear checklist of a profile, or of tonight's plan."""

from __future__ import annotations

import argparse
from typing import Any

from wetside.commands.arguments import command_parser, print_lines, text_width, this_terminal
from wetside.files.settings import Places, read_settings

EPILOG = """\
A setup gives tonight's list; a profile gives the whole of it, with the hazards of the pure substances.
default: --format text, 80 columns in a pipe.
example: wetside review two-bath --format markdown"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "review", "the safety and gear checklist as text", EPILOG)
    parser.add_argument("what", metavar="SETUP|PROFILE", help="a file, or the name of a setup or a profile")
    parser.add_argument("--format", choices=("text", "markdown"), default="text", help="default: text")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Print the checklist."""
    from wetside.commands.named_file import named_file
    from wetside.commands.run_session import own_profiles
    from wetside.commands.tonight import after_tonight, plan_evening
    from wetside.files.profile_file import read_profile
    from wetside.present.review_text import review_lines
    from wetside.present.shelf_text import LEFT_AFTER

    path, which = named_file(args.what, places)
    width = text_width(this_terminal())
    if which == "profile":
        print_lines(review_lines(read_profile(path, own_profiles(places)), args.format, width))
    else:
        evening = plan_evening(str(path), places, read_settings(places.settings))
        after = (LEFT_AFTER, list(after_tonight(evening.plan, places)))
        print_lines(review_lines(evening.plan, args.format, width, (after,)))
    return 0
