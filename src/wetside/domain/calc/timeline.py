"""The shortest order of the handwork after the tank is open, and the evening laid end to end. All times are in s.

Handwork is one pair of hands, one basin and a stabiliser with room for a few rolls. It ends with the last roll
hung.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

_EXHAUSTIVE_TO = 6
_SAME_S = 1e-9
"""Sums of the same times in another order differ by less than this."""
TRANSFER_S = 5.0
"""Basin to stabiliser, by hand (a guess)."""

RowName = Literal["hands", "tank", "basin", "stabiliser", "hanging"]
ROW_NAMES: tuple[RowName, ...] = ("hands", "tank", "basin", "stabiliser", "hanging")


class RollWork(Struct, frozen=True):
    """One roll's handwork in s: rub off its backing (0 without one), stabilise at least, wipe and hang.

    latest_s: when the roll should be in the stabiliser at the latest, as film softens in warm water.
    """

    label: str
    wash_s: float
    stabilise_s: float
    hang_s: float
    latest_s: float | None = None


class TimeRow(Struct, frozen=True):
    """One bar of the chart, in s from the start: `row` is busy with `label`. dark: no light may be on."""

    row: RowName
    label: str
    start_s: float
    end_s: float
    dark: bool = False


class Act(Struct, frozen=True):
    """What the hands do with the roll `index`."""

    name: Literal["rub", "move", "hang"]
    index: int
    start_s: float
    end_s: float


class Order(Struct, frozen=True):
    """Indices of the rolls in the order they reach the stabiliser, the time until the last one hangs, every bar,
    and the acts of the hands by time.

    late: indices of the rolls that reach it after their `latest_s`; empty whenever an order of up to six rolls
    exists that keeps all of them.
    """

    indices: tuple[int, ...]
    total_s: float
    rows: tuple[TimeRow, ...]
    acts: tuple[Act, ...] = ()
    late: tuple[int, ...] = ()


class _WorkState(Struct, frozen=True):
    """The state of the handwork at `now_s`, when the hands are free.

    left: rolls not begun. basin: a roll rubbed clean that waits for a place. waiting: rolls in the stabiliser as
    (ready_s, index). entered: rolls in the order they reached it. acts: what the hands have done.
    """

    left: tuple[int, ...]
    now_s: float = 0.0
    late_s: float = 0.0
    basin: int | None = None
    waiting: tuple[tuple[float, int], ...] = ()
    entered: tuple[int, ...] = ()
    acts: tuple[Act, ...] = ()

    @property
    def to_enter(self) -> tuple[int, ...]:
        return self.left if self.basin is None else (self.basin, *self.left)


def shortest_order(works: tuple[RollWork, ...], stabiliser_room: int) -> Order:
    """The order of work with the least lateness, then the earliest end, then nearest to the person's own order.

    The hands do one thing at a time: rub a roll clean in the basin, put it into the stabiliser, later take it out
    and hang it. The basin holds one roll until it is moved; a roll without a backing goes in straight from the
    tank. Up to six rolls every order is compared; beyond, each roll is inserted where it costs least.
    """
    task = _Task(works, stabiliser_room)
    best = _inserted(task)
    return _order(works, _searched(task, best) if len(works) <= _EXHAUSTIVE_TO else best)


class _Task(Struct, frozen=True):
    """The work, the stabiliser's room, and the moves the hands can make."""

    works: tuple[RollWork, ...]
    room: int

    def wash(self, state: _WorkState, index: int) -> _WorkState:
        washed_s = state.now_s + self.works[index].wash_s
        return replace(
            state,
            left=tuple(other for other in state.left if other != index),
            now_s=washed_s,
            basin=index,
            acts=(*state.acts, Act("rub", index, state.now_s, washed_s)),
        )

    def move(self, state: _WorkState, index: int) -> _WorkState:
        """Into the stabiliser: the roll in the basin, or one straight from the tank."""
        work, in_s = self.works[index], state.now_s + TRANSFER_S
        return replace(
            state,
            left=tuple(other for other in state.left if other != index),
            now_s=in_s,
            late_s=state.late_s + (0.0 if work.latest_s is None else max(0.0, in_s - work.latest_s)),
            basin=None if state.basin == index else state.basin,
            waiting=tuple(sorted((*state.waiting, (in_s + work.stabilise_s, index)))),
            entered=(*state.entered, index),
            acts=(*state.acts, Act("move", index, state.now_s, in_s)),
        )

    def hang(self, state: _WorkState, index: int) -> _WorkState:
        ready_s = next(ready for ready, roll in state.waiting if roll == index)
        from_s = max(state.now_s, ready_s)
        to_s = from_s + self.works[index].hang_s
        return replace(
            state,
            now_s=to_s,
            waiting=tuple(pair for pair in state.waiting if pair[1] != index),
            acts=(*state.acts, Act("hang", index, from_s, to_s)),
        )

    def moves(self, state: _WorkState) -> Iterator[_WorkState]:
        """Every next move that may lead to the best end.

        With room in the stabiliser a roll goes in at once: hanging first, or leaving it in the basin, saves
        nothing. Without room the hands may rub the next roll clean, or hang one; of rolls that take equally long
        to hang, the first ready.
        """
        backed = [index for index in self._distinct(state.left) if self.works[index].wash_s > 0]
        if len(state.waiting) < self.room:
            if state.basin is not None:
                yield self.move(state, state.basin)
            for index in self._distinct(state.left):
                if index not in backed:
                    yield self.move(state, index)
                elif state.basin is None:
                    yield self.move(self.wash(state, index), index)
            return
        if state.basin is None:
            yield from (self.wash(state, index) for index in backed)
        seen: set[float] = set()
        for _, index in state.waiting:
            if self.works[index].hang_s not in seen:
                seen.add(self.works[index].hang_s)
                yield self.hang(state, index)

    def drained(self, state: _WorkState) -> _WorkState:
        """The state after all rolls are hung, first ready first: no other order ends sooner."""
        for _, index in state.waiting:
            state = self.hang(state, index)
        return state

    def soonest_s(self, state: _WorkState) -> float:
        """A lower bound of the end: the work of the hands, the stay of the last roll, the use of the places."""
        entering = [self.works[index] for index in state.to_enter]
        hang_s = sum(work.hang_s for work in entering)
        waiting_hang_s = sum(self.works[index].hang_s for _, index in state.waiting)
        by_hands_s = sum(self.works[index].wash_s for index in state.left) + TRANSFER_S * len(entering)
        by_hands_s += max(hang_s + waiting_hang_s, min(work.stabilise_s + work.hang_s for work in entering))
        # a place is free for its next roll only when the hands have hung the one before
        in_places_s = sum(TRANSFER_S + work.stabilise_s + work.hang_s for work in entering)
        in_places_s += sum(max(0.0, ready_s - state.now_s) for ready_s, _ in state.waiting) + waiting_hang_s
        return state.now_s + max(by_hands_s, in_places_s / self.room)

    def _distinct(self, indices: tuple[int, ...]) -> Iterator[int]:
        """Of rolls with the same work, the first."""
        seen: set[tuple[float | None, ...]] = set()
        for index in indices:
            work = self.works[index]
            times = (work.wash_s, work.stabilise_s, work.hang_s, work.latest_s)
            if times not in seen:
                seen.add(times)
                yield index


