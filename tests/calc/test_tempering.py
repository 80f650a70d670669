"""The model of bottles in a warm bath: heat is kept, nothing overshoots, forecasts may be split; refusals."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from wetside.domain.calc.tempering import (
    BATH,
    HEAT_J_PER_ML_K,
    Forecast,
    TemperingBench,
    ThermalBottle,
    Window,
    all_in_range_in,
    default_ua_env_w_per_k,
    default_ua_w_per_k,
    forecast,
    later,
    tank_drop_c,
    window_in,
    with_water,
)

SOFT = default_ua_w_per_k(1000.0, "soft")


def bench_of(
    bath_c: float = 43.0,
    *bottles_c: float,
    room_c: float = 21.0,
    open_area_m2: float = 0.0,
    humidity: float = 0.5,
) -> TemperingBench:
    bottles = tuple(ThermalBottle(f"bottle {i}", 1000.0, t, SOFT) for i, t in enumerate(bottles_c or (20.0,)))
    loss = default_ua_env_w_per_k(10_000.0)
    return TemperingBench(bottles, 10_000.0, bath_c, room_c, loss, open_area_m2, humidity)


@st.composite
def benches(draw: st.DrawFn, *, open_too: bool = False) -> TemperingBench:
    count = draw(st.integers(0, 4))
    bottles = tuple(
        ThermalBottle(
            f"bottle {i}",
            draw(st.floats(100.0, 3000.0)),
            draw(st.floats(2.0, 80.0)),
            draw(st.floats(0.0, 20.0)),
        )
        for i in range(count)
    )
    return TemperingBench(
        bottles=bottles,
        bath_ml=draw(st.floats(1000.0, 20_000.0)),
        bath_c=draw(st.floats(2.0, 80.0)),
        room_c=draw(st.floats(5.0, 40.0)),
        ua_env_w_per_k=draw(st.floats(0.0, 10.0)),
        open_area_m2=draw(st.floats(0.0, 0.1)) if open_too else 0.0,
        humidity=draw(st.floats(0.0, 1.0)),
    )


def heat_j(bench: TemperingBench) -> float:
    lumps = [(b.volume_ml, b.temperature_c) for b in bench.bottles] + [(bench.bath_ml, bench.bath_c)]
    return sum(volume * HEAT_J_PER_ML_K * t for volume, t in lumps)


@settings(max_examples=50)
@given(benches(), st.floats(1.0, 7200.0))
def test_bath_and_bottles_without_losses_keep_their_heat(bench: TemperingBench, after_s: float) -> None:
    closed = replace(bench, ua_env_w_per_k=0.0)
    assert heat_j(later(closed, after_s)) == pytest.approx(heat_j(closed), rel=1e-10)


@settings(max_examples=50)
@given(benches())
def test_a_covered_bath_and_its_bottles_stay_between_the_warmest_and_the_coldest(bench: TemperingBench) -> None:
    curves = forecast(bench, 7200.0)
    starts = [b.temperature_c for b in bench.bottles] + [bench.bath_c, bench.room_c]
    everything = [*curves.bath_c, *(t for curve in curves.bottles_c for t in curve)]
    assert min(starts) - 0.01 <= min(everything)
    assert max(everything) <= max(starts) + 0.01


@settings(max_examples=50)
@given(benches(open_too=True), st.floats(30.0, 3000.0), st.floats(30.0, 3000.0))
def test_a_forecast_may_be_made_in_two_parts(bench: TemperingBench, first_s: float, then_s: float) -> None:
    # below freezing the forecast means nothing, and `later` holds it at 0 °C
    assume(min(forecast(bench, first_s + then_s).bath_c) > 0.0)
    at_once, in_two = later(bench, first_s + then_s), later(later(bench, first_s), then_s)
    assert in_two.bath_c == pytest.approx(at_once.bath_c, abs=0.02)
    for one, other in zip(in_two.bottles, at_once.bottles, strict=True):
        assert one.temperature_c == pytest.approx(other.temperature_c, abs=0.02)


def test_an_open_bath_near_freezing_does_not_fall_below_zero() -> None:
    icy = TemperingBench((), 1000.0, 2.0, 5.0, 0.0, open_area_m2=0.1, humidity=0.0)
    assert min(forecast(icy, 3000.0).bath_c) < 0.0
    assert later(icy, 3000.0).bath_c == 0.0


@settings(max_examples=50)
@given(benches(), st.floats(0.01, 0.1))
def test_an_open_bath_in_dry_air_is_never_warmer_than_a_covered_one(bench: TemperingBench, area_m2: float) -> None:
    dry = replace(bench, humidity=0.0)
    covered, opened = forecast(dry, 3600.0, 300.0), forecast(replace(dry, open_area_m2=area_m2), 3600.0, 300.0)
    assert all(a <= b + 0.01 for a, b in zip(opened.bath_c, covered.bath_c, strict=True))


@settings(max_examples=30)
@given(benches(), st.floats(0.1, 20.0))
def test_a_warmer_bath_never_leaves_a_bottle_colder(bench: TemperingBench, warmer_c: float) -> None:
    cool, warm = (
        forecast(bench, 3600.0, 300.0),
        forecast(replace(bench, bath_c=bench.bath_c + warmer_c), 3600.0, 300.0),
    )
    for low, high in zip(cool.bottles_c, warm.bottles_c, strict=True):
        assert all(a <= b + 0.01 for a, b in zip(low, high, strict=True))


def test_a_forecast_has_a_row_for_each_interval_and_ends_on_its_duration() -> None:
    curves = forecast(bench_of(43.0, 20.0, 22.0), 100.0, every_s=30.0)
    assert curves.times_s == (0.0, 30.0, 60.0, 90.0, 100.0)
    assert len(curves.bath_c) == len(curves.times_s)
    assert [len(curve) for curve in curves.bottles_c] == [5, 5]
    assert (curves.bath_c[0], curves.bottles_c[0][0], curves.bottles_c[1][0]) == (43.0, 20.0, 22.0)
    assert forecast(bench_of(), 90.0).times_s == (0.0, 30.0, 60.0, 90.0)


def test_the_interval_of_the_rows_changes_no_temperature() -> None:
    bench = bench_of(45.0, 20.0, open_area_m2=0.06)
    fine, coarse = forecast(bench, 3600.0, 5.0), forecast(bench, 3600.0, 600.0)
    assert fine.bottles_c[0][::120] == pytest.approx(coarse.bottles_c[0], abs=0.005)


# one bottle that warms through 38 to 39 °C, and one that comes from above; a minute apart
RISING = Forecast((0.0, 60.0, 120.0, 180.0), (45.0,) * 4, ((37.0, 38.5, 39.5, 40.0), (41.0, 39.5, 38.5, 37.5)))


def test_a_bottle_enters_and_leaves_its_range_between_two_rows() -> None:
    found = window_in(RISING, 0, 38.0, 39.0)
    assert (found.enters_s, found.leaves_s) == pytest.approx((40.0, 90.0))
    assert found.leaves_upward


def test_a_range_can_be_left_by_cooling() -> None:
    found = window_in(RISING, 1, 38.0, 39.0)
    assert (found.enters_s, found.leaves_s) == pytest.approx((90.0, 150.0))
    assert not found.leaves_upward


def test_a_bottle_may_be_in_range_from_the_start_or_never() -> None:
    assert window_in(RISING, 0, 36.0, 50.0) == Window(0.0, None, False)
    assert window_in(RISING, 0, 50.0, 60.0) == Window(None, None, False)


def test_all_bottles_together_enter_with_the_last_and_leave_with_the_first() -> None:
    found = all_in_range_in(RISING, ((38.0, 39.75), (38.0, 40.0)))
    assert (found.enters_s, found.leaves_s) == pytest.approx((40.0, 150.0))
    assert all_in_range_in(RISING, ((38.0, 39.0), None)) == window_in(RISING, 0, 38.0, 39.0)


def test_two_bottles_may_enter_or_leave_between_the_same_two_rows() -> None:
    found = all_in_range_in(RISING, ((38.0, 39.75), (38.25, 40.25)))
    assert (found.enters_s, found.leaves_s) == pytest.approx((40.0, 135.0))
    assert not found.leaves_upward


def test_without_any_range_nothing_is_ever_ready() -> None:
    with pytest.raises(ValueError, match="no bottle has a range"):
        all_in_range_in(RISING, (None, None))


@settings(max_examples=30)
@given(st.floats(38.0, 60.0), st.floats(15.0, 25.0))
def test_a_bottle_is_at_the_edge_of_its_range_at_the_moments_given(bath_c: float, bottle_c: float) -> None:
    bench = bench_of(bath_c, bottle_c)
    found = window_in(forecast(bench, 7200.0), 0, 36.0, 38.0)
    for instant_s in (found.enters_s, found.leaves_s):
        if instant_s is not None:
            there_c = later(bench, instant_s).bottles[0].temperature_c
            assert min(abs(there_c - 36.0), abs(there_c - 38.0)) < 0.02


def test_water_stirred_in_mixes_by_enthalpy_and_volume() -> None:
    warmed = with_water(bench_of(34.0), 2000.0, 60.0)
    assert warmed.bath_ml == pytest.approx(12_000.0, rel=0.01)
    assert warmed.bath_c == pytest.approx((10.0 * 34.0 + 2.0 * 60.0) / 12.0, abs=0.1)
    assert warmed.bottles == bench_of(34.0).bottles
    assert with_water(bench_of(34.0), 0.0, 60.0) == bench_of(34.0)


def test_default_heat_transfers_grow_with_the_surface() -> None:
    assert default_ua_w_per_k(1000.0, "soft") == pytest.approx(6.3, abs=0.05)
    assert default_ua_w_per_k(8000.0, "glass") == pytest.approx(4.0 * default_ua_w_per_k(1000.0, "glass"))
    assert default_ua_env_w_per_k(80_000.0) == pytest.approx(4.0 * default_ua_env_w_per_k(10_000.0))


@given(st.floats(100.0, 2000.0), st.floats(20.0, 45.0), st.floats(5.0, 40.0), st.floats(0.0, 2000.0))
def test_the_tank_gains_the_heat_that_the_developer_loses(
    ml: float, developer_c: float, tank_c: float, heat: float
) -> None:
    drop_c = tank_drop_c(ml, developer_c, tank_c, heat)
    gained_j = heat * (developer_c - drop_c - tank_c)
    assert ml * HEAT_J_PER_ML_K * drop_c == pytest.approx(gained_j, rel=1e-6, abs=1e-6)


def test_a_bottle_without_transfer_keeps_its_temperature() -> None:
    sealed = replace(bench_of(), bottles=(ThermalBottle("sealed", 1000.0, 20.0, 0.0),))
    assert forecast(sealed, 3600.0).bottles_c[0][-1] == 20.0
    assert sealed.bottles[0].time_constant_s == float("inf")


def test_impossible_values_are_refused() -> None:
    with pytest.raises(ValueError, match="a volume of"):
        ThermalBottle("b", 0.0, 20.0, 6.3)
    with pytest.raises(ValueError, match="water at"):
        ThermalBottle("b", 1000.0, 120.0, 6.3)


@pytest.mark.parametrize("names", [("a", "a"), (BATH,)])
def test_each_bottle_needs_a_name_of_its_own(names: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="name of its own"):
        replace(bench_of(), bottles=tuple(ThermalBottle(name, 1000.0, 20.0, SOFT) for name in names))
