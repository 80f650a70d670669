"""The shelf in the journal: one stream beside the sessions, changed so that two terminals at once lose nothing.

One job: read the shelf's events, append what a command decides, and say what a closing session takes from the
shelf in the same transaction. A change that was overtaken is decided again on what is there now: kits are numbered
anew, and what has become impossible is refused.

What the ended baths of an open session have done to a bottle is kept in the session alone and added on reading, so
that it counts from the moment a bath ends and no crash loses or doubles it; the close then writes it to the shelf.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from functools import reduce
from typing import TypeVar, get_args

from wetside.domain.calc.tank import ROLL_CM2, TRADE_ROLL_CM2
from wetside.domain.session.state import State
from wetside.domain.shelf.commands import Command, FillFromKit, Suspect, UseBottle
from wetside.domain.shelf.debit import debits, filled, suspicions
from wetside.domain.shelf.decide import decide
from wetside.domain.shelf.events import Event, made_label
from wetside.domain.shelf.state import ShelfState, evolve, replay
from wetside.errors import JournalUnusable, Refused
from wetside.storage.codec import Codec, Data, Upcaster
from wetside.storage.sessions import SESSIONS, load_state, unfinished
from wetside.storage.store import Entry, Overtaken, Store

SHELF = "shelf"

VERSIONS: Mapping[str, int] = {
    "kit_mixed": 5,
    "kit_taken_back": 1,
    "bottle_used": 3,
    "leader_tested": 1,
    "clearing_tested": 1,
    "bleach_tested": 1,
    "bottle_suspected": 1,
    "suspicion_lifted": 1,
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


_IN_135_36 = TRADE_ROLL_CM2 / ROLL_CM2


def _kit_in_135_36(data: Data) -> Data:
    """Before version 4 of `kit_mixed` a roll was the trade's 80 in²; the label's capacity in rolls stands."""
    bottles = [{**bottle, "used_rolls": bottle["used_rolls"] * _IN_135_36} for bottle in data["bottles"]]
    return {**data, "bottles": bottles}


def _use_in_135_36(data: Data) -> Data:
    """Before version 2 of `bottle_used` a roll was the trade's 80 in²."""
    return {**data, "rolls": data["rolls"] * _IN_135_36}


def _bleaches_untold(data: Data) -> Data:
    """Before version 3 of `kit_mixed` no test told of bleaching; what bleaches goes by the shipped ids."""
    tests = {("bleach-fix", "clearing"): "bleach-fix", ("bleach", "none"): "bleach"}
    bottles = []
    for bottle in data["bottles"]:
        figures = bottle["figures"]
        test = tests.get((figures["solution"], figures["test"]), figures["test"])
        bottles.append({**bottle, "figures": {**figures, "test": test}})
    return {**data, "bottles": bottles}


def _hazards_untold(data: Data) -> Data:
    """Before version 5 of `kit_mixed` a bottle kept no hazard words."""
    bottles = [{**each, "figures": {**each["figures"], "signal": None, "hazards": []}} for each in data["bottles"]]
    return {**data, "bottles": bottles}


def _backing_unknown(data: Data) -> Data:
    """Before version 3 of `bottle_used` nobody wrote down which rolls had their backing on."""
    return {**data, "backed_rolls": 0.0}


UPCASTERS: Mapping[tuple[str, int], Upcaster] = {
    ("kit_mixed", 1): _named_and_unused,
    ("kit_mixed", 2): _bleaches_untold,
    ("kit_mixed", 3): _kit_in_135_36,
    ("kit_mixed", 4): _hazards_untold,
    ("bottle_used", 1): _use_in_135_36,
    ("bottle_used", 2): _backing_unknown,
}
"""(kind, version it lifts from) -> function, for the shelf's events."""

CODEC: Codec[Event] = Codec(get_args(Event), VERSIONS, UPCASTERS)

_TRIES = 20
"""Other terminals may write to the shelf at the same moment; then the change is decided anew."""

T = TypeVar("T")


def load_shelf(store: Store) -> ShelfState:
    """The shelf as it stands, with what the ended baths of open sessions have done.

    JournalUnusable, in a sentence, when the shelf's events cannot be read. An open session that cannot be read
    adds nothing: the list of sessions says what is wrong with it.
    """
    return _with_open_sessions(store, _load(store)[0])


def shelf_events(store: Store) -> tuple[Event, ...]:
    """Every event of the shelf in order."""
    return tuple(CODEC.decode(row.kind, row.version, row.data, f"{SHELF} {row.seq}") for row in store.read(SHELF))


def change_shelf(store: Store, command: Command, at: str) -> ShelfState:
    """Decide on the shelf as it stands, append in one transaction, give back the shelf after it.

    at: RFC 3339, UTC. Raises Refused when the command is, JournalUnusable when it cannot be kept.
    """

    def once() -> ShelfState:
        state, last_seen = _load(store)
        state = _with_open_sessions(store, state)
        events = decide(state, command)
        store.append({SHELF: (last_seen, entries(events))}, at)
        return reduce(evolve, events, state)

    return retried(once)


def entries(events: Iterable[Event]) -> tuple[Entry, ...]:
    """Shelf events as the journal keeps them."""
    return tuple(Entry(*CODEC.encode(event)) for event in events)


def taken_by(store: Store, session: State) -> Mapping[str, tuple[int, tuple[Entry, ...]]]:
    """What a closed session takes from the shelf or puts there, as a stream for its last append; {} when nothing.

    A bottle that the shelf does not know, or that this session was taken from before, is left out: the close of a
    session never fails for it. JournalUnusable when the shelf's events cannot be read.
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
    return {SHELF: (last_seen, entries(taken))} if taken else {}


def _uses(state: ShelfState, commands: Iterable[UseBottle | Suspect | FillFromKit]) -> tuple[Event, ...]:
    """The events of uses and suspicions the shelf can take: of bottles it knows, not written down yet."""
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
    """The shelf after the uses of sessions that are not closed. Practice is none."""
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


def retried(change: Callable[[], T], streams: Collection[str] = (SHELF,)) -> T:
    """Do `change` again while another terminal writes to one of `streams` first. Other refusals pass through."""
    for tries_left in reversed(range(_TRIES)):
        try:
            return change()
        except Overtaken as overtaken:
            if overtaken.stream not in streams or not tries_left:
                raise
    raise AssertionError("the last try returns or raises")


def _load(store: Store) -> tuple[ShelfState, int]:
    events = shelf_events(store)
    return replay(events), len(events)
