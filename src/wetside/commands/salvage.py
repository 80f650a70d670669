"""`wetside salvage`: what can still be read of a damaged journal, copied into a new one."""

from __future__ import annotations

import argparse
import sys
from itertools import count
from pathlib import Path
from typing import Any, Final

from wetside.app.console import say
from wetside.commands.arguments import command_parser, print_lines
from wetside.files.settings import JOURNAL, Places
from wetside.storage.copies import FOLDER, KEPT
from wetside.storage.journal_file import KEPT_APART

EPILOG: Final = f"""\
Close every guide first. The damaged file is only read. What is lost is named, and nothing is made up. At the end
stands how NEW is put to use; until then nothing of the data folder changes.
Each close of a session leaves a copy of the whole journal in the folder {FOLDER} of the data folder; the last
{KEPT} are kept. An evening whose journal is lost while it runs goes on in a folder {KEPT_APART}SESSION beside it.
--from may be given several times, for a copy or such an evening; where two have the same entry, the first counts.
default: the journal in the data folder.
example: wetside salvage new.sqlite3"""


def add_parser(subparsers: argparse._SubParsersAction[Any]) -> argparse.ArgumentParser:
    """Add the command's arguments."""
    parser = command_parser(subparsers, "salvage", "copy what can be read of a damaged journal", EPILOG)
    parser.add_argument("to", metavar="NEW", help="the new journal; there must be no such file yet")
    parser.add_argument(
        "--from",
        dest="source",
        metavar="FILE",
        action="append",
        help="the damaged one, if it is another",
    )
    return parser


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Copy, and say what came out; 1 when something is known to be lost."""
    from wetside.storage.salvage import salvage

    to = Path(args.to).expanduser()
    source, *others = [Path(each).expanduser() for each in args.source or [places.data / JOURNAL]]
    found = salvage(source, to, *others)
    rows = [f"{found.kept} entries kept"]
    for stream in found.streams:
        lost = ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in stream.lost)
        rows.append(f"{stream.stream}: {stream.kept} kept{f'; lost: number {lost}' if lost else ''}")
    if found.missing_pages or found.unreadable:
        rows.append(f"{found.missing_pages} pages missing, {found.unreadable} rows not readable")
    print_lines(tuple(rows))
    if not found.whole:
        say("something is lost; what was kept is whole and can be used.")
    apart = [each.parent for each in (source, *others) if each.parent.name.startswith(KEPT_APART)]
    _say_how_to_use(to, places.data, apart)
    return 0 if found.whole else 1


def _say_how_to_use(new: Path, data: Path, apart: list[Path]) -> None:
    """Commands that put the new journal in the place of the one in the data folder, each on its own line."""
    from shlex import quote

    names = (f"damaged{number or ''}" for number in count())
    away = next(data / name for name in names if not (data / name).exists())
    say("to put it to use, close every guide, then:")
    lines = (
        f"mkdir {quote(str(away))}",
        f"mv {quote(str(data / JOURNAL))}* {quote(str(away))}/",
        f"mv {quote(str(new))} {quote(str(data / JOURNAL))}",
        *(f"mv {quote(str(folder))} {quote(str(away))}/" for folder in apart),
    )
    print("".join(f"  {line}\n" for line in lines), end="", file=sys.stderr)
