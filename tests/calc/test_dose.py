"""The running dose: paths, the fitted cooling, the end and what moves it."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.developer_time import TimeTable, Use, developer_time, table_seconds
from wetside.domain.calc.running_dose import (
    Reading,
    TemperaturePath,
    dose,
    end_of_dose,
    fit_cooling,
    left_table_at_s,
    moves_far,
    temperature_at,
    uncertainty_s,
)
from wetside.errors import Refused
from wetside.present.message_words import worded

TABLE = TimeTable(((29.4, 765.0), (32.2, 510.0), (35.0, 345.0), (38.9, 210.0)))
SINGLE = TimeTable(((37.8, 195.0),))


def holding(*points: tuple[float, float]) -> TemperaturePath:
    return TemperaturePath(tuple(Reading(at, temperature) for at, temperature in points), None, None)


def cooling(rate: float, surroundings: float, *points: tuple[float, float]) -> TemperaturePath:
    return TemperaturePath(tuple(Reading(at, temperature) for at, temperature in points), surroundings, rate)


temperatures = st.floats(29.4, 38.9)
factors = st.floats(0.7, 2.5)


@st.composite
def paths(draw: st.DrawFn) -> TemperaturePath:
    """One to five readings inside the table, with or without a tail, which may leave it."""
    instants = sorted(draw(st.sets(st.integers(-60, 600), min_size=1, max_size=5)))
    readings = tuple(Reading(float(at), draw(temperatures)) for at in instants)
    if draw(st.booleans()):
        return TemperaturePath(readings, draw(st.floats(15.0, 45.0)), draw(st.floats(1e-5, 1e-2)))
    return TemperaturePath(readings, None, None)


# --- the path


def test_the_temperature_is_held_before_the_first_reading_and_interpolated_between_readings() -> None:
    path = holding((60.0, 38.0), (120.0, 37.0))
    assert [temperature_at(path, at) for at in (0.0, 60.0, 90.0, 120.0, 500.0)] == [38.0, 38.0, 37.5, 37.0, 37.0]


def test_after_the_last_reading_the_bath_cools_only_if_rate_and_surroundings_are_known() -> None:
    path = cooling(1e-3, 20.0, (0.0, 38.0))
    assert temperature_at(path, 500.0) == pytest.approx(20.0 + 18.0 * math.exp(-0.5))
    half_known = TemperaturePath(path.readings, 20.0, None)
    assert temperature_at(half_known, 500.0) == 38.0
    assert temperature_at(TemperaturePath(path.readings, None, 1e-3), 500.0) == 38.0


@pytest.mark.parametrize(
    "readings",
    [(), (Reading(10.0, 38.0), Reading(10.0, 37.0)), (Reading(20.0, 38.0), Reading(10.0, 37.0))],
)
def test_readings_out_of_order_are_refused(readings: tuple[Reading, ...]) -> None:
    with pytest.raises(ValueError, match="order of time"):
        TemperaturePath(readings, None, None)


# --- the dose


@given(temperatures, factors)
def test_at_a_constant_temperature_the_end_is_the_time_of_the_table(temperature: float, factor: float) -> None:
    expected = factor * table_seconds(TABLE, temperature)
    assert end_of_dose(TABLE, factor, holding((0.0, temperature))) == pytest.approx(expected, abs=1e-6)
    in_a_bath = cooling(1e-3, temperature, (0.0, temperature))
    assert end_of_dose(TABLE, factor, in_a_bath) == pytest.approx(expected, abs=1e-6)


@given(paths(), factors)
def test_the_dose_at_its_end_is_one(path: TemperaturePath, factor: float) -> None:
    end_s = end_of_dose(TABLE, factor, path)
    assert dose(TABLE, factor, path, end_s) == pytest.approx(1.0, abs=1e-7)
    assert dose(TABLE, factor, path, 0.0) == 0.0
    assert dose(TABLE, factor, path, end_s / 2.0) < 1.0 < dose(TABLE, factor, path, end_s * 1.5)


@given(paths(), factors)
def test_the_end_lies_between_the_shortest_and_the_longest_time_of_the_table(
    path: TemperaturePath, factor: float
) -> None:
    end_s = end_of_dose(TABLE, factor, path)
    assert factor * 210.0 - 1e-6 <= end_s <= factor * 765.0 + 1e-6


@given(paths(), factors, st.lists(st.floats(0.0, 3.0), min_size=5, max_size=5), st.floats(0.0, 5.0))
def test_higher_readings_never_lengthen_the_time(
    path: TemperaturePath, factor: float, warmer_by: list[float], warmer_round: float
) -> None:
    """Each reading and the surroundings raised by amounts of their own."""
    readings = tuple(
        Reading(r.at_s, min(38.9, r.temperature_c + more))
        for r, more in zip(path.readings, warmer_by, strict=False)
    )
    surroundings = None if path.surroundings_c is None else path.surroundings_c + warmer_round
    warmer = TemperaturePath(readings, surroundings, path.rate_per_s)
    assert end_of_dose(TABLE, factor, warmer) <= end_of_dose(TABLE, factor, path) + 1e-6


@given(paths(), factors, factors)
def test_more_use_never_shortens_the_time(path: TemperaturePath, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert end_of_dose(TABLE, less, path) <= end_of_dose(TABLE, more, path) + 1e-6


@given(paths(), factors, st.floats(0.0, 1.0))
def test_a_further_reading_on_the_path_changes_nothing(path: TemperaturePath, factor: float, share: float) -> None:
    """A further reading that lies on the path, before or between the others or on a holding tail."""
    first, last = path.readings[0], path.readings[-1]
    tail = 300.0 if path.surroundings_c is None else 0.0
    at_s = first.at_s - 60.0 + share * (last.at_s + tail - first.at_s + 60.0)
    if any(abs(reading.at_s - at_s) < 1e-6 for reading in path.readings):
        return
    extra = Reading(at_s, temperature_at(path, at_s))
    readings = tuple(sorted((*path.readings, extra), key=lambda reading: reading.at_s))
    split = TemperaturePath(readings, path.surroundings_c, path.rate_per_s)
    assert end_of_dose(TABLE, factor, split) == pytest.approx(end_of_dose(TABLE, factor, path), abs=1e-6)


def test_further_readings_on_a_cooling_curve_move_the_end_by_less_than_a_tenth_of_a_second() -> None:
    """From there on the path is the chord, not the curve: with a reading each minute the end moves 0.08 s."""
    whole = cooling(1.0 / 1500.0, 22.0, (0.0, 38.5))
    readings = tuple(Reading(60.0 * minute, temperature_at(whole, 60.0 * minute)) for minute in range(5))
    split = TemperaturePath(readings, 22.0, 1.0 / 1500.0)
    assert abs(end_of_dose(TABLE, 1.1, split) - end_of_dose(TABLE, 1.1, whole)) < 0.1


def test_a_long_cooling_curve_agrees_with_a_plain_sum() -> None:
    """Twenty time constants, across a row of the table, against 20,000 midpoints."""
    path = cooling(1.0 / 90.0, 31.0, (0.0, 38.5))
    step = 1800.0 / 20_000
    plain = sum(step / table_seconds(TABLE, temperature_at(path, step * (i + 0.5))) for i in range(20_000))
    assert dose(TABLE, 1.0, path, 1800.0) == pytest.approx(plain, rel=1e-8)


def test_half_the_dose_at_each_of_two_temperatures_takes_half_of_each_time() -> None:
    """By hand: half the work at 38.9 °C (105 s), a jump in 1 ms, the other half at 35.0 °C (172.5 s)."""
    path = holding((0.0, 38.9), (105.0, 38.9), (105.001, 35.0))
    assert end_of_dose(TABLE, 1.0, path) == pytest.approx(277.5, abs=0.002)


@pytest.mark.parametrize("temperature", [29.2, 39.1])
def test_a_reading_outside_the_table_is_refused_with_its_range(temperature: float) -> None:
    path = holding((0.0, 38.0), (90.0, temperature))
    says = r"at 1:30 lies outside the table, which serves 29\.4 to 38\.9 °C"
    with pytest.raises(Refused, match=says), worded():
        dose(TABLE, 1.0, path, 10.0)
    with pytest.raises(Refused, match=says), worded():
        end_of_dose(TABLE, 1.0, path)
    with pytest.raises(Refused, match=says), worded():
        uncertainty_s(TABLE, 1.0, path, 0.2)


# --- leaving the table


def test_a_forecast_that_leaves_the_table_goes_on_at_the_rate_of_its_edge_and_says_when_it_left() -> None:
    path = cooling(1.0 / 300.0, 15.0, (0.0, 30.0))
    end_s = end_of_dose(TABLE, 1.0, path)
    left_s = left_table_at_s(TABLE, path, end_s)
    assert left_s is not None
    assert left_s == pytest.approx(300.0 * math.log(15.0 / (29.4 - 0.15 - 15.0)))
    assert (dose(TABLE, 1.0, path, 700.0) - dose(TABLE, 1.0, path, 600.0)) == pytest.approx(100.0 / 765.0)
    assert left_table_at_s(TABLE, path, left_s - 0.01) is None


def test_a_forecast_that_warms_out_of_the_table_goes_on_at_the_rate_of_its_edge() -> None:
    path = cooling(1.0 / 100.0, 45.0, (0.0, 38.0))
    end_s = end_of_dose(TABLE, 1.0, path)
    assert 210.0 < end_s < table_seconds(TABLE, 38.0)
    left_s = left_table_at_s(TABLE, path, end_s)
    assert left_s == pytest.approx(100.0 * math.log(7.0 / (45.0 - 38.9 - 0.15)))


def test_a_forecast_within_the_table_never_leaves_it() -> None:
    assert left_table_at_s(TABLE, cooling(1.0 / 300.0, 33.0, (0.0, 38.0)), 1e5) is None
    assert left_table_at_s(TABLE, holding((0.0, 38.0)), 1e5) is None


def test_a_table_of_one_row_gives_its_one_time() -> None:
    path = cooling(1.0 / 1500.0, 22.0, (0.0, 37.8))
    assert end_of_dose(SINGLE, 1.1, path) == pytest.approx(1.1 * 195.0)
    assert left_table_at_s(SINGLE, path, 195.0) == pytest.approx(1500.0 * math.log(15.8 / 15.65))
    assert uncertainty_s(SINGLE, 1.1, path, 0.2) is None


# --- the thermometer


def test_at_a_constant_temperature_the_uncertainty_is_that_of_the_plan() -> None:
    time = developer_time(
        TABLE,
        temperature_c=37.0,
        target_c=38.9,
        use=Use("linear", 0.02),
        rolls_per_litre_before=5.0,
        push=(),
        push_stops=0.0,
        thermometer_error_c=0.3,
    )
    found = uncertainty_s(TABLE, 1.1, holding((0.0, 37.0)), 0.3)
    assert found is not None
    assert found == pytest.approx(time.thermometer_s)


def test_the_uncertainty_is_the_effect_of_a_shifted_thermometer() -> None:
    """Against the end of the path shifted up and down by a small error, surroundings included."""
    points, error = ((0.0, 38.2), (70.0, 36.1), (150.0, 34.0)), 0.01
    ends = [
        end_of_dose(TABLE, 1.2, cooling(1e-3, 22.0 + by, *((at, t + by) for at, t in points)))
        for by in (-error, error)
    ]
    found = uncertainty_s(TABLE, 1.2, cooling(1e-3, 22.0, *points), error)
    assert found == pytest.approx((ends[0] - ends[1]) / 2.0, rel=0.01)


# --- the fitted cooling


@given(st.floats(1e-5, 1.0 / 61.0), st.floats(15.0, 45.0), st.floats(-20.0, 20.0), st.integers(2, 6))
def test_the_cooling_fit_recovers_an_exact_cooling_curve(
    rate: float, surroundings: float, excess: float, count: int
) -> None:
    readings = tuple(Reading(30.0 * i, surroundings + excess * math.exp(-rate * 30.0 * i)) for i in range(count))
    found = fit_cooling(readings, surroundings)
    if abs(excess) * math.exp(-rate * 30.0 * (count - 1)) < 1.0 - 1e-9:
        assert found is None
    elif abs(excess) > 1.01:
        if found is None:
            assert abs(readings[-1].temperature_c - surroundings) < 1.0 + 1e-9
        else:
            assert found == pytest.approx(rate, rel=1e-6, abs=1e-10)


def test_the_cooling_fit_has_the_least_sum_of_squares() -> None:
    """With thermometer noise: no nearby rate, its best start included, fits better."""
    noise = random.Random(7)
    readings = tuple(
        Reading(60.0 * i, 22.0 + 16.0 * math.exp(-60.0 * i / 1200.0) + noise.uniform(-0.3, 0.3)) for i in range(8)
    )
    found = fit_cooling(readings, 22.0)
    assert found is not None
    assert found == pytest.approx(1.0 / 1200.0, rel=0.1)

    def squares(rate: float) -> float:
        fades = [math.exp(-rate * r.at_s) for r in readings]
        excesses = [r.temperature_c - 22.0 for r in readings]
        start = sum(f * e for f, e in zip(fades, excesses, strict=True)) / sum(f * f for f in fades)
        return sum((e - start * f) ** 2 for f, e in zip(fades, excesses, strict=True))

    assert squares(found) < min(squares(found * 1.00001), squares(found * 0.99999))


@pytest.mark.parametrize(
    "points",
    [
        ((0.0, 38.0),),  # one reading
        ((0.0, 38.0), (10.0, 37.9)),  # too close together
        ((0.0, 38.0), (60.0, 38.0)),  # does not cool
        ((0.0, 38.0), (60.0, 38.4)),  # moves away
        ((0.0, 38.0), (60.0, 25.0)),  # faster than any vessel
        ((0.0, 22.5), (60.0, 22.3)),  # too near to the room
        ((0.0, 38.0), (600.0, 20.0)),  # on both sides of the room
        ((0.0, 38.0), (30.0, 30.0), (4000.0, 37.0)),  # no law at all
    ],
)
def test_readings_that_determine_no_rate_give_none(points: tuple[tuple[float, float], ...]) -> None:
    assert fit_cooling(tuple(Reading(*point) for point in points), 22.0) is None


@given(
    st.lists(st.tuples(st.integers(0, 5000), st.floats(0.0, 60.0)), max_size=6, unique_by=lambda p: p[0]),
    st.floats(0.0, 60.0),
)
def test_any_readings_give_a_sensible_rate_or_none(points: list[tuple[int, float]], surroundings: float) -> None:
    rate = fit_cooling(tuple(Reading(float(at), t) for at, t in sorted(points)), surroundings)
    assert rate is None or 0.0 < rate <= 1.0 / 60.0


# --- the moved end


@pytest.mark.parametrize(
    ("old", "new", "ask"),
    [
        (210.0, 280.0, False),
        (210.0, 280.1, True),
        (210.0, 140.0, False),
        (210.0, 139.9, True),
        (210.0, 210.0, False),
    ],
)
def test_a_move_of_more_than_a_third_has_to_be_confirmed(old: float, new: float, ask: bool) -> None:
    assert moves_far(old, new) is ask
