"""`wetside salvage`: copies what can be read of a damaged journal. Also words the warning about such damage."""

from __future__ import annotations

import argparse
import sys
from itertools import count
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Final

from wetside.app.console import say
from wetside.commands.common import print_lines
from wetside.files.settings import JOURNAL, Places
from wetside.storage.journal_file import KEPT_APART

if TYPE_CHECKING:
    from wetside.storage.salvage import StreamSalvage
    from wetside.storage.store import Store

REMEDY: Final = (
    "Close every guide, then `wetside salvage NEW` copies what can be read, and says how NEW is put to use."
)
_MOST_NAMED: Final = 3
_INDEX: Final = "contents"
"""The stream that lists the sessions; losing it loses nothing, as it is rebuilt from the sessions."""


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    """Copy the journal and report what was kept; returns 1 when something is known to be lost."""
    from wetside.storage.salvage import salvage

    to = Path(args.to).expanduser()
    source, *others = [Path(each).expanduser() for each in args.source or [places.data / JOURNAL]]
    found = salvage(source, to, *others)
    rows = [f"{found.kept} entries kept"]
    for stream in found.streams:
        lost = f"; lost: number {_numbers(stream)}" if stream.lost else ""
        rows.append(f"{stream.stream}: {stream.kept} kept{lost}")
    if found.missing_pages or found.unreadable:
        rows.append(f"{found.missing_pages} pages missing, {found.unreadable} rows not readable")
    print_lines(tuple(rows))
    if not found.whole:
        say("something is lost; what was kept is whole and can be used.")
    apart = [each.parent for each in (source, *others) if each.parent.name.startswith(KEPT_APART)]
    _say_how_to_use(to, places.data, apart)
    return 0 if found.whole else 1


def _say_how_to_use(new: Path, data: Path, apart: list[Path]) -> None:
    """Print on stderr the commands that replace the journal of the data folder by the new one.

    apart: folders of evenings that were kept beside the journal and are now part of the new one.
    """
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


def damage_words(store: Store, places: Places) -> str:
    """The warning about a damaged journal, or about an evening kept beside it; "" where there is neither.

    It reads every page of the file: about 5 ms for four evenings.
    """
    found = store.damage()
    if found is None:
        return _kept_apart(places)
    lost = [stream for stream in found.streams if stream.lost and stream.stream != _INDEX]
    what = "every entry reads"
    if lost:
        more = f", and {len(lost) - _MOST_NAMED} more" if len(lost) > _MOST_NAMED else ""
        what = f"lost are {', '.join(map(_lost_entries, lost[:_MOST_NAMED]))}{more}; the rest goes on"
    gone = f" {found.missing_pages} of its pages are missing: more may be lost." if found.missing_pages else ""
    return f"The journal is damaged: {what}.{gone} {REMEDY} {_kept_apart(places)}".strip()


def _lost_entries(stream: StreamSalvage) -> str:
    kind, _, session = stream.stream.partition("/")
    return f"entries {_numbers(stream)} of {f'session {session}' if session else f'the {kind}'}"


def _numbers(stream: StreamSalvage) -> str:
    return ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in stream.lost)


def _kept_apart(places: Places) -> str:
    """The sentence on an evening that went on in a journal of its own, and how to join the two; "" without one."""
    apart = sorted(path.parent.name for path in places.data.glob(f"{KEPT_APART}*/{JOURNAL}"))
    if not apart:
        return ""
    folder = places.data / apart[-1]
    both = f"--from {quote(str(places.data / JOURNAL))} --from {quote(str(folder / JOURNAL))}"
    return (
        f"An evening was kept beside the journal: `wetside --data {quote(str(folder))} resume` goes on with it; "
        f"`wetside salvage NEW {both}` puts both into one."
    )
