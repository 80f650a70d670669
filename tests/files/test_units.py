"""Quantities as people write them: what is read, what is refused in a sentence, and that showing reads back."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from wetside.domain.planning.setup import TemperatureUnit, VolumeUnit
from wetside.errors import Refused
from wetside.files.units import difference_c, duration_s, quoted, temperature_c, volume_ml
from wetside.present.wording import difference as show_difference
from wetside.present.wording import temperature as show_temperature
from wetside.present.wording import volume as show_volume

TEMPERATURE_UNITS: tuple[TemperatureUnit, ...] = ("°C", "°F")
VOLUME_UNITS: tuple[VolumeUnit, ...] = ("ml", "US fl oz")
READERS: tuple[Callable[[str], float], ...] = (
    temperature_c,
    difference_c,
    duration_s,
    volume_ml,
)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("102 °F", 350 / 9),
        ("102F", 350 / 9),
        ("102 ℉", 350 / 9),
        ("38.9 C", 38.9),
        ("38,9 °C", 38.9),
        ("38.9\u00a0°C", 38.9),
        ("38.9\u202f°C", 38.9),
        ("  38.9   deg C ", 38.9),
        ("38.9 ºc", 38.9),
        ("311 K", 37.85),
        ("−5 °C", -5.0),
        ("+20 Celsius", 20.0),
        ("212 F", 100.0),
    ],
)
def test_a_temperature_is_read_in_the_unit_written(text: str, celsius: float) -> None:
    assert temperature_c(text) == pytest.approx(celsius, abs=1e-9)
    assert temperature_c(text, "°F") == temperature_c(text, "°C")


def test_a_bare_temperature_takes_the_preferred_unit_and_is_refused_without_one() -> None:
    assert temperature_c("100", "°F") == pytest.approx(37.7778, abs=1e-4)
    assert temperature_c("38,5°", "°C") == 38.5
    with pytest.raises(Refused, match='"100" has no unit: write it like 102 F'):
        temperature_c("100")


@pytest.mark.parametrize("text", ["-10.1 C", "110.1 C", "13 F", "231 F", "0 K", "999999999999 C"])
def test_a_temperature_no_bath_can_have_is_refused_with_the_range(text: str) -> None:
    with pytest.raises(Refused, match="from -10 to 110 C"):
        temperature_c(text)


def test_a_difference_has_no_offset() -> None:
    assert difference_c("±0.5 °F") == pytest.approx(0.5 / 1.8)
    assert difference_c("+/- 1 C") == 1.0
    assert difference_c("0,5 K") == 0.5
    for text in ("0.5", "-0.5 C", "60 C"):
        with pytest.raises(Refused):
            difference_c(text)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("3:30", 210),
        ("0:05", 5),
        ("90:00", 5_400),
        ("1:05:00", 3_900),
        ("45 s", 45),
        ("6 min", 360),
        ("3,5 min", 210),
        ("2 h", 7_200),
        ("1 h 30 min", 5_400),
        ("3min30s", 210),
        ("90 d", 7_776_000),
        ("6 weeks", 3_628_800),
        ("6 months", 6 * 30.44 * 86_400),
        ("1 Year", 12 * 30.44 * 86_400),
    ],
)
def test_a_length_of_time_is_read(text: str, seconds: float) -> None:
    assert duration_s(text) == pytest.approx(seconds)


def test_a_bare_length_of_time_is_refused() -> None:
    with pytest.raises(Refused, match='"90"'):
        duration_s("90")


@pytest.mark.parametrize(
    "text", ["3:75", "3:5", "1:60:00", "-3:30", "30 min 1 h", "2 h 2 h", "5 fortnights", "21 years"]
)
def test_an_impossible_length_of_time_is_refused(text: str) -> None:
    with pytest.raises(Refused, match="write it like 3:30"):
        duration_s(text)


def test_bare_m_is_refused_as_ambiguous() -> None:
    with pytest.raises(Refused, match="minutes or months"):
        duration_s("3 m")


@pytest.mark.parametrize(
    ("text", "ml"),
    [
        ("1 l", 1_000),
        ("500 ml", 500),
        ("500 mL", 500),
        ("7,5 dl", 750),
        ("33 cl", 330),
        ("0,500 l", 500),
        ("3.785 l", 3_785),
        ("20 US fl oz", 591.47059125),
        ("1 us gal", 3_785.411784),
        ("20 imp fl oz", 568.26125),
    ],
)
def test_a_volume_is_read(text: str, ml: float) -> None:
    assert volume_ml(text) == pytest.approx(ml, rel=1e-12)


def test_an_ounce_without_its_country_is_refused_naming_both() -> None:
    with pytest.raises(Refused, match=r"20 US fl oz \(591 ml\) or 20 imp fl oz \(568 ml\)"):
        volume_ml("20 fl oz")
    with pytest.raises(Refused, match=r"1 US gal \(3785 ml\) or 1 imp gal \(4546 ml\)"):
        volume_ml("1 gal")


def test_a_bare_volume_takes_the_preferred_unit_and_is_refused_without_one() -> None:
    assert volume_ml("500", "ml") == 500.0
    assert volume_ml("20", "US fl oz") == pytest.approx(591.47059125)
    with pytest.raises(Refused, match='"500" is not a volume'):
        volume_ml("500")


@pytest.mark.parametrize("read", [volume_ml, duration_s])
def test_a_comma_that_may_separate_thousands_is_refused_naming_both_meanings(read: Callable[[str], float]) -> None:
    with pytest.raises(Refused, match=r"could mean 1\.500 or 1500"):
        read("1,500 whatever")


def test_a_volume_too_large_is_refused_with_the_limit() -> None:
    with pytest.raises(Refused, match="more than 1000 l"):
        volume_ml("1001 l")


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "nan",
        "inf C",
        "nan ml",
        "1e3 ml",
        "1_0 ml",
        "0x10 ml",
        "1/2 l",
        "½ l",
        "١٢ ml",
        "１２ ml",
        "² ml",
        "12\nml",
        "12\x00ml",
        "12\u202eml",
        "12\u2003ml",
        "1.234,5 ml",
        "--1 C",
        "1 2 ml",
        "9**9**9 ml",
        "5 metre*gram",
        "[red]5[/red] ml",
        "5 " + "m" * 100_000,
    ],
)
def test_unreadable_quantities_are_refused_in_one_short_printable_sentence(
    read: Callable[[str], float], text: str
) -> None:
    with pytest.raises(Refused) as refusal:
        read(text)
    sentence = str(refusal.value)
    assert sentence.isprintable()
    assert len(sentence) < 200
    assert sentence.endswith(".")


@given(st.text(max_size=80) | st.text("0123456789.,:+-± °CFKUSadfghilmnosz", max_size=12))
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in READERS:
        try:
            value = read(text)
        except Refused:
            continue
        assert -10.0 <= value < 1e12


@given(st.floats(-9.9, 109.9), st.sampled_from(TEMPERATURE_UNITS))
def test_a_shown_temperature_reads_back_within_its_last_place(c: float, unit: TemperatureUnit) -> None:
    assert temperature_c(show_temperature(c, unit)) == pytest.approx(c, abs=0.05 + 1e-9)


@given(st.floats(0, 9.9e5), st.sampled_from(VOLUME_UNITS))
@example(948.0, "US fl oz")
def test_a_shown_volume_reads_back_within_its_last_place(ml: float, unit: VolumeUnit) -> None:
    shown = show_volume(ml, unit)
    hundredths = shown.endswith((" l", " US qt"))
    assert volume_ml(shown) == pytest.approx(ml, abs=5.01 if hundredths else 1.5)


@given(st.floats(0, 27), st.sampled_from(TEMPERATURE_UNITS))
def test_a_shown_difference_reads_back_within_its_last_place(c: float, unit: TemperatureUnit) -> None:
    assert difference_c(show_difference(c, unit)) == pytest.approx(c, abs=0.05 + 1e-9)


def test_quantities_are_shown_as_a_person_would_write_them() -> None:
    assert show_temperature(38.888, "°C") == "38.9 °C"
    assert show_temperature(38.888, "°F") == "102.0 °F"
    assert show_temperature(-0.04, "°C") == "0.0 °C"
    assert show_difference(0.5, "°F") == "0.9 °F"
    assert [show_volume(ml, "ml") for ml in (0, 590.4, 999.6, 1_190, 1_500)] == [
        "0 ml",
        "590 ml",
        "1 l",
        "1.19 l",
        "1.5 l",
    ]
    assert show_volume(591.47059125, "US fl oz") == "20 US fl oz"


def test_quoted_text_is_cut_and_shows_what_cannot_be_seen() -> None:
    assert quoted("a\x1b[31mb\u202e") == "a?[31mb?"
    assert quoted("x" * 41) == "x" * 40 + "..."


def test_the_unit_library_is_loaded_for_the_first_unit_that_is_not_a_base_unit() -> None:
    program = (
        "import sys; from wetside.files.units import *; temperature_c('38.9 C'); duration_s('3:30'); "
        "duration_s('45 s'); volume_ml('500 ml'); difference_c('0.5 C'); assert 'pint' not in sys.modules; "
        "assert volume_ml('1 US gal') > volume_ml('1 l'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1.000 ml", "could mean 1 ml or 1000 ml"),
        ("1.500 ml", "could mean 1.5 ml or 1500 ml"),
        ("500 cc", "write 500 ml if you mean cubic centimetres"),
        ("1.7", "could be 1.7 l or 1.7 ml: write which"),
        ("2", "could be 2 l or 2 ml: write which"),
    ],
)
def test_a_volume_with_two_meanings_is_asked_about(text: str, says: str) -> None:
    with pytest.raises(Refused, match=re.escape(says)):
        volume_ml(text, "ml")


def test_unambiguous_volume_is_read() -> None:
    assert volume_ml("1.000 l") == 1000.0
    assert volume_ml("0.500 l") == 500.0
    assert volume_ml("500", "ml") == 500.0
    assert volume_ml("0", "ml") == 0.0
    assert volume_ml("10", "ml", drops=True) == 10.0
    assert volume_ml("12.5 ml") == 12.5
