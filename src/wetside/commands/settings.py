"""`wetside settings`: prints or writes the person's settings as a file with explanations."""

from __future__ import annotations

import argparse
import sys

from wetside.app.console import say
from wetside.files.atomic_write import shown_path
from wetside.files.settings import Places, read_settings, settings_to_go_on
from wetside.files.settings_form import commented, write_commented
from wetside.storage.copies import FOLDER, KEPT


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    # --force also replaces a file that cannot be read.
    settings, wrong = settings_to_go_on(places.settings) if args.force else (read_settings(places.settings), "")
    if args.write or args.force:
        write_commented(places.settings, settings, force=args.force)
        if wrong:
            say(wrong)
        say(f"your settings are in {shown_path(places.settings)}.")
        return 0
    sys.stdout.write(commented(settings))
    made = "" if places.settings.exists() else " (not there yet: `wetside settings --write` makes it)"
    say(f"settings: {shown_path(places.settings)}{made}")
    say(f"data folder: {shown_path(places.data)}")
    copies = shown_path(places.data / FOLDER)
    say(f"copies of the journal: {copies} (made at each close; the last {KEPT} are kept)")
    return 0
