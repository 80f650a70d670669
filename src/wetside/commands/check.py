"""`wetside check`: whether profiles and setups can be read, make sense, and are proved sound on every path."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wetside.commands.arguments import command_parser, print_lines
from wetside.errors import CheckFailed, FileUnusable
from wetside.files.settings import Places
from wetside.sanitize import seen

if TYPE_CHECKING:
    from wetside.domain.profile.model import Profile
    from wetside.domain.proof.findings import Finding
    from wetside.files.toml_file import Document

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
    from wetside.commands.tonight import is_path, profile_of, with_the_shelf
    from wetside.domain.proof.check import profile_findings, setup_findings
    from wetside.files.profile_base import whole_document
    from wetside.files.profile_file import read_profile
    from wetside.files.profile_places import find_profile
    from wetside.files.setup_file import read_setup
    from wetside.files.toml_file import parse, read_text
    from wetside.present.profile_notes import profile_notes

    path, which = named_file(name, places)
    own = own_profiles(places)
    if which == "profile":
        profile = read_profile(path, own)
        found = (*_keeps_a_shipped_id(profile, path), *profile_findings(profile))
        document = whole_document(read_text(path), path.name, path, own).document if found else None
        return _located(found, document, document), profile_notes(profile)
    setup = read_setup(path)
    profile = profile_of(setup, path, places)
    try:
        today = SystemClock().now().wall.astimezone().date()
        found = setup_findings(profile, with_the_shelf(setup, places), today)
    except CheckFailed as failed:
        return failed.findings, ()
    if not found:
        return (), profile_notes(profile)
    process = find_profile(setup.profile, own)
    process = path.parent / process if is_path(setup.profile) else process
    whole = whole_document(read_text(process), process.name, process, own).document
    return _located(found, parse(read_text(path), path.name), whole), profile_notes(profile)


def _located(
    findings: tuple[Finding, ...], document: Document | None, process: Document | None
) -> tuple[str, ...]:
    """Findings with file and line: those about steps and solutions in the process, all others in the document."""
    from wetside.files.profile_file import place_of

    located = []
    for finding in findings:
        inside = process if finding.place[:1] in (("steps",), ("solutions",)) else document
        if inside is not None:
            file, line = place_of(inside, finding.place)
            located.append(f"{file}, line {line}: {finding.text}")
    return tuple(located)


def _keeps_a_shipped_id(profile: Profile, path: Path) -> tuple[Finding, ...]:
    """A copy with other figures under a shipped id: records would say that the shipped process was used."""
    from wetside.domain.proof.findings import Finding
    from wetside.files.profile_file import read_profile
    from wetside.files.profile_places import shipped_dir
    from wetside.present.profile_sheet import figures

    ships = shipped_dir() / f"{profile.id}.toml"
    if not ships.is_file() or ships.samefile(path):
        return ()
    before, after = set(figures(read_profile(ships))), set(figures(profile))
    changed = sorted({f"{each.of}, {each.what}" for each in before ^ after})
    if not changed:
        return ()
    more = f" and {len(changed) - 3} more" if len(changed) > 3 else ""
    words = (
        f'It keeps the id "{profile.id}" of a profile that ships, with other figures'
        f" ({'; '.join(changed[:3])}{more}): give it an id of its own,"
        " so that a record says which of the two was used."
    )
    return (Finding("shipped id", ("id",), words),)


def _about(name: str, finding: str) -> str:
    """A finding under the file as it was named; it goes on, line by line, with the path that breaks it."""
    shown = "\n".join(seen(line) for line in finding.split("\n"))
    inside = shown.removeprefix(seen(Path(name).name))
    return f"{seen(name)}: {shown}" if inside == shown else f"{seen(name)}{inside}"
