"""The temperature plot: its size, its scale around what is wanted, and what stands where."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.present.temperature_plot import LEAST_HEIGHT, LEAST_WIDTH, PlotLine, plot

RISING = tuple((60.0 * minute, 20.0 + 0.5 * minute) for minute in range(41))
DEVELOPER = PlotLine("Developer", RISING, ((600.0, 25.0), (1800.0, 35.0)), (37.8, 39.0))
BATH = PlotLine("Warm bath", tuple((60.0 * minute, 39.2) for minute in range(41)), ((1800.0, 39.2),))


def rows_of(drawn: tuple[str, ...]) -> list[str]:
    """The rows of the picture without the times and the legend."""
    return list(drawn[:-2])


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize(("width", "height"), [(57, 8), (30, 6), (100, 20)])
def test_the_plot_fills_exactly_its_size(width: int, height: int, ascii_only: bool) -> None:
    drawn = plot((DEVELOPER, BATH), 1800.0, width, height, ascii_only)
    assert len(drawn) == height
    assert max(map(len, drawn)) <= width


def test_the_plot_can_be_drawn_in_ascii_and_in_fahrenheit() -> None:
    drawn = plot((DEVELOPER, BATH), 1800.0, 57, 8, ascii_only=True, unit="°F")
    assert all(line.isascii() for line in drawn)
    assert "= 100.0 to 102.2 F" in drawn[-1]


def test_a_curve_crosses_into_the_shaded_row_when_it_enters_its_range() -> None:
    """37.8 °C is reached after 35.6 min of 40; the shaded row is exactly 37.8 to 39.0 °C."""
    drawn = rows_of(plot((DEVELOPER,), 0.0, 86, 12))
    shaded = next(row for row in drawn if "░" in row)
    columns = [number - 6 for number, sign in enumerate(shaded) if sign in "▀▄D"]
    assert columns[0] == pytest.approx(80 * 35.6 / 40.0, abs=1)
    assert shaded.startswith(" 38.4")


def test_readings_outside_the_picture_are_marked_at_its_edge() -> None:
    cold = PlotLine("Developer", RISING, ((600.0, 20.0), (700.0, 60.0)), (37.8, 39.0))
    drawn = rows_of(plot((cold,), 1800.0, 86, 8))
    assert "↓" in drawn[-1]
    assert "↑" in drawn[0]


def test_readings_are_drawn_at_their_time_and_temperature() -> None:
    drawn = rows_of(plot((DEVELOPER, BATH), 1200.0, 86, 16))
    row = next(row for row in drawn if "●" in row)
    assert float(row[:5]) == pytest.approx(35.0, abs=0.6)
    assert row.index("●") - 6 == pytest.approx(80 * 30 / 40.0, abs=1)
    assert "○" in next(row for row in drawn if abs(float(row[:5]) - 39.2) <= 0.61)


def test_now_is_marked_in_every_empty_row_and_named_below() -> None:
    drawn = plot((DEVELOPER,), 900.0, 86, 8)
    column = drawn[-2].index("now")
    assert [row[column] for row in rows_of(drawn)] == ["│"] * 6
    assert "in 10 min" in drawn[-2]
    assert "−10 min" in drawn[-2]


def test_two_curves_with_one_initial_get_two_letters() -> None:
    drawn = plot((DEVELOPER, PlotLine("Dye bath", RISING)), 900.0, 70, 8)
    assert "D Developer" in drawn[-1]
    assert "Y Dye bath" in drawn[-1]


def test_the_plot_of_a_bottle_that_has_to_cool_shows_what_is_above_its_range() -> None:
    falling = PlotLine("Developer", tuple((60.0 * m, 44.0 - 0.15 * m) for m in range(41)), (), (37.8, 39.0))
    drawn = rows_of(plot((falling,), 0.0, 86, 10))
    assert [row for row in drawn if "▀" in row or "▄" in row]
    assert next(number for number, row in enumerate(drawn) if "░" in row) > len(drawn) // 2


@pytest.mark.parametrize(("width", "height"), [(LEAST_WIDTH - 1, 8), (57, LEAST_HEIGHT - 1)])
def test_a_plot_without_enough_room_is_empty(width: int, height: int) -> None:
    with pytest.raises(ValueError, match="needs at least"):
        plot((DEVELOPER,), 0.0, width, height)


def test_a_curve_of_one_point_cannot_be_drawn() -> None:
    with pytest.raises(ValueError, match="two points"):
        plot((PlotLine("Developer", RISING[:1]),), 0.0, 57, 8)


@given(
    values=st.lists(st.floats(0, 100), min_size=2, max_size=30),
    low=st.floats(0, 90),
    wide=st.floats(0, 10),
    now=st.floats(-1000, 5000),
    size=st.tuples(st.integers(LEAST_WIDTH, 120), st.integers(LEAST_HEIGHT, 30)),
)
def test_any_curve_fits_the_plot(
    values: list[float], low: float, wide: float, now: float, size: tuple[int, int]
) -> None:
    points = tuple((60.0 * number, value) for number, value in enumerate(values))
    line = PlotLine("Developer", points, points, (low, low + wide))
    drawn = plot((line,), now, *size)
    assert len(drawn) == size[1]
    assert max(map(len, drawn)) <= size[0]
