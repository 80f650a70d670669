"""The order of the handwork after the tank is open, and the whole evening laid end to end.

One job: one pair of hands, one basin and a stabiliser with room for a few rolls, worked in the order that
finishes soonest; and the rows of the evening with its total and its time in the dark. Seconds count from the
start of the work described. It must not know steps, films or clocks on the wall; drawing is in `chart`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from wetside.errors import Refused
from wetside.frozen import dataclass

EXHAUSTIVE_TO = 6
SAME_S = 1e-9
"""Sums of the same times in another order differ by less than this."""
TRANSFER_S = 5.0
"""Basin to stabiliser, by hand; a guess until the person's own time is known."""

RowName = Literal["hands", "tank", "basin", "stabiliser", "hanging"]
ROW_NAMES: tuple[RowName, ...] = ("hands", "tank", "basin", "stabiliser", "hanging")


@dataclass(frozen=True, slots=True)
class RollWork:
    """One roll's handwork in s: rub off its backing (0 when it has none), stabilise at least, wipe and hang.

    `latest_s`, from the start, is when the roll should be in the stabiliser at the latest: film left long in
    warm water softens at its edges.
    """

    label: str
    wash_s: float
    stabilise_s: float
    hang_s: float
    latest_s: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One bar: what is busy (`name`), from when to when in s, and with what (`label`).

    `dark` if no light may be on; `act` says what the hands do to the roll named (rub, move, hang).
    """

    name: RowName
    start_s: float
    end_s: float
    label: str
    dark: bool = False
    act: str = ""


@dataclass(frozen=True, slots=True)
class Order:
    """Rolls by index in the order they reach the stabiliser, the time until the last one hangs, and every bar.

    `late` holds the indices of rolls that reach the stabiliser after their `latest_s`; it is empty whenever
    some order keeps all of them (up to six rolls).
    """

    indices: tuple[int, ...]
    total_s: float
    rows: tuple[Row, ...]
    late: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Bench:
    """The work so far: hands free at `now_s`, rolls in the stabiliser as (ready_s, index), and what was done.

    `left` are rolls nobody has touched, `basin` is (index, wash_from_s) of one rubbed clean that waits for a
    place. `entered` holds (index, wash_from_s, move_from_s, in_s), `hung` (index, from_s, to_s).
    """

    left: tuple[int, ...]
    now_s: float = 0.0
    late_s: float = 0.0
    basin: tuple[int, float] | None = None
    waiting: tuple[tuple[float, int], ...] = ()
    entered: tuple[tuple[int, float, float, float], ...] = ()
    hung: tuple[tuple[int, float, float], ...] = ()

    @property
    def to_enter(self) -> tuple[int, ...]:
        return self.left if self.basin is None else (self.basin[0], *self.left)

    @property
    def cost(self) -> tuple[float, float]:
        return (self.late_s, self.now_s)

    @property
    def indices(self) -> tuple[int, ...]:
        return tuple(entry[0] for entry in self.entered)


def shortest_order(works: tuple[RollWork, ...], stabiliser_room: int) -> Order:
    """The order of work with the least lateness, and then the earliest end.

    The hands do one thing at a time: rub a roll clean in the basin, put it into the stabiliser, later take it
    out and hang it. The basin holds one roll until it is moved; a roll without a backing goes in straight from
    the tank. Up to six rolls every order is weighed; beyond, each roll is inserted where it costs least.
    Of equal ends the one nearer to the person's own order is preferred.

    Raises Refused for negative times or a stabiliser without room.
    """
    if stabiliser_room < 1:
        raise Refused("The stabiliser must have room for at least one roll.")
    for work in works:
        _check(work)
    table = _Table(works, stabiliser_room)
    best = _inserted(table)
    return _order(works, _searched(table, best) if len(works) <= EXHAUSTIVE_TO else best)


def _check(work: RollWork) -> None:
    times = (work.wash_s, work.stabilise_s, work.hang_s)
    if not all(math.isfinite(time) and time >= 0 for time in times):
        raise Refused(f'Roll "{work.label}": its times of work cannot be negative.')


@dataclass(frozen=True, slots=True)
class _Table:
    """What is given: the work, the stabiliser's room, and the moves the hands can make."""

    works: tuple[RollWork, ...]
    room: int

    def wash(self, bench: _Bench, index: int) -> _Bench:
        return replace(
            bench,
            left=tuple(other for other in bench.left if other != index),
            now_s=bench.now_s + self.works[index].wash_s,
            basin=(index, bench.now_s),
        )

    def move(self, bench: _Bench, index: int) -> _Bench:
        """Into the stabiliser: the roll in the basin, or one straight from the tank."""
        work, in_s = self.works[index], bench.now_s + TRANSFER_S
        wash_from_s = bench.now_s
        if bench.basin is not None and bench.basin[0] == index:
            wash_from_s = bench.basin[1]
            bench = replace(bench, basin=None)
        return replace(
            bench,
            left=tuple(other for other in bench.left if other != index),
            now_s=in_s,
            late_s=bench.late_s + (0.0 if work.latest_s is None else max(0.0, in_s - work.latest_s)),
            waiting=tuple(sorted((*bench.waiting, (in_s + work.stabilise_s, index)))),
            entered=(*bench.entered, (index, wash_from_s, bench.now_s, in_s)),
        )

    def hang(self, bench: _Bench, index: int) -> _Bench:
        ready_s = next(ready for ready, roll in bench.waiting if roll == index)
        from_s = max(bench.now_s, ready_s)
        to_s = from_s + self.works[index].hang_s
        return replace(
            bench,
            now_s=to_s,
            waiting=tuple(pair for pair in bench.waiting if pair[1] != index),
            hung=(*bench.hung, (index, from_s, to_s)),
        )

    def moves(self, bench: _Bench) -> Iterator[_Bench]:
        """Every next move that may lead to the best end; what is left out never ends sooner.

        With room in the stabiliser a roll goes in at once: hanging first, or letting it lie in the basin, saves
        nothing. Without room the hands may rub the next roll clean, or hang one; of rolls that take equally long
        to hang, the first ready.
        """
        backed = [index for index in self._distinct(bench.left) if self.works[index].wash_s > 0]
        if len(bench.waiting) < self.room:
            if bench.basin is not None:
                yield self.move(bench, bench.basin[0])
            for index in self._distinct(bench.left):
                if index not in backed:
                    yield self.move(bench, index)
                elif bench.basin is None:
                    yield self.move(self.wash(bench, index), index)
            return
        if bench.basin is None:
            yield from (self.wash(bench, index) for index in backed)
        seen: set[float] = set()
        for _, index in bench.waiting:
            if self.works[index].hang_s not in seen:
                seen.add(self.works[index].hang_s)
                yield self.hang(bench, index)

    def drained(self, bench: _Bench) -> _Bench:
        """Hang all that is left, first ready first: no other order ends sooner."""
        for _, index in bench.waiting:
            bench = self.hang(bench, index)
        return bench

    def soonest_s(self, bench: _Bench) -> float:
        """No end is sooner: the hands have their work, the last roll its stay, the places all their rolls."""
        entering = [self.works[index] for index in bench.to_enter]
        hang_s = sum(work.hang_s for work in entering)
        waiting_hang_s = sum(self.works[index].hang_s for _, index in bench.waiting)
        by_hands_s = sum(self.works[index].wash_s for index in bench.left) + TRANSFER_S * len(entering)
        by_hands_s += max(hang_s + waiting_hang_s, min(work.stabilise_s + work.hang_s for work in entering))
        # a place takes its next roll only after the hands have hung the one before
        in_places_s = sum(TRANSFER_S + work.stabilise_s + work.hang_s for work in entering)
        in_places_s += sum(max(0.0, ready_s - bench.now_s) for ready_s, _ in bench.waiting) + waiting_hang_s
        return bench.now_s + max(by_hands_s, in_places_s / self.room)

    def _distinct(self, indices: tuple[int, ...]) -> Iterator[int]:
        """Of rolls with the same work, the first."""
        seen: set[tuple[float | None, ...]] = set()
        for index in indices:
            work = self.works[index]
            times = (work.wash_s, work.stabilise_s, work.hang_s, work.latest_s)
            if times not in seen:
                seen.add(times)
                yield index


