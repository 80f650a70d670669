"""Every developed roll of the journal as one value: number, film, process, bottles, how it came out, densities.

Gathered oldest first, and searched. Practice and unreadable sessions are left out. The same journal gives the same
rolls on every machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.archive.drift import above_base
from wetside.domain.archive.numbering import Archive, RollKey
from wetside.domain.calc.tank import roll_equivalents
from wetside.domain.planning.bottles import bottle_of
from wetside.domain.planning.plan import Plan, PlannedStep
from wetside.domain.planning.setup import Bottle, Roll
from wetside.domain.session.events import Event
from wetside.domain.session.film import developers_of
from wetside.domain.session.state import State, replay
from wetside.domain.shelf.state import ShelfState
from wetside.errors import JournalUnusable, Refused
from wetside.export.past_sessions import NO_CLOCK
from wetside.export.session_log import LOOKS
from wetside.export.step_logs import step_logs
from wetside.export.wall_times import dated_events
from wetside.present.film_faults import searched_text, seen
from wetside.present.message_words import in_words
from wetside.storage.archive import load_archive
from wetside.storage.sessions import load, stream_of, summaries
from wetside.storage.shelf import load_shelf
from wetside.storage.store import Store


class UsedBottle(Struct, frozen=True):
    """A bottle of that evening. shelf_id, kit: its id and its kit's name on the shelf; None where it has none."""

    solution: str
    label: str
    shelf_id: str | None
    kit: str | None


class ArchivedRoll(Struct, frozen=True):
    """One developed roll. developed_on: the local day its evening began.

    developer_s, developer_planned_s: from the clock's start to pouring out, actual and as last planned; off_s:
    their difference. developer_c: last read of the developer before it was poured. bottle_rolls: rolls of 135-36
    the developer's bottle had done before. edge: how its edge markings looked, seen: what else, oldest first; ""
    and () without a note. base, edge_print: densities (red, green, blue, or one); () where not measured. searched:
    the text that a search for a fault looks in.
    """

    number: str
    label: str
    session: str
    roll: int
    developed_on: str
    film: Roll
    process: str
    process_title: str
    process_sha256: str
    yields: str
    outcome: str
    invented: bool
    batch: int
    developer: str
    developer_s: float | None
    developer_planned_s: float | None
    off_s: float | None
    developer_c: float | None
    bottle_rolls: float
    bottles: tuple[UsedBottle, ...]
    edge: str
    seen: tuple[str, ...]
    base: tuple[float, ...]
    edge_print: tuple[float, ...]
    searched: str

    @property
    def kits(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(bottle.kit for bottle in self.bottles if bottle.kit is not None))

    @property
    def above_base(self) -> float | None:
        """Density of the edge markings less that of the base, mean of the channels."""
        return above_base(self.base, self.edge_print)

    @property
    def developer_bottle(self) -> UsedBottle | None:
        return next((bottle for bottle in self.bottles if bottle.solution == self.developer), None)


Which = Callable[[Archive], Iterable[RollKey]]
"""Chooses rolls of the archive before any session is read."""


class Wanted(Struct, frozen=True):
    """The criteria of a search; "" matches everything. Texts match anywhere in a name, ignoring case.

    since, until: ISO dates, both included. bottle: an id of the shelf, whole, or part of a label.
    """

    kit: str = ""
    bottle: str = ""
    fault: str = ""
    film: str = ""
    since: str = ""
    until: str = ""

    def fits(self, roll: ArchivedRoll) -> bool:
        film = roll.film
        names = f"{roll.label} {film.stock} {film.kind} {film.format} {film.camera} {film.shot_at}"
        bottles = [b for b in roll.bottles if b.shelf_id == self.bottle or _in(self.bottle, b.label)]
        return (
            (not self.kit or any(_in(self.kit, kit) for kit in roll.kits))
            and (not self.bottle or bool(bottles))
            and _in(self.fault, roll.searched)
            and _in(self.film, names)
            and (self.since or roll.developed_on) <= roll.developed_on <= (self.until or roll.developed_on)
        )


def of_numbers(*numbers: str) -> Which:
    """Chooses the rolls with these numbers."""
    return lambda archive: [key for key, number in archive.numbers.items() if number in numbers]


def measured(archive: Archive) -> Iterable[RollKey]:
    """The rolls with densities (a `Which`)."""
    return archive.densities


