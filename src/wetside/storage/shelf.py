"""The shelf in the journal: one stream beside the sessions.

When another terminal has appended first, a command is decided again on the new state: kits get new numbers, and
what has become impossible is refused. The changes of a closing session are appended with its close.

The use of bottles by the ended baths of an open session is stored in the session only and added on reading, so
that it counts from the end of a bath and no crash loses or doubles it; the close then writes it to the shelf.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import reduce
from typing import get_args

from wetside.domain.calc.tank import ROLL_CM2, TRADE_ROLL_CM2
from wetside.domain.session.state import State
from wetside.domain.shelf.commands import Command, FillFromKit, NoteLevel, Suspect, UseBottle
from wetside.domain.shelf.debit import debits, filled, suspicions
from wetside.domain.shelf.decide import decide, refuse_while_in_use
from wetside.domain.shelf.events import Event, made_label
from wetside.domain.shelf.state import ShelfState, evolve, replay
from wetside.errors import JournalUnusable, Refused
from wetside.storage.codec import Codec
from wetside.storage.sessions import SESSIONS, load_state, unfinished
from wetside.storage.store import Store, Streams, retried
from wetside.storage.upcasters import Data, Upcaster, as_written

SHELF = "shelf"


_IN_135_36 = TRADE_ROLL_CM2 / ROLL_CM2


def _add_use_and_kit_labels(data: Data) -> Data:
    """kit_mixed 1 → 2: nothing had been used, and labels had the kit's number, not its name."""
    for bottle in data["bottles"]:
        solution, _, kit = bottle["label"].rpartition(", ")
        if kit == f"kit {data['number']}" and solution.startswith(bottle["figures"]["title"]):
            bottle["label"] = made_label(solution, data["name"])
        bottle["used_rolls"] = 0.0
    return data


def _add_bleach_tests(data: Data) -> Data:
    """kit_mixed 2 → 3: no test named bleaching; what bleaches is taken from the shipped ids."""
    tests = {("bleach-fix", "clearing"): "bleach-fix", ("bleach", "none"): "bleach"}
    for bottle in data["bottles"]:
        figures = bottle["figures"]
        figures["test"] = tests.get((figures["solution"], figures["test"]), figures["test"])
    return data


def _convert_kit_to_135_36(data: Data) -> Data:
    """kit_mixed 3 → 4: a roll was the trade's 80 in²; the label's capacity in rolls stands."""
    for bottle in data["bottles"]:
        bottle["used_rolls"] *= _IN_135_36
    return data


def _add_hazards(data: Data) -> Data:
    """kit_mixed 4 → 5: a bottle kept no hazard words."""
    for bottle in data["bottles"]:
        bottle["figures"].update(signal=None, hazards=[])
    return data


def _convert_use_to_135_36(data: Data) -> Data:
    """bottle_used 1 → 2: a roll was the trade's 80 in²."""
    return {**data, "rolls": data["rolls"] * _IN_135_36}


def _add_backed_rolls(data: Data) -> Data:
    """bottle_used 2 → 3: rolls with their backing on were not counted."""
    return {**data, "backed_rolls": 0.0}


def _suspicion_as_value(data: Data) -> Data:
    """bottle_suspected 1 → 2: what happened was kept in words."""
    return {**data, "why": as_written(data["why"])}


UPCASTERS: Mapping[str, tuple[Upcaster, ...]] = {
    "kit_mixed": (_add_use_and_kit_labels, _add_bleach_tests, _convert_kit_to_135_36, _add_hazards),
    "bottle_suspected": (_suspicion_as_value,),
    "bottle_used": (_convert_use_to_135_36, _add_backed_rolls),
}
"""For each kind of shelf event whose shape has changed: a function for each change, the oldest first."""

CODEC: Codec[Event] = Codec(get_args(Event), UPCASTERS)


def load_shelf(store: Store) -> ShelfState:
    """The current shelf, with the use by the ended baths of open sessions.

    Raises JournalUnusable when the shelf's events cannot be read. An open session that cannot be read adds
    nothing; the list of sessions shows what is wrong with it.
    """
    return _with_open_sessions(store, _load(store)[0])


def shelf_events(store: Store) -> tuple[Event, ...]:
    """Every event of the shelf in order."""
    return tuple(map(CODEC.event, store.read(SHELF)))


def change_shelf(store: Store, command: Command, at: str) -> ShelfState:
    """Decide a command on the current shelf, append its events in one transaction, and return the new shelf.

    at: RFC 3339, UTC. Raises Refused for a refused command, JournalUnusable when the journal cannot be written.
    """

    def once() -> ShelfState:
        closed, last_seen = _load(store)
        state = _with_open_sessions(store, closed)
        events = decide(state, command)
        if isinstance(command, NoteLevel):
            refuse_while_in_use(closed, state, command.bottle)
        store.append({SHELF: (last_seen, CODEC.entries(events))}, at)
        return reduce(evolve, events, state)

    return retried(once, (SHELF,))


def taken_by(store: Store, session: State) -> Streams:
    """The shelf's events for a closed session, as a stream for its last append; {} without any.

    Bottles that are not on the shelf, or in which this session is recorded already, are left out, so that they
    never make a close fail. Raises JournalUnusable when the shelf's events cannot be read.
    """
    commands: tuple[UseBottle | Suspect | FillFromKit, ...] = (
        *debits(session),
        *suspicions(session),
        *filled(session),
    )
    if not commands:
        return {}
    state, last_seen = _load(store)
    taken = _uses(state, commands)
    return {SHELF: (last_seen, CODEC.entries(taken))} if taken else {}


def _uses(state: ShelfState, commands: Iterable[UseBottle | Suspect | FillFromKit]) -> tuple[Event, ...]:
    """The events of the commands that concern bottles on the shelf and are not recorded yet."""
    found: list[Event] = []
    for command in commands:
        try:
            events = decide(state, command)
        except Refused:
            continue
        found += events
        state = reduce(evolve, events, state)
    return tuple(found)


def _with_open_sessions(store: Store, state: ShelfState) -> ShelfState:
    """The shelf after the uses by sessions that are not closed, practices excluded."""
    if not state.bottles:
        return state
    for row in unfinished(store):
        if row.stream.startswith(SESSIONS):
            try:
                session = load_state(store, row.stream)
            except JournalUnusable:
                continue
            uses = _uses(state, (*debits(session), *suspicions(session)))
            state = reduce(evolve, uses, state)
    return state


def _load(store: Store) -> tuple[ShelfState, int]:
    events = shelf_events(store)
    return replay(events), len(events)