def _searched(table: _Table, best: _Bench) -> _Bench:
    """Try every move, dropping beginnings that cannot come before `best` or that one already followed covers."""
    followed: dict[tuple[object, ...], list[tuple[float, ...]]] = {}

    def follow(bench: _Bench, best: _Bench) -> _Bench:
        if not bench.to_enter:
            done = table.drained(bench)
            return done if _before(done, best) else best
        if not _promising(bench, table, best):
            return best
        ready_s = {index: max(ready, bench.now_s) for ready, index in bench.waiting}
        inside = tuple(sorted(ready_s))
        standing = (bench.late_s, bench.now_s, *(ready_s[index] for index in inside))
        key = (bench.left, bench.basin and bench.basin[0], inside)
        others = followed.setdefault(key, [])
        if any(all(a <= b for a, b in zip(other, standing, strict=True)) for other in others):
            return best
        others.append(standing)
        for after in table.moves(bench):
            best = follow(after, best)
        return best

    return follow(_Bench(left=tuple(range(len(table.works)))), best)


def _before(one: _Bench, other: _Bench) -> bool:
    """Is `one` better, or as good and nearer to the person's own order?"""
    if abs(one.late_s - other.late_s) > SAME_S:
        return one.late_s < other.late_s
    if abs(one.now_s - other.now_s) > SAME_S:
        return one.now_s < other.now_s
    return one.indices < other.indices