def _searched(task: _Task, best: _WorkState) -> _WorkState:
    """The best order by branch and bound; a state no better than one already followed is dropped."""
    followed: dict[tuple[object, ...], list[tuple[float, ...]]] = {}

    def follow(state: _WorkState, best: _WorkState) -> _WorkState:
        if not state.to_enter:
            done = task.drained(state)
            return done if _before(done, best) else best
        if not _promising(state, task, best):
            return best
        ready_s = {index: max(ready, state.now_s) for ready, index in state.waiting}
        inside = tuple(sorted(ready_s))
        standing = (state.late_s, state.now_s, *(ready_s[index] for index in inside))
        key = (state.left, state.basin, inside)
        others = followed.setdefault(key, [])
        if any(all(a <= b for a, b in zip(other, standing, strict=True)) for other in others):
            return best
        others.append(standing)
        for after in task.moves(state):
            best = follow(after, best)
        return best

    return follow(_WorkState(left=tuple(range(len(task.works)))), best)


def _before(one: _WorkState, other: _WorkState) -> bool:
    """Whether `one` is better, or as good and nearer to the person's own order."""
    if abs(one.late_s - other.late_s) > _SAME_S:
        return one.late_s < other.late_s
    if abs(one.now_s - other.now_s) > _SAME_S:
        return one.now_s < other.now_s
    return one.entered < other.entered


def _promising(state: _WorkState, task: _Task, best: _WorkState) -> bool:
    """Whether a state can still lead to a better end than `best`, by its lower bound."""
    soonest = replace(state, now_s=task.soonest_s(state))
    if _before(replace(soonest, entered=()), replace(best, entered=())):
        return True
    as_good = soonest.late_s <= best.late_s + _SAME_S and soonest.now_s <= best.now_s + _SAME_S
    return as_good and state.entered <= best.entered[: len(state.entered)]


