"""The developer's time: tables, use, push, and the laws they keep."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.developer_time import (
    TimeTable,
    Use,
    activation_energy_kj_mol,
    clamped_seconds,
    developer_time,
    local_q10,
    push_factor,
    sensitivity_per_k,
    serves,
    table_seconds,
    use_factor,
    warmer_by_s,
)
from wetside.domain.planning.baths import why_this_time
from wetside.domain.planning.setup import METRIC, Units
from wetside.errors import Refused
from wetside.present.message_words import in_words, worded
from wetside.present.wording import minutes_seconds, percent
from wetside.present.wording import temperature as celsius

TABLE = TimeTable(((30.0, 600.0), (35.0, 360.0), (39.0, 210.0)))
SINGLE = TimeTable(((37.8, 195.0),))
NO_USE = Use("none")
NO_PUSH = ()
PUSHES = ((-1.0, 0.8), (1.0, 1.25), (2.0, 1.6))


@st.composite
def tables(draw: st.DrawFn) -> TimeTable:
    """Tables of one to six rows between 15 and 45 °C, 60 s to about an hour."""
    tenths = draw(st.lists(st.integers(150, 450), min_size=1, max_size=6, unique=True))
    seconds = 60.0
    rows: list[tuple[float, float]] = []
    for temperature in sorted(tenths, reverse=True):
        rows.insert(0, (temperature / 10.0, seconds))
        seconds *= draw(st.floats(1.01, 2.2))
    return TimeTable(tuple(rows))


@st.composite
def table_and_two(draw: st.DrawFn) -> tuple[TimeTable, float, float]:
    """A table and two temperatures it serves, the cooler first."""
    table = draw(tables())
    span = st.floats(table.rows[0][0] - table.tolerance_c, table.rows[-1][0] + table.tolerance_c)
    cooler, warmer = sorted((draw(span), draw(span)))
    return table, cooler, warmer


# --- the table


def test_the_rows_of_the_table_give_their_own_times() -> None:
    assert [table_seconds(TABLE, temperature) for temperature, _ in TABLE.rows] == [600.0, 360.0, 210.0]


def test_between_rows_the_logarithm_of_time_is_linear_in_inverse_temperature() -> None:
    cool, warm = 1.0 / (35.0 + 273.15), 1.0 / (39.0 + 273.15)
    middle_c = 2.0 / (cool + warm) - 273.15
    assert table_seconds(TABLE, middle_c) == pytest.approx(math.sqrt(360.0 * 210.0), rel=1e-12)


@pytest.mark.parametrize("outside", [29.84, 39.16, -5.0, 90.0, math.nan, math.inf])
def test_outside_the_table_is_refused_with_its_range(outside: float) -> None:
    with pytest.raises(Refused, match=r"serves 30\.0 to 39\.0 °C"), worded():
        table_seconds(TABLE, outside)
    for ask in (activation_energy_kj_mol, local_q10, sensitivity_per_k):
        with pytest.raises(Refused, match=r"30\.0 to 39\.0 °C"), worded():
            ask(TABLE, outside)


def test_within_the_tolerance_past_an_edge_the_time_of_the_edge_row_is_used() -> None:
    assert table_seconds(TABLE, 29.85) == 600.0
    assert table_seconds(TABLE, 39.15) == 210.0


def test_a_typed_edge_temperature_is_accepted_in_spite_of_rounding() -> None:
    for tenths in range(150, 451):
        table = TimeTable(((tenths / 10.0, 195.0),))
        for hundredths in (10 * tenths - 15, 10 * tenths + 15):
            assert serves(table, hundredths / 100.0)


def test_a_single_row_gives_a_time_for_its_own_temperature_only() -> None:
    assert [table_seconds(SINGLE, t) for t in (37.65, 37.8, 37.95)] == [195.0] * 3
    assert local_q10(SINGLE, 37.8) is None
    assert activation_energy_kj_mol(SINGLE, 37.8) is None
    for outside in (37.64, 37.96):
        with pytest.raises(Refused, match=r"37\.8 ± 0\.15 °C"), worded():
            table_seconds(SINGLE, outside)


def test_clamped_times_never_extrapolate() -> None:
    assert (clamped_seconds(TABLE, 10.0), clamped_seconds(TABLE, 60.0)) == (600.0, 210.0)


@pytest.mark.parametrize(
    "rows",
    [
        (),
        ((38.0, 195.0), (30.0, 480.0)),
        ((30.0, 480.0), (30.0, 400.0)),
        ((30.0, 480.0), (38.0, 480.0)),
        ((30.0, 400.0), (38.0, 480.0)),
        ((30.0, 400.0), (math.nan, 100.0)),
    ],
)
def test_a_table_out_of_order_is_refused(rows: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match="rise"):
        TimeTable(rows)


@given(table_and_two())
def test_a_higher_temperature_never_lengthens_development(case: tuple[TimeTable, float, float]) -> None:
    table, cooler, warmer = case
    if serves(table, cooler) and serves(table, warmer):
        assert table_seconds(table, warmer) <= table_seconds(table, cooler) * (1.0 + 1e-12)


@given(table_and_two())
def test_interpolated_times_stay_between_those_of_the_table(case: tuple[TimeTable, float, float]) -> None:
    table, temperature, _ = case
    seconds = table_seconds(table, temperature)
    assert table.rows[-1][1] * (1 - 1e-12) <= seconds <= table.rows[0][1] * (1 + 1e-12)


@given(table_and_two())
def test_the_slope_equals_a_numerical_derivative_of_the_times(case: tuple[TimeTable, float, float]) -> None:
    """Sensitivity, Q10 and activation energy against a central difference of the times themselves."""
    table, temperature, _ = case
    step = 1e-4
    inside = table.rows[0][0] + step <= temperature <= table.rows[-1][0] - step
    on_row = any(abs(temperature - row_c) <= step for row_c, _ in table.rows)
    if len(table.rows) == 1 or not inside or on_row:
        return
    slope = -(
        math.log(table_seconds(table, temperature + step)) - math.log(table_seconds(table, temperature - step))
    ) / (2.0 * step)
    assert sensitivity_per_k(table, temperature) == pytest.approx(slope, rel=1e-5)
    assert local_q10(table, temperature) == pytest.approx(math.exp(10.0 * slope), rel=1e-3)


def test_at_an_inner_row_the_slope_is_that_of_the_cooler_side() -> None:
    assert activation_energy_kj_mol(TABLE, 35.0) == activation_energy_kj_mol(TABLE, 34.0)
    assert activation_energy_kj_mol(TABLE, 35.0) != activation_energy_kj_mol(TABLE, 36.0)
    assert activation_energy_kj_mol(TABLE, 30.0) == pytest.approx(activation_energy_kj_mol(TABLE, 31.0))


# --- use


@pytest.mark.parametrize(
    ("rule", "rolls", "expected"),
    [
        (NO_USE, 20.0, 1.0),
        (Use("linear", 0.02), 0.0, 1.0),
        (Use("linear", 0.02), 8.0, 1.16),
        (Use("compound", 0.02), 8.0, 1.02**8),
        (Use("compound", 0.02), 0.5, 1.02**0.5),
        (Use("steps", rows=((4.0, 1.07), (8.0, 1.15))), 3.9, 1.0),
        (Use("steps", rows=((4.0, 1.07), (8.0, 1.15))), 4.0, 1.07),
        (Use("steps", rows=((4.0, 1.07), (8.0, 1.15))), 7.9, 1.07),
        (Use("steps", rows=((4.0, 1.07), (8.0, 1.15))), 30.0, 1.15),
    ],
)
def test_the_factor_of_use_follows_each_rule(rule: Use, rolls: float, expected: float) -> None:
    assert use_factor(rule, rolls) == pytest.approx(expected, rel=1e-12)


rules = st.one_of(
    st.just(NO_USE),
    st.builds(Use, st.sampled_from(("linear", "compound")), st.floats(0.0, 0.2)),
    st.lists(
        st.tuples(st.floats(0.0, 40.0), st.floats(1.0, 3.0)), min_size=1, max_size=5, unique_by=lambda r: r[0]
    )
    .map(lambda rows: tuple(zip(sorted(r for r, _ in rows), sorted(f for _, f in rows), strict=True)))
    .map(lambda rows: Use("steps", rows=rows)),
)


@given(rules, st.floats(0.0, 60.0), st.floats(0.0, 60.0))
def test_more_use_never_shortens_the_time(rule: Use, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert 1.0 <= use_factor(rule, less) <= use_factor(rule, more)


def test_use_beyond_any_developer_is_refused() -> None:
    with pytest.raises(Refused, match="more than any developer"), worded():
        use_factor(Use("compound", 0.02), 1e6)


# --- push


@pytest.mark.parametrize(
    ("stops", "expected"),
    [(-1.0, 0.8), (0.0, 1.0), (1.0, 1.25), (2.0, 1.6), (0.5, math.sqrt(1.25)), (1.5, math.sqrt(1.25 * 1.6))],
)
def test_the_factor_of_push_follows_the_table(stops: float, expected: float) -> None:
    assert push_factor(PUSHES, stops) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("stops", [-1.01, 2.01, math.nan])
def test_a_push_past_the_table_is_refused_with_its_range(stops: float) -> None:
    with pytest.raises(Refused, match="runs from -1 to 2"), worded():
        push_factor(PUSHES, stops)


def test_without_a_push_table_any_push_is_refused() -> None:
    assert push_factor(NO_PUSH, 0.0) == 1.0
    with pytest.raises(Refused, match="no push table"), worded():
        push_factor(NO_PUSH, 1.0)


@given(st.floats(-1.0, 2.0), st.floats(-1.0, 2.0))
def test_more_push_never_shortens_the_time(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert push_factor(PUSHES, less) <= push_factor(PUSHES, more) * (1 + 1e-12)


# --- all of it


def test_the_time_is_the_product_of_its_factors() -> None:
    time = developer_time(
        TABLE,
        temperature_c=38.0,
        target_c=39.0,
        use=Use("linear", 0.02),
        rolls_per_litre_before=4.0,
        push=PUSHES,
        push_stops=1.0,
        thermometer_error_c=0.2,
    )
    assert time.sheet_s == 210.0
    assert time.temperature_factor == pytest.approx(table_seconds(TABLE, 38.0) / 210.0)
    assert time.use_factor == pytest.approx(1.08)
    assert time.push_factor == 1.25
    assert time.seconds == pytest.approx(table_seconds(TABLE, 38.0) * 1.08 * 1.25)
    slope = sensitivity_per_k(TABLE, 38.0)
    assert slope is not None
    assert time.thermometer_s == pytest.approx(time.seconds * slope * 0.2)
    assert not time.shorter_than_sensible
    assert in_words(why_this_time(time, 38.0, 4.0, 1.0), METRIC) == (
        "3:30 on the sheet → 5:24: developer at 38.0 °C +14 %, 4 rolls per litre before +8 %, push of 1 stop +25 %"
    )
    assert "developer at 100.4 °F +14 %, 1 roll per litre" in in_words(
        why_this_time(time, 38.0, 1.0, 2.0), Units("°F")
    )


def test_a_fresh_developer_at_the_sheets_temperature_has_no_reasons_listed() -> None:
    time = developer_time(
        SINGLE,
        temperature_c=37.8,
        target_c=37.8,
        use=NO_USE,
        rolls_per_litre_before=0.0,
        push=NO_PUSH,
        push_stops=0.0,
        thermometer_error_c=0.2,
    )
    assert in_words(why_this_time(time, 37.8, 0.0, 0.0), METRIC) == "3:15, as on the sheet"
    assert time.thermometer_s is None


@given(table_and_two(), st.floats(60.0, 3600.0))
def test_the_effect_of_a_warmer_bath_is_the_difference_of_the_two_times(
    three: tuple[TimeTable, float, float], seconds: float
) -> None:
    """From here to there and back is where it began; a warmer developer never takes longer."""
    table, cooler, warmer = three
    shorter = warmer_by_s(table, cooler, seconds, warmer - cooler)
    if shorter is None:
        assert len(table.rows) == 1
        return
    assert shorter <= 1e-9
    assert seconds + shorter == pytest.approx(
        seconds * table_seconds(table, warmer) / table_seconds(table, cooler)
    )
    longer = warmer_by_s(table, warmer, seconds + shorter, cooler - warmer)
    assert longer == pytest.approx(-shorter, abs=1e-6)


def test_no_effect_is_given_for_temperatures_outside_the_table() -> None:
    assert warmer_by_s(SINGLE, 37.8, 195.0, 0.1) is None
    assert warmer_by_s(TABLE, 39.0, 210.0, 0.5) is None
    assert warmer_by_s(TABLE, 30.0, 600.0, -0.5) is None
    assert warmer_by_s(TABLE, 39.0, 210.0, -0.5) == pytest.approx(table_seconds(TABLE, 38.5) - 210.0)
    with pytest.raises(Refused), worded():
        warmer_by_s(TABLE, 45.0, 210.0, -0.5)


@pytest.mark.parametrize(("shortest", "short"), [(168.0, False), (168.1, True)])
def test_a_time_shorter_than_sensible_is_marked(shortest: float, short: bool) -> None:
    time = developer_time(
        TABLE,
        temperature_c=39.0,
        target_c=35.0,
        use=NO_USE,
        rolls_per_litre_before=0.0,
        push=PUSHES,
        push_stops=-1.0,
        thermometer_error_c=0.0,
        shortest_s=shortest,
    )
    assert time.seconds == pytest.approx(168.0)
    assert time.shorter_than_sensible is short
    assert "pull of 1 stop −20 %" in in_words(why_this_time(time, 39.0, 0.0, -1.0), METRIC)


# --- words


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (210.0, "3:30"),
        (209.5, "3:30"),
        (209.4, "3:29"),
        (0.0, "0:00"),
        (59.6, "1:00"),
        (765.0, "12:45"),
        (3599.6, "1:00:00"),
        (3723.0, "1:02:03"),
        (-5.0, "−0:05"),
        (-0.2, "0:00"),
    ],
)
def test_times_are_written_in_minutes_and_seconds(seconds: float, said: str) -> None:
    assert minutes_seconds(seconds) == said


@pytest.mark.parametrize(
    ("factor", "said"),
    [(1.07, "+7 %"), (0.8, "−20 %"), (1.0, "±0 %"), (1.0004, "±0 %"), (1.004, "+0.4 %"), (3.64, "+264 %")],
)
def test_factors_are_written_in_percent(factor: float, said: str) -> None:
    assert percent(factor) == said


@pytest.mark.parametrize(("temperature", "said"), [(38.44, "38.4 °C"), (-0.04, "0.0 °C"), (-5.0, "−5.0 °C")])
def test_temperatures_are_written_in_degrees_celsius(temperature: float, said: str) -> None:
    assert celsius(temperature) == said