def _promising(bench: _Bench, table: _Table, best: _Bench) -> bool:
    """Could this beginning still come before `best`, at the soonest end one can be sure of?"""
    soonest = replace(bench, now_s=table.soonest_s(bench))
    if _before(replace(soonest, entered=()), replace(best, entered=())):
        return True
    as_good = soonest.late_s <= best.late_s + SAME_S and soonest.now_s <= best.now_s + SAME_S
    return as_good and bench.indices <= best.indices[: len(bench.entered)]


def _inserted(table: _Table) -> _Bench:
    """A good order fast: longest stay first, each roll put where the whole ends soonest."""
    works = table.works
    order: list[int] = []
    best = _Bench(left=())
    for index in sorted(range(len(works)), key=lambda roll: (-works[roll].stabilise_s, roll)):
        trials = [[*order[:place], index, *order[place:]] for place in range(len(order) + 1)]
        benches = [_worked(trial, table) for trial in trials]
        place = min(range(len(trials)), key=lambda number: (benches[number].cost, trials[number]))
        order, best = trials[place], benches[place]
    return best


def _worked(order: list[int], table: _Table) -> _Bench:
    """Bring rolls in as ordered; without room, rub the next one clean, then hang the first ready."""
    bench = _Bench(left=tuple(order))
    for index in order:
        if table.works[index].wash_s > 0:
            bench = table.wash(bench, index)
        if len(bench.waiting) == table.room:
            bench = table.hang(bench, bench.waiting[0][1])
        bench = table.move(bench, index)
    return table.drained(bench)


def _order(works: tuple[RollWork, ...], bench: _Bench) -> Order:
    """Turn finished work into bars; bars of no length are left out."""
    total_s = bench.now_s
    in_s = {index: at for index, _, _, at in bench.entered}
    hung = {index: (from_s, to_s) for index, from_s, to_s in bench.hung}
    rows: list[Row] = []
    for index, wash_from_s, move_from_s, at in bench.entered:
        label, wash_s = works[index].label, works[index].wash_s
        out_s, up_s = hung[index]
        rows += [
            Row("hands", wash_from_s, wash_from_s + wash_s, label, act="rub"),
            Row("hands", move_from_s, at, label, act="move"),
            Row("hands", out_s, up_s, label, act="hang"),
            Row("basin", wash_from_s, at if wash_s > 0 else wash_from_s, label),
            Row("stabiliser", at, out_s, label),
            Row("hanging", up_s, total_s, label),
        ]
    late = tuple(
        index for index, work in enumerate(works) if work.latest_s is not None and in_s[index] > work.latest_s
    )
    return Order(bench.indices, total_s, _sorted(rows), late)


def _sorted(rows: list[Row]) -> tuple[Row, ...]:
    kept = [row for row in rows if row.end_s > row.start_s]
    return tuple(sorted(kept, key=lambda row: (ROW_NAMES.index(row.name), row.start_s, row.end_s)))


@dataclass(frozen=True, slots=True)
class Block:
    """One stretch of the evening in sequence: its row, a label, how long in s, in the dark, by hand.

    A block in another row that keeps the hands busy (`hands`) is shown in the row of the hands too. `begun_s`: how
    long before its turn it began, beside the blocks before it; its own bar starts so much sooner.
    """

    row: RowName
    label: str
    duration_s: float
    dark: bool = False
    hands: bool = False
    begun_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Timeline:
    """The whole evening in s: its length, the time in the dark, the bars, and when the hands are done."""

    total_s: float
    dark_s: float
    rows: tuple[Row, ...]
    hands_done_s: float


def evening(stages: tuple[Block | Order, ...]) -> Timeline:
    """Lay blocks and orders of handwork end to end.

    The row "hanging" runs beside what follows: film that hangs keeps neither hands nor anybody waiting, so a
    hanging block starts where the one before it ended and the next one starts there too.

    Raises Refused for a negative duration.
    """
    at_s = 0.0
    dark_s = 0.0
    rows: list[Row] = []
    for stage in stages:
        match stage:
            case Block():
                if not (math.isfinite(stage.duration_s) and stage.duration_s >= 0):
                    raise Refused(f'"{stage.label}" cannot last {stage.duration_s:g} seconds.')
                end_s = at_s + stage.duration_s
                rows.append(Row(stage.row, max(0.0, at_s - stage.begun_s), end_s, stage.label, stage.dark))
                if stage.hands and stage.row not in ("hands", "hanging"):
                    rows.append(Row("hands", at_s, end_s, stage.label, stage.dark))
                dark_s += stage.duration_s if stage.dark else 0.0
                at_s = at_s if stage.row == "hanging" else end_s
            case Order():
                rows += [replace(row, start_s=at_s + row.start_s, end_s=at_s + row.end_s) for row in stage.rows]
                at_s += stage.total_s
    kept = _sorted(rows)
    return Timeline(
        total_s=max((row.end_s for row in kept), default=0.0),
        dark_s=dark_s,
        rows=kept,
        hands_done_s=max((row.end_s for row in kept if row.name == "hands"), default=0.0),
    )