def _inserted(task: _Task) -> _WorkState:
    """A good order by insertion: longest stay first, each roll where the whole ends soonest."""
    works = task.works
    order: list[int] = []
    best = _WorkState(left=())
    for index in sorted(range(len(works)), key=lambda roll: (-works[roll].stabilise_s, roll)):
        trials = [[*order[:place], index, *order[place:]] for place in range(len(order) + 1)]
        states = [_worked(trial, task) for trial in trials]
        place = min(range(len(trials)), key=lambda n: (states[n].late_s, states[n].now_s, trials[n]))
        order, best = trials[place], states[place]
    return best


def _worked(order: list[int], task: _Task) -> _WorkState:
    """The work done in this order; without room, the next roll is rubbed clean, then the first ready hung."""
    state = _WorkState(left=tuple(order))
    for index in order:
        if task.works[index].wash_s > 0:
            state = task.wash(state, index)
        if len(state.waiting) == task.room:
            state = task.hang(state, state.waiting[0][1])
        state = task.move(state, index)
    return task.drained(state)


def _order(works: tuple[RollWork, ...], state: _WorkState) -> Order:
    """The finished work as bars."""
    rows = [TimeRow("hands", works[act.index].label, act.start_s, act.end_s) for act in state.acts]
    done = {(act.name, act.index): act for act in state.acts}
    for index in state.entered:
        label, moved, hung = works[index].label, done["move", index], done["hang", index]
        if rubbed := done.get(("rub", index)):
            rows.append(TimeRow("basin", label, rubbed.start_s, moved.end_s))
        rows.append(TimeRow("stabiliser", label, moved.end_s, hung.start_s))
        rows.append(TimeRow("hanging", label, hung.end_s, state.now_s))
    late = tuple(
        index
        for index, work in enumerate(works)
        if work.latest_s is not None and done["move", index].end_s > work.latest_s
    )
    acts = tuple(act for act in state.acts if act.end_s > act.start_s)
    return Order(state.entered, state.now_s, _sorted(rows), acts, late)


def _sorted(rows: list[TimeRow]) -> tuple[TimeRow, ...]:
    kept = [row for row in rows if row.end_s > row.start_s]
    return tuple(sorted(kept, key=lambda row: (ROW_NAMES.index(row.row), row.start_s, row.end_s)))


class Block(Struct, frozen=True):
    """One step in the sequence of the evening.

    hands: it keeps the hands busy, so a block of another row is shown in theirs too. begun_s: how long before its
    turn it began, beside the blocks before it.
    """

    row: RowName
    label: str
    duration_s: float
    dark: bool = False
    hands: bool = False
    begun_s: float = 0.0


class Timeline(Struct, frozen=True):
    """The evening in s: its length, the time in the dark, the bars, and when the hands are done."""

    total_s: float
    dark_s: float
    rows: tuple[TimeRow, ...]
    hands_done_s: float


def end_to_end(*parts: tuple[Block | Order, ...]) -> Timeline:
    """Blocks and orders of handwork laid end to end; what follows a hanging block starts together with it.

    Each part begins when all of the one before is over. The hands are done at the end of the first, before the
    film is dry.
    """
    rows: list[TimeRow] = []
    dark_s = 0.0
    hands_done_s = 0.0
    for number, part in enumerate(parts):
        at_s = max((row.end_s for row in rows), default=0.0)
        for stage in part:
            if isinstance(stage, Order):
                rows += [replace(row, start_s=at_s + row.start_s, end_s=at_s + row.end_s) for row in stage.rows]
                at_s += stage.total_s
                continue
            end_s = at_s + stage.duration_s
            rows.append(TimeRow(stage.row, stage.label, max(0.0, at_s - stage.begun_s), end_s, stage.dark))
            if stage.hands and stage.row not in ("hands", "hanging"):
                rows.append(TimeRow("hands", stage.label, at_s, end_s, stage.dark))
            dark_s += stage.duration_s if stage.dark else 0.0
            at_s = at_s if stage.row == "hanging" else end_s
        if number == 0:
            hands_done_s = max((row.end_s for row in rows if row.row == "hands"), default=0.0)
    kept = _sorted(rows)
    return Timeline(max((row.end_s for row in kept), default=0.0), dark_s, kept, hands_done_s)
