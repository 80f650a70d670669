"""`wetside profiles`: the processes and setups there are, and a copy of one to start your own from."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from wetside.commands.arguments import command_parser, print_lines
from wetside.errors import FileUnusable
from wetside.files.settings import Places
from wetside.sanitize import seen

EPILOG = """\
Your own lie in the data folder under profiles/ and setups/, and stand in place of shipped ones of the same name.
example: wetside profiles --copy two-bath my-process.toml"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "profiles", "the processes and setups that ship, and your own", EPILOG)
    parser.add_argument(
        "--copy", nargs=2, metavar=("ID", "FILE"), help="write a profile or a setup to FILE, to change it"
    )
    parser.add_argument("--force", action="store_true", help="replace FILE if it is there")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """List them, or copy one."""
    if args.copy:
        name, file = args.copy
        return _copy(name, file, places, force=args.force)
    from wetside.commands.run_session import own_profiles, own_setups
    from wetside.commands.tonight import all_setups, profiles_by_name
    from wetside.files.profile_file import read_profile
    from wetside.files.profile_places import tour_setup

    rows = ["Processes:"]
    for name, path in profiles_by_name(places).items():
        rows.append(_row(name, path, own_profiles(places), lambda file: read_profile(file).title))
    rows.append("Setups:")
    for name, path in sorted(all_setups(places).items()):
        rows.append(_row(name, path, own_setups(places), _setup_title))
    rows.append("Two minutes with the keys, `wetside practise --tour`:")
    tour = tour_setup()
    rows.append(_row(tour.parent.name, tour, own_setups(places), _setup_title))
    print_lines(tuple(rows))
    return 0


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
    write_whole(to, read_text(path), force=force)
    print(f"wetside: the {which} {name} is in {shown_path(to)}; `wetside check` checks it.", file=sys.stderr)
    return 0


def _row(name: str, path: Path, own: Path, title: Any) -> str:
    whose = "yours" if path.parent == own else "ships"
    try:
        words = str(title(path))
    except FileUnusable as unusable:
        words = f"CANNOT BE READ: {unusable.findings[0]}"
    return f"  {name:<26} {whose:<6} {seen(words)}"
