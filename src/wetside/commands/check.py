"""`wetside check`: whether profiles and setups can be read, make sense, and are proved sound on every path."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from wetside.commands.arguments import command_parser, print_lines
from wetside.errors import CheckFailed, FileUnusable
from wetside.files.settings import Places
from wetside.sanitize import seen

EPILOG = """\
A profile is proved over every kind of film and number of batches; a setup against its profile.
Every finding is printed, with the path that breaks it; "sound" means that there is none. A note is no finding: it
points out a figure far from the published ones, or a base that has changed.
example: wetside check my-process.toml three-rolls"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "check", "check profiles or setups, and prove that they are sound", EPILOG)
    parser.add_argument("files", metavar="FILE", nargs="+", help="a file, or the name of a setup or a profile")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Check every file; 0 when all are sound, else the gravest exit code."""
    code = 0
    for name in args.files:
        try:
            findings, notes = _findings(name, places)
            code = max(code, 1 if findings else 0)
        except FileUnusable as unusable:
            findings, notes = unusable.findings, ()
            code = FileUnusable.exit_code
        print_lines(tuple(_about(name, finding) for finding in findings) or (f"{seen(name)}: sound",))
        print_lines(tuple(_about(name, f"note: {note}") for note in notes))
    return code


def _findings(name: str, places: Places) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is wrong, and what is worth a look in a file that may well be right."""
    from wetside.app.clock import SystemClock
    from wetside.commands.named_file import named_file
    from wetside.commands.run_session import own_profiles
    from wetside.commands.tonight import profile_of, with_the_shelf
    from wetside.domain.proof.check import check_profile, check_setup
    from wetside.files.profile_file import read_profile
    from wetside.files.setup_file import read_setup
    from wetside.present.profile_notes import profile_notes

    path, which = named_file(name, places)
    if which == "profile":
        profile = read_profile(path, own_profiles(places))
        return check_profile(profile), profile_notes(profile)
    setup = read_setup(path)
    profile = profile_of(setup, path, places)
    try:
        today = SystemClock().now().wall.astimezone().date()
        return check_setup(profile, with_the_shelf(setup, places), today), profile_notes(profile)
    except CheckFailed as failed:
        return failed.findings, ()


def _about(name: str, finding: str) -> str:
    """A finding under the file as it was named; it goes on, line by line, with the path that breaks it."""
    shown = "\n".join(seen(line) for line in finding.split("\n"))
    inside = shown.removeprefix(seen(Path(name).name))
    return f"{seen(name)}: {shown}" if inside == shown else f"{seen(name)}{inside}"
