"""`wetside salvage`: what can still be read of a damaged journal, copied into a new one."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from wetside.commands.arguments import command_parser, print_lines
from wetside.files.settings import Places

EPILOG = """\
Close every guide first. The damaged file is only read. What is lost is named, and nothing is made up.
default: the journal in the data folder.
example: wetside salvage saved/journal.sqlite3"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "salvage", "copy what can be read of a damaged journal", EPILOG)
    parser.add_argument("to", metavar="NEW", help="the new journal; there must be no such file yet")
    parser.add_argument("--from", dest="source", metavar="FILE", help="the damaged one, if it is another")
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Copy, and say what came out; 1 when something is known to be lost."""
    from wetside.files.settings import JOURNAL
    from wetside.storage.salvage import salvage

    source = Path(args.source).expanduser() if args.source else places.data / JOURNAL
    found = salvage(source, Path(args.to).expanduser())
    rows = [f"{found.kept} entries kept"]
    for stream in found.streams:
        lost = ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in stream.lost)
        rows.append(f"{stream.stream}: {stream.kept} kept{f'; lost: number {lost}' if lost else ''}")
    if found.missing_pages or found.unreadable:
        rows.append(f"{found.missing_pages} pages missing, {found.unreadable} rows not readable")
    print_lines(tuple(rows))
    if not found.whole:
        print("wetside: something is lost; what was kept is whole and can be used.", file=sys.stderr)
    return 0 if found.whole else 1
