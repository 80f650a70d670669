"""`wetside profiles`: the processes and setups there are, and a copy of one to start your own from."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from wetside.app.console import say
from wetside.commands.arguments import add_plain, command_parser, json_text, print_lines, this_terminal
from wetside.errors import FileUnusable, Refused
from wetside.files.settings import Places
from wetside.sanitize import seen, sendable

EPILOG = """\
Your own lie in the data folder under profiles/ and setups/, and stand in place of shipped ones of the same name.
--whole prints one value a line: "own" stands in the file itself, "taken over" in the file and line named,
"follows" was worked out from that line.
--new asks for your kit's sheet, question by question, and writes the short profile that says it; answers are kept
as you go, and a profile that is there is changed in the same way. NAME is one of your own, or a file.
example: wetside profiles --new my-kit
example: wetside profiles --copy two-bath my-process.toml"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "profiles", "the processes and setups that ship, and your own", EPILOG)
    parser.add_argument(
        "--copy", nargs=2, metavar=("ID", "FILE"), help="write FILE: a setup, or a short profile based on ID"
    )
    parser.add_argument(
        "--whole", metavar="ID", help="the whole of a profile, value by value: your own, taken over, or worked out"
    )
    parser.add_argument(
        "--new", nargs="?", const="", metavar="NAME", help="write or change your own by questions, line by line"
    )
    parser.add_argument("--force", action="store_true", help="replace FILE if it is there")
    parser.add_argument(
        "--show", metavar="ID", help="every figure of a profile with its source, to hold beside the kit's sheet"
    )
    add_plain(parser)
    parser.add_argument("--json", action="store_true", help="with --show: as JSON, with stable keys")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """List them, copy one, or show the whole of one."""
    if args.new is not None:
        return _new(args.new, places)
    if args.whole:
        return _whole(args.whole, places)
    if args.copy:
        name, file = args.copy
        return _copy(name, file, places, force=args.force)
    if args.show:
        return _show(args.show, places, as_json=args.json)
    if args.json:
        raise Refused("--json goes with --show ID: name the profile to show.")
    from wetside.commands.run_session import own_profiles, own_setups
    from wetside.commands.tonight import all_setups, profiles_by_name
    from wetside.files.profile_file import read_profile
    from wetside.files.profile_places import tour_setup

    rows = ["Processes:"]
    for name, path in profiles_by_name(places).items():
        rows.append(
            _row(name, path, own_profiles(places), lambda file: read_profile(file, own_profiles(places)).title)
        )
    rows.append("Setups:")
    for name, path in sorted(all_setups(places).items()):
        rows.append(_row(name, path, own_setups(places), _setup_title))
    rows.append("Two minutes with the keys, `wetside practise --tour`:")
    tour = tour_setup()
    rows.append(_row(tour.parent.name, tour, own_setups(places), _setup_title))
    print_lines(tuple(rows))
    return 0


def _show(name: str, places: Places, *, as_json: bool) -> int:
    from wetside.commands.run_session import own_profiles
    from wetside.commands.tonight import process
    from wetside.files.profile_base import own_keys, whole_document
    from wetside.files.profile_places import find_profile
    from wetside.files.toml_file import read_text
    from wetside.present.profile_sheet import sheet_data, sheet_lines

    profile = process(name, places)
    path = find_profile(name, own_profiles(places))
    own = own_keys(whole_document(read_text(path), path.name, path, own_profiles(places)))
    if as_json:
        sys.stdout.write(json_text(sheet_data(profile)))
    else:
        print_lines(tuple(seen(line) for line in sheet_lines(profile, own)))
    return 0


def _new(name: str, places: Places) -> int:
    """Ask for a kit's sheet line by line."""
    from wetside.app.kit_sheet import KitSheet
    from wetside.commands.run_session import own_profiles
    from wetside.commands.tonight import is_path
    from wetside.plain.kit_lines import HOW_TO, ask_for_path, run_lines

    terminal = this_terminal()

    def write(lines: Iterable[str]) -> None:
        print_lines(tuple(sendable(line, terminal.utf8) for line in lines))

    def read() -> str | None:
        print("> " if terminal.is_tty else "", end="", flush=True)
        line = sys.stdin.readline() if sys.stdin is not None else ""
        return line.rstrip("\r\n") if line else None

    own = own_profiles(places)
    write(HOW_TO)
    if name:
        return run_lines(
            KitSheet(Path(name).expanduser() if is_path(name) else own / f"{name}.toml", own), read, write
        )
    sheet = ask_for_path(own, read, write)
    return 0 if sheet is None else run_lines(sheet, read, write)


def _setup_title(path: Path) -> str:
    from wetside.files.setup_file import read_setup

    setup = read_setup(path)
    return f"{setup.title} (invented example)" if setup.invented else setup.title


def _copy(name: str, file: str, places: Places, *, force: bool) -> int:
    from wetside.commands.named_file import named_file
    from wetside.files.atomic_write import shown_path, write_whole
    from wetside.files.toml_file import read_text

    path, which = named_file(name, places)
    to = Path(file).expanduser()
    text = read_text(path) if which == "setup" else _beginning(name, path, to, places)
    write_whole(to, text, force=force)
    shown = shown_path(to)
    said = f"{shown} is a profile based on {name}" if which == "profile" else f"the setup {name} is in {shown}"
    say(f"{said}; `wetside check` checks it.")
    return 0


def _whole(name: str, places: Places) -> int:
    """Every value of a profile, with where it comes from."""
    from wetside.commands.named_file import named_file
    from wetside.commands.run_session import own_profiles
    from wetside.files.profile_base import value_lines, whole_document
    from wetside.files.profile_file import read_profile
    from wetside.files.toml_file import read_text

    path, which = named_file(name, places)
    if which == "setup":
        raise FileUnusable((f"{seen(name)} is a setup: name a profile.",))
    read_profile(path, own_profiles(places))
    whole = whole_document(read_text(path), path.name, path, own_profiles(places))
    print_lines(tuple(seen(line) for line in value_lines(whole)))
    return 0


def _beginning(name: str, path: Path, to: Path, places: Places) -> str:
    """A short profile based on another, to go on from."""
    from wetside.commands.run_session import own_profiles
    from wetside.commands.tonight import is_path
    from wetside.files.profile_base import base_digest, whole_document
    from wetside.files.profile_default_steps import slug
    from wetside.files.short_profile import beginning, short_toml
    from wetside.files.toml_file import read_text

    own = own_profiles(places)
    base = whole_document(read_text(path), path.name, path, own).document
    base.stop_if_wrong()
    based_on = os.path.relpath(path, to.parent) if is_path(name) else name
    return short_toml(beginning(base.data, based_on, slug(to.stem), base_digest(based_on, to, own)))


def _row(name: str, path: Path, own: Path, title: Any) -> str:
    whose = "yours" if path.parent == own else "ships"
    try:
        words = str(title(path))
    except FileUnusable as unusable:
        words = f"CANNOT BE READ: {unusable.findings[0]}"
    return f"  {name:<26} {whose:<6} {seen(words)}"
