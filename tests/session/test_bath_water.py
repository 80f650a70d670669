"""The warm bath in words: what is to be drawn adds up as it is read, and makes the bath that is promised."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetside.domain.calc.water import mix
from wetside.domain.planning.bath_water import DRAWN_WITHIN_C, bath_sentence, drawn_water
from wetside.domain.planning.plan import MIXED_WITHIN_C, VolumeUnit
from wetside.domain.planning.setup import Water
from wetside.errors import Refused
from wetside.files.units import volume_ml

UNITS: tuple[VolumeUnit, ...] = ("ml", "US fl oz")


def number(words: str) -> Decimal:
    found = re.match(r"[\d.]+", words or "0")
    assert found is not None
    return Decimal(found[0])


@given(
    st.floats(1_000.0, 40_000.0),
    st.floats(35.0, 90.0),
    st.floats(2.0, 30.0),
    st.floats(0.0, 1.0),
    st.sampled_from(UNITS),
)
def test_what_is_read_adds_up_and_makes_the_bath(
    bath_ml: float, hot_c: float, cold_c: float, share: float, unit: VolumeUnit
) -> None:
    target_c = min(cold_c + share * (hot_c - cold_c), hot_c)
    found = drawn_water(Water(hot_c=hot_c, cold_c=cold_c, bath_ml=bath_ml), target_c, unit)
    assert number(found.hot) + number(found.cold) == number(found.whole)
    parts = tuple(
        (volume_ml(words), tap_c) for words, tap_c in ((found.hot, hot_c), (found.cold, cold_c)) if words
    )
    assert mix(parts).temperature_c == pytest.approx(target_c, abs=DRAWN_WITHIN_C + 1e-6)
    assert volume_ml(found.whole) == pytest.approx(bath_ml, rel=0.05)


def test_rounding_leaves_room_for_the_bucket_and_the_hand() -> None:
    assert DRAWN_WITHIN_C <= MIXED_WITHIN_C / 2


@pytest.mark.parametrize(
    ("bath_ml", "unit", "words"),
    [
        (12_000.0, "ml", "Bath: 8.7 l at 60.0 °C with 3.3 l at 14.0 °C make 12.0 l at 47.3 °C."),
        (3_000.0, "ml", "Bath: 2.18 l at 60.0 °C with 0.82 l at 14.0 °C make 3.00 l at 47.3 °C."),
        (3785.411784 * 3, "US fl oz", "Bath: 2.18 US gal at 60.0 °C with 0.82 US gal at 14.0 °C make 3.00 US gal"),
        (
            29.5735295625 * 64,
            "US fl oz",
            "Bath: 46.5 US fl oz at 60.0 °C with 17.5 US fl oz at 14.0 °C make 64.0 US",
        ),
    ],
)
def test_the_sentence(bath_ml: float, unit: VolumeUnit, words: str) -> None:
    water = Water(hot_c=60.0, cold_c=14.0, bath_ml=bath_ml)
    assert bath_sentence(water, 47.3, "°C", unit).startswith(words)


def test_one_tap_alone() -> None:
    water = Water(hot_c=45.0, cold_c=15.0, bath_ml=10_000.0)
    assert bath_sentence(water, 45.0, "°C", "ml") == "Bath: 10.0 l at 45.0 °C, from one tap alone."
    assert bath_sentence(water, 15.0, "°C", "ml") == "Bath: 10.0 l at 15.0 °C, from one tap alone."
    with pytest.raises(Refused, match="Hotter water than"):
        bath_sentence(water, 46.0, "°C", "ml")
