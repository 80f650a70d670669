"""`wetside export`: writes the record of a session, rebuilt from the journal alone."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial
from pathlib import Path

from wetside.app.console import say
from wetside.commands.common import require_journal, write_utf8
from wetside.domain.session.events import Event, SessionBegan
from wetside.domain.shelf.events import BottleUsed
from wetside.domain.shelf.state import replay
from wetside.errors import JournalUnusable
from wetside.export import data_formats, pages
from wetside.export.session_log import Debit, SessionLog, session_log
from wetside.files.atomic_write import write_whole
from wetside.files.settings import Places
from wetside.storage.archive import kept_numbers
from wetside.storage.sessions import load, resolve
from wetside.storage.shelf import shelf_events
from wetside.storage.store import Store, open_store


def run(args: argparse.Namespace, places: Places, **_: object) -> int:
    text = exported(places, args.session, args.format, ticks=args.ticks)
    if args.output is None:
        write_utf8(text)
        return 0
    write_whole(Path(args.output).expanduser(), text, force=args.force)
    return 0


def exported(places: Places, session: str, form: str, *, ticks: bool = False) -> str:
    """The record of a session in a form of `arguments.FORMATS`, or "listed": the page for the full screen.

    ticks: the Markdown and HTML forms also list every confirmed statement. Raises Refused without a journal.
    """
    require_journal(places)
    with open_store(places, read_only=True) as store:
        stream = resolve(store, session)
        events = load(store, stream)
        session_id = stream.partition("/")[2]
        debits, numbers = _debits(store, session_id, events), _roll_numbers(store, session_id)
    if form == "jsonl":
        return data_formats.export_jsonl(events)
    write: dict[str, Callable[[SessionLog], str]] = {
        "toml": data_formats.export_toml,
        "csv": data_formats.export_csv,
        "html": partial(pages.export_html, ticks=ticks),
        "markdown": partial(pages.export_markdown, ticks=ticks),
        "listed": partial(pages.export_markdown, ticks=ticks, listed=True),
    }
    return write[form](session_log(events, debits, numbers))


def _debits(store: Store, session: str, events: tuple[Event, ...]) -> tuple[Debit, ...]:
    """What the session took from each bottle of the shelf, with the bottles' labels of that evening.

    Where the shelf's entries cannot be read: () and a message on stderr, as the record does not depend on them.
    """
    try:
        shelf = shelf_events(store)
    except JournalUnusable as problem:
        say(f"left out of the record: what was taken from the shelf. {problem}")
        return ()
    used = [event for event in shelf if isinstance(event, BottleUsed) and event.session == session]
    bottles = replay(shelf).bottles if used else {}
    plans = [event.plan for event in events if isinstance(event, SessionBegan)]
    labels_then = {bottle.shelf_id: bottle.label for plan in plans for bottle in plan.setup.bottles}
    return tuple(
        Debit(
            event.bottle,
            bottles[event.bottle].figures.solution,
            event.rolls,
            labels_then.get(event.bottle, bottles[event.bottle].label),
        )
        for event in used
    )


def _roll_numbers(store: Store, session: str) -> dict[int, str]:
    """The archive's numbers of the session's rolls; {} where it has none, or (with a message) cannot be read."""
    try:
        return kept_numbers(store, session)
    except JournalUnusable as problem:
        say(f"left out of the record: the numbers of its rolls. {problem}")
        return {}
