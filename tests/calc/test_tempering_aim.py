"""Advice on the warm bath: the advised water brings the bottles to their temperature, and how it is worded."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from wetside.domain.calc.tempering import (
    Ranges,
    TemperingBench,
    ThermalBottle,
    Uncertainty,
    default_ua_env_w_per_k,
    default_ua_w_per_k,
    forecast,
    later,
    window_in,
    with_water,
)
from wetside.domain.planning.setup import METRIC
from wetside.domain.planning.warming import HORIZON_S, settles_at_c, starting_bath_c, top_up_ml, warming
from wetside.errors import Refused
from wetside.present.message_words import worded
from wetside.present.tempering_text import answers_in_words

SOFT = default_ua_w_per_k(1000.0, "soft")

FULL = "; if it is full, take so much out first"


def bench_of(bath_c: float, *bottles_c: float, room_loss: float = 1.0) -> TemperingBench:
    names = ("developer", "bleach-fix", "third", "fourth")
    bottles = tuple(ThermalBottle(name, 1000.0, t, SOFT) for name, t in zip(names, bottles_c, strict=False))
    return TemperingBench(bottles, 10_000.0, bath_c, 21.0, room_loss * default_ua_env_w_per_k(10_000.0))


def answers(
    bench: TemperingBench,
    ranges: Ranges,
    hot_c: float = 60.0,
    cold_c: float = 15.0,
    read_in_range: tuple[bool, ...] = (),
) -> tuple[str, ...]:
    """The phrases of a forecast over two hours, as exact as if nothing in it were a guess."""
    exact = Uncertainty((0.0,) * len(bench.bottles))
    found = warming(bench, ranges, hot_c, cold_c, forecast(bench, HORIZON_S), exact)
    return answers_in_words(found, METRIC, read_in_range)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(15.0, 25.0), min_size=1, max_size=3), st.floats(30.0, 42.0), st.floats(0.0, 2.0))
def test_the_starting_bath_brings_the_strictest_bottle_to_its_target(
    bottles_c: list[float], target_c: float, room_loss: float
) -> None:
    bench = bench_of(20.0, *bottles_c, room_loss=room_loss)
    start_c = starting_bath_c(bench, 0, target_c)
    highest_c = max(forecast(replace(bench, bath_c=start_c), 7200.0, 10.0).bottles_c[0])
    assert highest_c == pytest.approx(target_c, abs=0.02)


def test_without_losses_the_starting_bath_follows_from_the_heat_balance() -> None:
    bench = bench_of(20.0, 20.0, 20.0, room_loss=0.0)
    balance_c = (12.0 * 38.0 - 20.0 - 20.0) / 10.0
    assert starting_bath_c(bench, 0, 38.0) == pytest.approx(balance_c, abs=0.02)


def test_bottles_too_warm_ask_for_a_cool_bath() -> None:
    bench = bench_of(20.0, 45.0, room_loss=0.0)
    start_c = starting_bath_c(bench, 0, 38.0)
    settled = later(replace(bench, bath_c=start_c), 4.0 * bench.bottles[0].time_constant_s)
    assert start_c < 38.0
    assert settled.bottles[0].temperature_c == pytest.approx(38.0, abs=0.02)


def test_a_bath_too_small_is_refused() -> None:
    with pytest.raises(Refused, match=r"cannot bring the bottles to 60\.0 °C: take more water"), worded():
        starting_bath_c(replace(bench_of(20.0, 10.0, 10.0), bath_ml=500.0), 0, 60.0)
    with pytest.raises(Refused, match=r"cannot cool the bottles to 5\.0 °C: take more water"), worded():
        starting_bath_c(replace(bench_of(20.0, 40.0, 40.0), bath_ml=500.0), 0, 5.0)


@settings(max_examples=30, deadline=None)
@given(st.floats(30.0, 42.0), st.floats(18.0, 24.0), st.floats(50.0, 90.0))
def test_hot_water_added_now_brings_the_bottle_to_its_target(bath_c: float, bottle_c: float, hot_c: float) -> None:
    bench = bench_of(bath_c, bottle_c)
    added_ml = top_up_ml(bench, 0, 38.9, "hot", hot_c)
    highest_c = max(forecast(with_water(bench, added_ml, hot_c), 7200.0, 10.0).bottles_c[0])
    if added_ml == 0.0:
        assert highest_c >= 38.9
    else:
        assert highest_c == pytest.approx(38.9, abs=0.02)


def test_hotter_water_never_needs_a_larger_volume() -> None:
    amounts = [top_up_ml(bench_of(38.0, 20.0), 0, 38.9, "hot", hot_c) for hot_c in (50.0, 60.0, 75.0, 90.0)]
    assert amounts == sorted(amounts, reverse=True)
    assert amounts[-1] > 0.0


@pytest.mark.parametrize("index", [0, 1])
def test_of_several_bottles_the_chosen_one_settles_on_target(index: int) -> None:
    bench = bench_of(38.0, 16.0, 24.0)
    topped = with_water(bench, top_up_ml(bench, index, 38.0, "hot", 60.0), 60.0)
    assert settles_at_c(topped, index, 38.0) == pytest.approx(38.0, abs=0.01)


def test_hot_water_that_is_not_needed_is_none_and_too_cool_water_is_refused() -> None:
    assert top_up_ml(bench_of(50.0, 30.0), 0, 38.9, "hot", 60.0) == 0.0
    assert top_up_ml(bench_of(30.0, 40.0), 0, 38.9, "hot", 60.0) == 0.0
    with pytest.raises(Refused, match=r"Hotter water than 38\.0 °C is needed"), worded():
        top_up_ml(bench_of(34.0, 20.0), 0, 38.9, "hot", 38.0)
    with pytest.raises(Refused, match="three baths of it"), worded():
        top_up_ml(bench_of(10.0, 10.0), 0, 38.9, "hot", 39.5)


def test_cold_water_keeps_a_bottle_from_growing_too_hot() -> None:
    bench = bench_of(55.0, 25.0)
    added_ml = top_up_ml(bench, 0, 38.9, "cold", 15.0)
    assert max(forecast(with_water(bench, added_ml, 15.0), 7200.0, 10.0).bottles_c[0]) == pytest.approx(
        38.9, abs=0.02
    )
    assert top_up_ml(bench_of(36.0, 20.0), 0, 38.9, "cold", 15.0) == 0.0
    with pytest.raises(Refused, match=r"Colder water than 45\.0 °C is needed"), worded():
        top_up_ml(bench, 0, 38.9, "cold", 45.0)
    with pytest.raises(Refused, match="three baths of it"), worded():
        top_up_ml(bench_of(80.0, 60.0), 0, 38.9, "cold", 38.8)


RANGES = ((38.4, 39.4), (35.0, 40.6))


def test_the_words_for_bottles_that_get_ready_and_then_grow_too_hot() -> None:
    words = answers(bench_of(50.0, 20.0, 20.0), RANGES, hot_c=60.0, cold_c=15.0)
    assert words[0].startswith("developer ready in ")
    assert ", too hot in " in words[0]
    assert words[1].startswith("bleach-fix ready in ")
    assert words[2].startswith("all ready in ")
    assert words[3] == f"once developer is in its range, add 2.1 l from the cold tap to the warm bath{FULL}"


def test_cold_water_advised_for_later_is_right_when_it_is_added() -> None:
    bench, target_c = bench_of(50.0, 20.0, 20.0), 38.9
    now_ml = top_up_ml(bench, 0, target_c, "cold", 15.0)
    enters_s = window_in(forecast(bench, 7200.0), 0, *RANGES[0]).enters_s
    assert enters_s is not None
    then = with_water(later(bench, enters_s), now_ml, 15.0)
    assert settles_at_c(then, 0, target_c) == pytest.approx(target_c, abs=0.5)
    in_the_air = forecast(then, 1200.0).bottles_c[0]
    assert RANGES[0][0] - 0.3 <= min(in_the_air) <= max(in_the_air) <= RANGES[0][1]


def test_the_words_for_bottles_that_stay_too_cold() -> None:
    words = answers(bench_of(42.0, 20.0, 20.0), RANGES, hot_c=60.0)
    assert words[0].startswith("developer not ready within 2 h: it comes to ")
    assert words[0].endswith("not 38.4 °C")
    assert words[2] == "at no time within 2 h are all bottles in range together"
    litres = top_up_ml(bench_of(42.0, 20.0, 20.0), 0, 38.9, "hot", 60.0) / 1000.0
    assert words[3] == f"add {litres:.1f} l from the hot tap to the warm bath{FULL}"


def test_a_bath_much_too_cold_is_to_be_made_anew_instead_of_topped_up() -> None:
    bench = bench_of(21.0, 20.0, 20.0)
    assert top_up_ml(bench, 0, 38.9, "hot", 60.0) > 5_000.0
    anew_c = starting_bath_c(bench, 0, 38.9)
    words = answers(bench, RANGES, hot_c=60.0)
    assert words[3] == f"too cold to top up: make the bath anew, 10.0 l at {anew_c:.1f} °C"
    again = answers(replace(bench, bath_c=anew_c), RANGES, hot_c=60.0)
    assert again[0].startswith("developer ready in ")


def test_a_bottle_that_would_not_stay_ready_while_film_is_loaded_asks_for_water_now() -> None:
    bench = bench_of(38.0, 38.6, 38.6)
    words = answers(bench, RANGES, hot_c=60.0)
    assert words[0].startswith("developer ready now, too cold in ")
    litres = top_up_ml(bench, 0, 38.9, "hot", 60.0)
    assert words[3] == f"add {round(litres, -1):.0f} ml from the hot tap to the warm bath{FULL}"
    topped = answers(with_water(bench, litres, 60.0), RANGES, hot_c=60.0)
    assert len(topped) == 3


def test_the_words_say_why_a_tap_does_not_help() -> None:
    assert "Hotter water than 37.0 °C is needed" in answers(bench_of(30.0, 20.0), RANGES[:1], hot_c=37.0)[-1]


def test_the_words_for_bottles_that_are_ready_now() -> None:
    words = answers(bench_of(39.2, 38.9, 38.9), RANGES, hot_c=60.0, cold_c=15.0)
    assert words[0].startswith("developer ready now, too cold in ")
    assert words[2].startswith("all ready now, held for ")
    assert len(words) == 3


def test_the_minutes_in_the_words_are_those_of_the_forecast() -> None:
    bench = bench_of(50.0, 20.0)
    curve = forecast(bench, 7200.0, 1.0).bottles_c[0]
    enters_s = next(k for k, t in enumerate(curve) if t >= 38.4)
    minutes = -(-enters_s // 60)
    assert answers(bench, RANGES[:1])[0].startswith(f"developer ready in {minutes - 1} to {minutes} min,")


def test_a_bottle_above_its_range_gets_cold_water_instead_of_a_long_wait() -> None:
    bench = bench_of(46.0, 39.6)
    words = answers(bench, RANGES[:1], hot_c=60.0, cold_c=15.0)
    assert "from the cold tap" in words[-1]
    assert "add 10 ml" not in words[-1]


def test_a_bottle_that_has_left_its_range_since_the_reading_is_to_be_read_again() -> None:
    low_c, high_c = RANGES[0]
    bench = bench_of(36.0, low_c - 0.6)
    alone = answers(bench, RANGES[:1], read_in_range=(True,))[0]
    assert alone == f"developer in range when read, by now about {low_c - 0.6:.1f} °C: read it again"
    unread = answers(bench, RANGES[:1], read_in_range=(False,))[0]
    assert "not ready" in unread
    edge = answers(bench_of(46.0, high_c + 0.01), RANGES[:1], read_in_range=(True,))[0]
    assert "by now at its edge" in edge
