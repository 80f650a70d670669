"""The estimated drying time: its laws and its refusals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.water import driving_pressure_kpa, drying_s
from wetside.domain.planning.baths import hanging_figures
from wetside.domain.planning.setup import METRIC, Water
from wetside.errors import Refused
from wetside.present.message_words import in_words, worded

airs = st.tuples(st.floats(5.0, 51.0), st.floats(0.0, 0.95))


@pytest.mark.common_practice
def test_drying_takes_two_hours_in_reference_air() -> None:
    """2 h at 22 °C and 50 %: common practice, no source."""
    assert drying_s(22.0, 0.5) == pytest.approx(7200.0)


@given(airs, st.floats(0.0, 10.0))
def test_warmer_air_of_the_same_humidity_never_dries_slower(air: tuple[float, float], warmer_c: float) -> None:
    temperature_c, humidity = air
    assert drying_s(min(temperature_c + warmer_c, 51.0), humidity) <= drying_s(temperature_c, humidity) * (
        1 + 1e-12
    )


@given(airs, st.floats(0.0, 0.95))
def test_damper_air_never_dries_faster(air: tuple[float, float], other: float) -> None:
    temperature_c, humidity = air
    drier, damper = sorted((humidity, other))
    assert drying_s(temperature_c, drier) <= drying_s(temperature_c, damper) * (1 + 1e-12)


@given(airs)
def test_the_drying_time_is_inversely_proportional_to_the_deficit(air: tuple[float, float]) -> None:
    product = drying_s(*air) * driving_pressure_kpa(*air)
    assert product == pytest.approx(7200.0 * driving_pressure_kpa(22.0, 0.5), rel=1e-12)


@pytest.mark.parametrize("humidity", [-0.01, 1.01, 50.0, float("nan")])
def test_an_impossible_humidity_is_refused(humidity: float) -> None:
    with pytest.raises(ValueError, match="relative humidity"):
        drying_s(22.0, humidity)


def test_air_in_which_film_hardly_dries_is_refused() -> None:
    with pytest.raises(Refused, match="98 % relative humidity film hardly dries"), worded():
        drying_s(22.0, 0.98)


@pytest.mark.parametrize("temperature_c", [4.9, 51.8, float("nan")])
def test_air_too_cold_or_too_hot_for_hanging_film_is_refused(temperature_c: float) -> None:
    with pytest.raises(Refused, match=r"5\.0 to 51\.6 °C"), worded():
        drying_s(temperature_c, 0.5)


def test_the_sentence_says_that_it_is_a_guess() -> None:
    words = in_words(hanging_figures(Water(room_c=22.0, humidity=0.5), None).about, METRIC)
    assert "about 2 h in air of 22.0 °C and 50 %" in words
    assert "a guess" in words
    assert "touch the edge" in words
    assert "about 1 h 05 min" in in_words(hanging_figures(Water(room_c=30.0, humidity=0.3), None).about, METRIC)


@pytest.mark.parametrize(
    ("humidity", "said"),
    [
        (0.55, "The process asks for 2 h; in air of 22.0 °C and 55 % it likely takes about 2 h 15 min, a guess."),
        (0.5, "2 h is the least, and in air of 22.0 °C and 50 % likely enough: the guess is 2 h."),
        (0.3, "2 h is the least, and in air of 22.0 °C and 30 % likely enough: the guess is 1 h 20 min."),
    ],
)
def test_the_words_tell_the_guess_from_the_least_time(humidity: float, said: str) -> None:
    assert in_words(hanging_figures(Water(room_c=22.0, humidity=humidity), 7200.0).about, METRIC).startswith(said)
