"""`wetside profiles` and `wetside check`: list, show, copy and write profiles and setups, and check them."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

from wetside.app.clock import SystemClock
from wetside.app.console import say
from wetside.app.kit_sheet import KitSheet, drafts
from wetside.commands.common import journal_to_read, json_text, print_lines, this_terminal
from wetside.commands.tonight import (
    from_the_shelf,
    is_a_setup,
    named_file,
    profile_named,
    profile_path,
    with_the_shelf,
)
from wetside.domain.messages import message
from wetside.domain.profile.model import Profile
from wetside.domain.proof.check import profile_findings, setup_findings
from wetside.domain.proof.findings import Finding
from wetside.errors import CheckFailed, FileFinding, FileUnusable, Refused
from wetside.files.atomic_write import shown_path, write_whole
from wetside.files.profile_base import WholeProfile, base_digest, own_keys, value_lines, whole_document
from wetside.files.profile_default_steps import slug
from wetside.files.profile_file import place_of, read_profile
from wetside.files.profile_places import (
    find_profile,
    is_path,
    profiles_by_name,
    setups_by_name,
    shipped_dir,
    tour_setup,
)
from wetside.files.settings import Places
from wetside.files.setup_file import read_setup
from wetside.files.short_profile import beginning
from wetside.files.toml_file import parse, read_text
from wetside.plain.kit_lines import HOW_TO, ask_for_path, run_lines
from wetside.present.evening_plan import make_plan
from wetside.present.plan_text import settle_first
from wetside.present.profile_sheet import figures, note_lines, sheet_data, sheet_lines
from wetside.present.proof_text import finding_text
from wetside.sanitize import printable, sendable


def profiles(args: argparse.Namespace, places: Places, **_: object) -> int:
    if args.new is not None:
        return _new(args.new, places)
    if args.whole:
        _print_whole(args.whole, places)
    elif args.copy:
        name, file = args.copy
        _copy(name, file, places, force=args.force)
    elif args.show:
        _show(args.show, places, as_json=args.json)
    elif args.json:
        raise Refused("--json goes with --show ID: name the profile to show.")
    else:
        _list(places)
    return 0


def _list(places: Places) -> None:
    def row(name: str, path: Path, own: Path, title: Callable[[Path], str]) -> str:
        try:
            words = title(path)
        except FileUnusable as unusable:
            words = f"CANNOT BE READ: {unusable.sentences[0]}"
        return f"  {name:<26} {'yours' if path.parent == own else 'ships':<6} {printable(words)}"

    def setup_title(path: Path) -> str:
        setup = read_setup(path)
        return f"{setup.title} (invented example)" if setup.invented else setup.title

    tour = tour_setup()
    print_lines(
        (
            "Processes:",
            *(
                row(name, path, places.profiles, lambda file: read_profile(file, places.profiles).title)
                for name, path in profiles_by_name(places.profiles).items()
            ),
            *(
                f"  {name:<26} yours  NOT FINISHED: `wetside profiles --new {name}` goes on with it"
                for name in map(printable, drafts(places.profiles))
            ),
            "Setups:",
            *(row(name, path, places.setups, setup_title) for name, path in setups_by_name(places.setups).items()),
            "Two minutes with the keys, `wetside practise --tour`:",
            row(tour.parent.name, tour, places.setups, setup_title),
        )
    )


def _whole(path: Path, places: Places) -> WholeProfile:
    """The values of a profile, each with the file and line that states it."""
    return whole_document(read_text(path), path.name, path, places.profiles)


def _show(name: str, places: Places, *, as_json: bool) -> None:
    profile = profile_named(name, places)
    own = own_keys(_whole(find_profile(name, places.profiles), places))
    if as_json:
        sys.stdout.write(json_text(sheet_data(profile)))
    else:
        print_lines(tuple(printable(line) for line in sheet_lines(profile, own)))


def _new(name: str, places: Places) -> int:
    """Ask the questions about a kit's sheet line by line, and write the profile."""
    terminal = this_terminal()

    def write(lines: Iterable[str]) -> None:
        print_lines(tuple(sendable(line, terminal.utf8) for line in lines))

    def read() -> str | None:
        print("> " if terminal.is_tty else "", end="", flush=True)
        line = sys.stdin.readline() if sys.stdin is not None else ""
        return line.rstrip("\r\n") if line else None

    own = places.profiles
    write(HOW_TO)
    if name:
        path = Path(name).expanduser() if is_path(name) else own / f"{name}.toml"
        return run_lines(KitSheet(path, own), read, write)
    sheet = ask_for_path(own, read, write)
    return 0 if sheet is None else run_lines(sheet, read, write)