def archived_rolls(
    store: Store,
    which: Which = lambda archive: archive.numbers,
    *,
    left_out: Callable[[str, JournalUnusable], None] = lambda session, why: None,
) -> tuple[ArchivedRoll, ...]:
    """Every numbered roll, oldest first: of the sessions that have one of `which`, as only these are read.

    left_out: called with each session whose rolls are missing, as its record cannot be read. Raises
    JournalUnusable when the archive's own events cannot be read.
    """
    rows = summaries(store)
    archive, shelf = load_archive(store, rows), load_shelf(store)
    sessions = {session for session, _ in which(archive)}
    found: list[ArchivedRoll] = []
    for row in sorted(rows, key=lambda row: (row.began_wall, row.session)):
        if row.practice or row.trouble or row.session not in sessions:
            continue
        try:
            found += rolls_of(load(store, stream_of(row.session, False)), archive, shelf)
        except JournalUnusable as problem:
            left_out(row.session, problem)  # damaged since it was closed
    return tuple(found)


def find_roll(rolls: Iterable[ArchivedRoll], number: str) -> ArchivedRoll:
    """The roll with this number. Raises Refused when there is none."""
    for roll in rolls:
        if roll.number == number:
            return roll
    raise Refused(f"There is no roll {number[:40]!r}: `wetside rolls` lists them.")


def rolls_of(events: Sequence[Event], archive: Archive, shelf: ShelfState) -> tuple[ArchivedRoll, ...]:
    """The numbered rolls of one session, in the order of its setup."""
    began, rows = dated_events(events)
    plan, state = began.plan, replay(event for event in events if not isinstance(event, NO_CLOCK))
    baths = {log.id: log for log in step_logs(replace(plan, steps=developers_of(plan)), state, rows)}
    bottles = tuple(_used(bottle, shelf) for bottle in plan.setup.bottles)
    found = []
    for roll, film in enumerate(plan.setup.rolls):
        key = began.session, roll
        if key not in archive.numbers:
            continue
        batch = next((batch.number for batch in plan.batches if roll in batch.rolls), 1)
        step = next((s for s in developers_of(plan) if s.batch in (batch, None) and s.id in state.clocks), None)
        bath = baths[step.id] if step is not None else None
        noted = [note for note in state.notes if note.about == LOOKS and note.roll in (roll, None)]
        edges = [note.look.edge for note in noted if note.look is not None and note.look.edge]
        densities = archive.densities.get(key)
        found.append(
            ArchivedRoll(
                number=archive.numbers[key],
                label=film.label,
                session=began.session,
                roll=roll,
                developed_on=rows[0].moment.wall.date().isoformat(),
                film=film,
                process=plan.profile_id,
                process_title=plan.profile_title,
                process_sha256=plan.profile_sha256,
                yields=plan.yields,
                outcome=state.outcome or "unknown",
                invented=plan.setup.invented,
                batch=batch,
                developer="" if step is None else step.solution or "",
                developer_s=None if bath is None else bath.actual_s,
                developer_planned_s=None if bath is None else bath.due_s,
                off_s=None if bath is None else bath.difference_s,
                developer_c=None if step is None else _read_c(state, step),
                bottle_rolls=0.0 if step is None else _done_before(plan, step, batch),
                bottles=bottles,
                edge=edges[-1] if edges else "",
                seen=tuple(seen(each.look, in_words(each.text)) for each in noted),
                base=() if densities is None else densities.base,
                edge_print=() if densities is None else densities.edge,
                searched=" ".join(searched_text(each.look, in_words(each.text)) for each in noted),
            )
        )
    return tuple(found)


def _used(bottle: Bottle, shelf: ShelfState) -> UsedBottle:
    known = shelf.bottles.get(bottle.shelf_id or "")
    kit = None if known is None else shelf.kit_of(known).name
    return UsedBottle(bottle.solution, bottle.label, bottle.shelf_id, kit)


def _read_c(state: State, step: PlannedStep) -> float | None:
    """The developer as last read before its clock began."""
    t0 = state.clocks[step.id].t0
    read = [r.temperature_c for r in state.readings if r.of == step.solution and r.at <= t0]
    return read[-1] if read else None


def _done_before(plan: Plan, step: PlannedStep, batch: int) -> float:
    """Rolls of 135-36 through the developer's bottle before this fill."""
    bottle = bottle_of(plan.setup, step.solution or "")
    earlier = [roll for each in plan.batches if each.number < batch for roll in each.rolls]
    done = roll_equivalents(plan.setup.rolls[roll].format for roll in earlier)
    return done + (0.0 if bottle is None else bottle.used_rolls)


def _in(part: str, whole: str) -> bool:
    return part.casefold() in whole.casefold()
