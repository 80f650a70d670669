"""The shelf in the journal: one stream beside the sessions, changed so that two terminals at once lose nothing.

One job: read the shelf's events, append what a command decides, and say what a closing session takes from the
shelf in the same transaction. A change that was overtaken is decided again on what is there now: kits are numbered
anew, and what has become impossible is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import reduce
from typing import TypeVar, get_args

from wetside.domain.session.state import State
from wetside.domain.shelf.commands import Command
from wetside.domain.shelf.debit import debits
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.events import Event, made_label
from wetside.domain.shelf.state import ShelfState, evolve, replay
from wetside.errors import Refused
from wetside.storage.codec import Codec, Data, Upcaster
from wetside.storage.store import Entry, Overtaken, Store

SHELF = "shelf"

VERSIONS: Mapping[str, int] = {
    "kit_mixed": 2,
    "bottle_used": 1,
    "leader_tested": 1,
    "clearing_tested": 1,
    "topped_up": 1,
    "level_noted": 1,
    "bottle_squeezed": 1,
    "bottle_noted": 1,
    "bottle_discarded": 1,
}
"""The version each kind of shelf event is written in today."""


def _named_and_unused(data: Data) -> Data:
    """Before version 2 of `kit_mixed` nothing had been used, and labels had the kit's number, not its name."""
    bottles = []
    for bottle in data["bottles"]:
        solution, _, kit = bottle["label"].rpartition(", ")
        by_number = kit == f"kit {data['number']}" and solution.startswith(bottle["figures"]["title"])
        label = made_label(solution, data["name"]) if by_number else bottle["label"]
        bottles.append({**bottle, "label": label, "used_rolls": 0.0})
    return {**data, "bottles": bottles}


UPCASTERS: Mapping[tuple[str, int], Upcaster] = {("kit_mixed", 1): _named_and_unused}
"""(kind, version it lifts from) -> function, for the shelf's events."""

CODEC: Codec[Event] = Codec(get_args(Event), VERSIONS, UPCASTERS)

_TRIES = 20
"""Other terminals may write to the shelf at the same moment; then the change is decided anew."""

T = TypeVar("T")


def load_shelf(store: Store) -> ShelfState:
    """The shelf as it stands. JournalUnusable, in a sentence, when its events cannot be read."""
    return _load(store)[0]


def shelf_events(store: Store) -> tuple[Event, ...]:
    """Every event of the shelf in order."""
    return tuple(CODEC.decode(row.kind, row.version, row.data, f"{SHELF} {row.seq}") for row in store.read(SHELF))


def change_shelf(store: Store, command: Command, at: str) -> ShelfState:
    """Decide on the shelf as it stands, append in one transaction, give back the shelf after it.

    at: RFC 3339, UTC. Raises Refused when the command is, JournalUnusable when it cannot be kept.
    """

    def once() -> ShelfState:
        state, last_seen = _load(store)
        events = decide(state, command)
        store.append({SHELF: (last_seen, entries(events))}, at)
        return reduce(evolve, events, state)

    return retried(once)


def entries(events: Iterable[Event]) -> tuple[Entry, ...]:
    """Shelf events as the journal keeps them."""
    return tuple(Entry(*CODEC.encode(event)) for event in events)


def taken_by(store: Store, session: State) -> Mapping[str, tuple[int, tuple[Entry, ...]]]:
    """What a closed session takes from the shelf, as one more stream for its last append; {} when nothing.

    A bottle that the shelf does not know, or that this session was taken from before, is left out: the close of a
    session never fails for it. JournalUnusable when the shelf's events cannot be read.
    """
    commands = debits(session)
    if not commands:
        return {}
    state, last_seen = _load(store)
    taken: list[Event] = []
    for command in commands:
        try:
            events = decide(state, command)
        except Refused:
            continue
        taken += events
        state = reduce(evolve, events, state)
    return {SHELF: (last_seen, entries(taken))} if taken else {}


def retried(change: Callable[[], T]) -> T:
    """Do `change` again while another terminal writes to the shelf first. Other refusals pass through."""
    for tries_left in reversed(range(_TRIES)):
        try:
            return change()
        except Overtaken as overtaken:
            if overtaken.stream != SHELF or not tries_left:
                raise
    raise AssertionError("the last try returns or raises")


def _load(store: Store) -> tuple[ShelfState, int]:
    events = shelf_events(store)
    return replay(events), len(events)
