"""`wetside plan` and `wetside review`: print the plan of an evening, and the safety and gear checklist."""

from __future__ import annotations

import argparse
import sys

from wetside.app.clock import LocalZone, SystemClock
from wetside.commands.common import json_text, print_lines, text_width, this_terminal
from wetside.commands.tonight import left_in_words, named_file, plan_evening
from wetside.files.profile_file import read_profile
from wetside.files.settings import Places, read_settings
from wetside.present.plan_json import plan_json
from wetside.present.plan_text import plan_lines
from wetside.present.review_text import review_lines


def plan(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Print the plan of the evening, and at its end what is left in the kits of the shelf."""
    clock = SystemClock()
    found = plan_evening(args.setup, places, read_settings(places.settings), clock).plan
    if args.json:
        sys.stdout.write(json_text(plan_json(found)))
        return 0
    terminal, now = this_terminal(), clock.now().wall.astimezone(LocalZone())
    left = left_in_words(found, places)
    print_lines(plan_lines(found, text_width(terminal), not terminal.utf8, now, left))
    return 0


def review(args: argparse.Namespace, places: Places, **_: object) -> int:
    path, which = named_file(args.what, places)
    width = text_width(this_terminal())
    if which == "profile":
        print_lines(review_lines(read_profile(path, places.profiles), args.format, width))
    else:
        found = plan_evening(str(path), places, read_settings(places.settings)).plan
        print_lines(review_lines(found, args.format, width, left_in_words(found, places)))
    return 0
