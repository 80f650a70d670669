"""The drawn timeline: it fits its width, shows start and finish, and leaves out no work."""

from __future__ import annotations

from datetime import datetime, timedelta
from string import ascii_letters
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from wetside.domain.calc.timeline import Block, RollWork, Timeline, end_to_end, shortest_order
from wetside.present.timeline_chart import chart

HANDWORK = shortest_order(
    (RollWork("night bus", 150, 60, 40), RollWork("harbour", 150, 60, 40), RollWork("plain", 0, 60, 40)), 2
)
EVENING = end_to_end(
    (
        Block("hands", "gear", 600, hands=True),
        Block("basin", "temper", 1500),
        Block("hands", "load", 480, dark=True, hands=True),
        Block("tank", "developer", 225, hands=True),
        Block("tank", "bleach-fix", 390, hands=True),
        HANDWORK,
        Block("hanging", "dry", 7200),
        Block("hands", "put away", 900, hands=True),
    )
)

stages = st.lists(
    st.builds(
        Block,
        row=st.sampled_from(("hands", "tank", "basin", "stabiliser", "hanging")),
        label=st.text(st.sampled_from("aé夜行バス한 \u0301"), min_size=1, max_size=30),
        duration_s=st.floats(0, 9000),
        dark=st.booleans(),
        hands=st.booleans(),
    ),
    max_size=12,
).map(lambda made: end_to_end(tuple(made)))


def line_of(lines: tuple[str, ...], name: str) -> str:
    return next(line for line in lines if line.startswith(name))


@pytest.mark.parametrize("width", [60, 78])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_row_is_drawn_within_the_width(width: int, ascii_only: bool) -> None:
    lines = chart(EVENING, width, ascii_only=ascii_only)
    assert all(len(line) <= width for line in lines)
    assert [name for name in ("hands", "tank", "basin", "jar", "hanging") if line_of(lines, name)]
    if ascii_only:
        assert all(line.isascii() for line in lines)


def test_a_letter_marks_where_each_piece_of_work_begins_and_is_explained() -> None:
    lines = chart(EVENING, 78)
    text = "\n".join(lines)
    for label in ("gear", "temper", "load (▒ in the dark)", "developer", "night bus", "put away", "dry"):
        assert label in text
    hands = line_of(lines, "hands")
    assert hands.index("a") < hands.index("c▒") < hands.index("d─")
    # developing keeps the tank and the hands busy from the same moment
    assert line_of(lines, "tank").index("d") == hands.index("d─")


def test_two_rolls_in_the_stabiliser_at_once_take_two_lines() -> None:
    lines = chart(end_to_end((HANDWORK,)), 78)
    at = next(number for number, line in enumerate(lines) if line.startswith("jar"))
    assert lines[at + 1].startswith(" ")
    assert lines[at + 1].strip()


def test_finish_is_a_time_of_day_when_the_start_is_known() -> None:
    early = chart(EVENING, 78)
    assert early[0].split()[0] == "0:00"
    assert early[-1].startswith("work done after 1:16 · dry after about 3:01")
    late = chart(EVENING, 78, starts_at=datetime(2031, 3, 1, 23, 30))
    assert late[0].split()[0] == "23:30"
    assert late[-1].startswith("work done at 00:46 · dry at about 02:31")
    assert late[-1].endswith("in the dark 0:08")


@pytest.mark.parametrize("day", [(3, 30), (10, 26), (6, 1)])
def test_the_ruler_is_right_across_a_daylight_saving_change(day: tuple[int, int]) -> None:
    """Berlin, by the time zone database: 30 March 2031 has no 02:30, 26 October has it twice."""
    zone = ZoneInfo("Europe/Berlin")
    for minutes in range(0, 180, 20):
        starts_at = datetime(2031, *day, 1, 0, tzinfo=zone) + timedelta(minutes=minutes)
        lines = chart(EVENING, 78, starts_at=starts_at)
        done = datetime.fromtimestamp(starts_at.timestamp() + 76 * 60, zone)
        assert lines[0].split()[-1] == f"{done:%H:%M}"
        assert f"work done at {done:%H:%M}" in lines[-1]
        assert "02:30" not in lines[0] or day != (3, 30)


def test_hanging_time_is_cut_at_the_edge_of_the_chart() -> None:
    assert line_of(chart(EVENING, 78), "hanging").endswith("→")
    assert line_of(chart(EVENING, 78, ascii_only=True), "hanging").endswith(">")


def test_labels_beyond_the_letters_share_one_sign() -> None:
    many = end_to_end(tuple(Block("hands", f"task {number}", 60) for number in range(60)))
    text = "\n".join(chart(many, 78))
    assert "task 51" in text
    assert "task 52" not in text
    assert "+ more work" in text


def test_an_empty_plan_says_so_and_a_width_too_small_is_an_error() -> None:
    assert chart(Timeline(0.0, 0.0, (), 0.0), 60) == ("Nothing is planned yet.",)
    with pytest.raises(ValueError, match="at least 32 cells"):
        chart(EVENING, 31)


@settings(max_examples=80)
@given(stages, st.integers(32, 120), st.none() | st.datetimes(max_value=datetime(2100, 1, 1)))
def test_any_plan_fits_the_chart(made: Timeline, width: int, starts_at: datetime | None) -> None:
    for line in chart(made, width, ascii_only=True, starts_at=starts_at):
        assert line.isascii()
        assert len(line) <= width
    # labels in any script, measured by the terminal library's own table of widths
    for line in chart(made, width, starts_at=starts_at):
        assert cell_len(line) <= width


@settings(max_examples=40)
@given(st.lists(st.floats(1, 3000), min_size=1, max_size=20), st.integers(60, 78))
def test_every_piece_of_work_keeps_its_letter(durations: list[float], width: int) -> None:
    made = end_to_end(tuple(Block("hands", f"task {number}", time) for number, time in enumerate(durations)))
    hands = line_of(chart(made, width), "hands").removeprefix("hands")
    assert "".join(sign for sign in hands if sign.isalpha()) == ascii_letters[: len(durations)]
