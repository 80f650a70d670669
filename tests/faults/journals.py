"""A journal of three streams, for the tests that damage one, and a way to fill its disk."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from wetside.storage.store import Entry, Envelope, Store

AT = "2026-11-05T19:30:00Z"
PAGE = 4096
STREAMS = ("bottle:dev", "session:a", "session:b")


def entry(number: int, length: int = 120) -> Entry:
    return Entry("note_added", 1, f'{{"n":{number},"text":"{"x" * length}"}}')


def fill(path: Path, rounds: int = 60) -> dict[str, tuple[Envelope, ...]]:
    """A journal of three streams whose rows are interleaved, each with a long first row; returns its contents."""
    with Store.open(path) as store:
        for number in range(rounds):
            row = (entry(number, 9000 if number == 0 else 120),)
            store.append({stream: (number, row) for stream in STREAMS}, AT)
        return {stream: store.read(stream) for stream in STREAMS}


def contents(path: Path) -> dict[str, tuple[Envelope, ...]]:
    with Store.open(path, read_only=True) as store:
        return {found.stream: store.read(found.stream, despite_gaps=True) for found in store.streams()}


def fill_up(filler: Path) -> None:
    """Write to this file until its disk is full."""
    with filler.open("ab", buffering=0) as file, suppress(OSError):
        while file.write(b"\0" * PAGE):
            pass
