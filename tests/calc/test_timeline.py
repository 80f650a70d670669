"""The order of handwork and the timeline of an evening: laws that always hold."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetside.domain.calc.timeline import (
    TRANSFER_S,
    Block,
    Order,
    RollWork,
    Timeline,
    TimeRow,
    end_to_end,
    shortest_order,
)

NEAR = pytest.approx


def seconds(most: int) -> st.SearchStrategy[float]:
    return st.integers(0, most).map(float)


works = st.lists(
    st.builds(
        RollWork,
        label=st.just("roll"),
        wash_s=st.sampled_from((0.0, 90.0, 180.0)),
        stabilise_s=seconds(200),
        hang_s=st.sampled_from((20.0, 45.0)),
        latest_s=st.none() | seconds(600),
    ),
    max_size=8,
).map(
    lambda made: tuple(RollWork(f"{n}", w.wash_s, w.stabilise_s, w.hang_s, w.latest_s) for n, w in enumerate(made))
)
rooms = st.integers(1, 4)
blocks = st.builds(
    Block,
    row=st.sampled_from(("hands", "tank", "basin", "stabiliser", "hanging")),
    label=st.sampled_from(("load", "developer", "dry")),
    duration_s=seconds(3000),
    dark=st.booleans(),
    hands=st.booleans(),
)


def bars(rows: tuple[TimeRow, ...], name: str) -> list[tuple[float, float]]:
    return sorted((row.start_s, row.end_s) for row in rows if row.row == name)


def most_at_once(spans: list[tuple[float, float]]) -> int:
    """How many spans share an instant; an end and a start at the same moment do not meet."""
    edges = sorted([(start, 1) for start, _ in spans] + [(end, -1) for _, end in spans])
    height = most = 0
    for _, step in edges:
        height += step
        most = max(most, height)
    return most


@settings(max_examples=60)
@given(works, rooms)
def test_hands_and_basin_do_one_thing_at_a_time_and_the_stabiliser_holds_no_more_than_it_has_room_for(
    made: tuple[RollWork, ...], room: int
) -> None:
    order = shortest_order(made, room)
    assert most_at_once(bars(order.rows, "hands")) <= 1
    assert most_at_once(bars(order.rows, "basin")) <= 1
    assert most_at_once(bars(order.rows, "stabiliser")) <= room


@settings(max_examples=60)
@given(works, rooms)
def test_every_roll_is_done_once_and_its_least_times_are_kept(made: tuple[RollWork, ...], room: int) -> None:
    order = shortest_order(made, room)
    assert sorted(order.indices) == list(range(len(made)))
    for work in made:
        mine = [row for row in order.rows if row.label == work.label]
        acts = {act.name: act for act in order.acts if made[act.index].label == work.label}
        assert set(acts) == {"move", "hang"} | ({"rub"} if work.wash_s else set())
        assert acts["move"].end_s - acts["move"].start_s == NEAR(TRANSFER_S)
        assert acts["hang"].end_s - acts["hang"].start_s == NEAR(work.hang_s)
        assert acts["hang"].start_s - acts["move"].end_s >= work.stabilise_s - 1e-6
        if work.wash_s:
            assert acts["rub"].end_s - acts["rub"].start_s == NEAR(work.wash_s)
            assert acts["rub"].end_s <= acts["move"].start_s
        assert acts["hang"].end_s <= order.total_s
        assert all(row.end_s > row.start_s for row in mine)
    late = {n for n, w in enumerate(made) if w.latest_s is not None and in_at(order, n) > w.latest_s}
    assert set(order.late) == late


def in_at(order: Order, index: int) -> float:
    return next(act.end_s for act in order.acts if act.index == index and act.name == "move")


@settings(max_examples=40)
@given(works.filter(lambda made: len(made) <= 6 and not any(w.latest_s is not None for w in made)), rooms)
def test_more_room_in_the_stabiliser_never_takes_longer(made: tuple[RollWork, ...], room: int) -> None:
    assert shortest_order(made, room + 1).total_s <= shortest_order(made, room).total_s + 1e-6


def test_the_next_roll_is_rubbed_while_the_first_is_in_the_stabiliser() -> None:
    order = shortest_order((RollWork("one", 120, 60, 30), RollWork("two", 120, 60, 30)), 2)
    assert order.indices == (0, 1)
    # 120 + 5 + 120 + 5, hang one 30, two is ready at 310, hang 30
    assert order.total_s == 340.0


def test_equal_rolls_keep_the_persons_order() -> None:
    for count in (3, 6):
        alike = tuple(RollWork(f"{n}", 100, 60, 30) for n in range(count))
        assert shortest_order(alike, 2).indices == tuple(range(count))


def test_a_roll_with_the_earliest_latest_time_goes_first() -> None:
    made = (RollWork("one", 120, 60, 30), RollWork("two", 120, 60, 30, latest_s=130.0))
    order = shortest_order(made, 2)
    assert (order.indices, order.late) == ((1, 0), ())
    both = tuple(RollWork(f"{n}", 120, 60, 30, latest_s=130.0) for n in range(2))
    assert len(shortest_order(both, 2).late) == 1


def test_no_rolls_take_no_time() -> None:
    assert shortest_order((), 1) == Order((), 0.0, ())


def test_the_blocks_of_an_evening_follow_each_other_with_the_handwork_between() -> None:
    order = shortest_order((RollWork("one", 120, 60, 30),), 1)
    made = end_to_end(
        (
            Block("hands", "load", 300, dark=True, hands=True),
            Block("tank", "developer", 200, hands=True),
            order,
            Block("hanging", "dry", 7200),
            Block("hands", "put away", 600, hands=True),
        )
    )
    assert made.total_s == 500 + 215 + 7200
    assert made.hands_done_s == 500 + 215 + 600
    assert made.dark_s == 300
    assert TimeRow("tank", "developer", 300, 500) in made.rows
    assert TimeRow("hands", "developer", 300, 500) in made.rows
    assert TimeRow("hanging", "dry", 715, 7915) in made.rows


def test_an_empty_evening_is_empty() -> None:
    assert end_to_end(()) == Timeline(0.0, 0.0, (), 0.0)


@settings(max_examples=60)
@given(st.lists(blocks | st.builds(shortest_order, works, rooms), max_size=6).map(tuple))
def test_an_evening_never_needs_two_pairs_of_hands(stages: tuple[Block | Order, ...]) -> None:
    made = end_to_end(stages)
    assert most_at_once(bars(made.rows, "hands")) <= 1
    assert made.total_s == max((row.end_s for row in made.rows), default=0.0)
    assert made.hands_done_s <= made.total_s
    assert made.dark_s == sum(stage.duration_s for stage in stages if isinstance(stage, Block) and stage.dark)