def _copy(name: str, file: str, places: Places, *, force: bool) -> None:
    path, which = named_file(name, places)
    to = Path(file).expanduser()
    text = read_text(path) if which == "setup" else _short_profile(name, path, to, places)
    write_whole(to, text, force=force)
    shown = shown_path(to)
    said = f"{shown} is a profile based on {name}" if which == "profile" else f"the setup {name} is in {shown}"
    say(f"{said}; `wetside check` checks it.")


def _short_profile(name: str, path: Path, to: Path, places: Places) -> str:
    """The text of a new profile that is based on another one and changes nothing yet."""
    base = _whole(path, places).document
    base.stop_if_wrong()
    based_on = os.path.relpath(path, to.parent) if is_path(name) else name
    return beginning(base.data, based_on, slug(to.stem), base_digest(based_on, to, places.profiles))


def _print_whole(name: str, places: Places) -> None:
    """Print every value of a profile with its origin. Raises FileUnusable for a setup."""
    path, which = named_file(name, places)
    if which == "setup":
        raise is_a_setup(name)
    read_profile(path, places.profiles)
    print_lines(tuple(printable(line) for line in value_lines(_whole(path, places))))


def check(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Check every file; returns 0 when all are sound, else the highest exit code."""
    code = 0
    for name in args.files:
        try:
            findings, notes = _findings(name, places)
            code = max(code, 1 if findings else 0)
        except FileUnusable as unusable:
            findings, notes = unusable.findings, ()
            code = FileUnusable.exit_code
        print_lines(tuple(_about(name, finding) for finding in findings) or (f"{printable(name)}: sound",))
        print_lines(tuple(_about(name, FileFinding(note, "note")) for note in notes))
    return code


def _findings(name: str, places: Places) -> tuple[tuple[FileFinding, ...], tuple[str, ...]]:
    """(findings, notes) of a file: errors, and figures that may be right but should be looked at."""
    path, which = named_file(name, places)
    notes: tuple[str, ...] = ()
    if which == "profile":
        process = path
        profile = read_profile(process, places.profiles)
        found = (*_keeps_a_shipped_id(profile, path), *profile_findings(profile))
    else:
        setup = read_setup(path)
        process = profile_path(setup, path, places)
        profile = read_profile(process, places.profiles)
        try:
            if from_the_shelf(setup):
                with journal_to_read(places) as store:
                    setup = with_the_shelf(setup, store)
            today = SystemClock().now().day
            found = setup_findings(profile, setup, today)
            if not found:
                # a note, as it bars no evening: larger water or hotter taps may be at hand by then
                notes = settle_first(make_plan(profile, setup, today=today))
        except CheckFailed as failed:
            return tuple(map(FileFinding, failed.findings)), ()
    return _located(found, path, process, places) if found else (), (*notes, *note_lines(profile))


def _located(found: tuple[Finding, ...], path: Path, process: Path, places: Places) -> tuple[FileFinding, ...]:
    """Findings with file and line: of a step or solution those in the process, of all others those in the file."""
    whole = _whole(process, places).document
    document = whole if path == process else parse(read_text(path), path.name)
    located = []
    for finding in found:
        inside = whole if finding.place[:1] in (("steps",), ("solutions",)) else document
        file, line = place_of(inside, finding.place)
        located.append(FileFinding(finding_text(finding), file, line))
    return tuple(located)


def _keeps_a_shipped_id(profile: Profile, path: Path) -> tuple[Finding, ...]:
    """A finding for a copy with a shipped id but other figures, as records could not distinguish the two."""
    ships = shipped_dir() / f"{profile.id}.toml"
    if not ships.is_file() or ships.samefile(path):
        return ()
    before, after = set(figures(read_profile(ships))), set(figures(profile))
    changed = sorted({f"{each.of}, {each.what}" for each in before ^ after})
    if not changed:
        return ()
    words = message("shipped id", id=profile.id, figures=tuple(changed[:3]), more=len(changed) - 3)
    return (Finding(("id",), words),)


def _about(name: str, finding: FileFinding) -> str:
    """A finding with the file's name as it was given on the command line."""
    if finding.file in (name, Path(name).name):
        finding = finding._replace(file=name)
    elif finding.file != f"{name}.toml":
        finding = FileFinding(finding.sentence(), name)
    return "\n".join(printable(line) for line in finding.sentence().split("\n"))
