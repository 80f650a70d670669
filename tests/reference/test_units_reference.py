"""Units against their definitions and against a general library's own table.

Sources, and how sure each is:
- US gallon = 231 cubic inches exactly: NIST Handbook 44, Appendix C [V2: wording seen in a reprint].
- US fluid ounce = 29.5735295625 ml exactly, Imperial fluid ounce 28.4130625 ml, inch 25.4 mm: NIST SP 811,
  Appendix B; existence seen, digits [M], so the ounces are worked out again below [C].
- °F = 1.8 °C + 32 exactly: NIST SP 811 [M].
- Every unit of ours against pint's own definitions [C].
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pint
import pytest
from tests.shipped import shipped_profile

from wetside.files.units import difference_c, duration_s, temperature_c, volume_ml
from wetside.present.wording import temperature as show_temperature
from wetside.present.wording import temperatures as show_temperatures
from wetside.present.wording import volume as show_volume

INCH_CM = Fraction("2.54")
US_GALLON_ML = 231 * INCH_CM**3


@pytest.fixture(scope="module")
def library() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=False)


def test_us_measures_follow_from_231_cubic_inches() -> None:
    """HB 44 Appendix C [V2]; a quart is a quarter, a pint an eighth, a fluid ounce 1/128 of the gallon [C]."""
    assert float(US_GALLON_ML) == 3_785.411784
    for part, unit in ((1, "US gal"), (4, "US qt"), (8, "US pt"), (128, "US fl oz")):
        assert volume_ml(f"1 {unit}") == pytest.approx(float(US_GALLON_ML / part), rel=1e-14)
    assert volume_ml("1 US fl oz") == pytest.approx(29.5735295625, rel=1e-14)


def test_imperial_measures_follow_from_4_54609_litres() -> None:
    """Imperial gallon 4.54609 l [M]; 160 fluid ounces to it, giving the 28.4130625 ml of SP 811 [M, C]."""
    for part, unit in ((1, "imp gal"), (4, "imp qt"), (8, "imp pt"), (160, "imp fl oz")):
        assert volume_ml(f"1 {unit}") == pytest.approx(float(Fraction("4546.09") / part), rel=1e-14)
    assert volume_ml("1 imp fl oz") == pytest.approx(28.4130625, rel=1e-14)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        ("32", "0"),
        ("212", "100"),
        ("98.6", "37"),
        ("100", "340/9"),
        ("102", "350/9"),
        ("106", "370/9"),
        ("14", "-10"),
    ],
)
def test_fahrenheit_is_exact(fahrenheit: str, celsius: str) -> None:
    """t/°C = (t/°F - 32) / 1.8, worked out in fractions; 98.6 °F = 37 °C is the textbook pair [M, C]."""
    assert (Fraction(fahrenheit) - 32) / Fraction("1.8") == Fraction(celsius)
    assert temperature_c(f"{fahrenheit} °F") == pytest.approx(float(Fraction(celsius)), abs=1e-12)


@pytest.mark.parametrize(
    ("read", "ours", "theirs", "base"),
    [
        (volume_ml, "l", "litre", "millilitre"),
        (volume_ml, "dl", "decilitre", "millilitre"),
        (volume_ml, "cl", "centilitre", "millilitre"),
        (volume_ml, "cm3", "centimetre**3", "millilitre"),
        (volume_ml, "US fl oz", "fluid_ounce", "millilitre"),
        (volume_ml, "US pt", "pint", "millilitre"),
        (volume_ml, "US qt", "quart", "millilitre"),
        (volume_ml, "US gal", "gallon", "millilitre"),
        (volume_ml, "imp fl oz", "imperial_fluid_ounce", "millilitre"),
        (volume_ml, "imp pt", "imperial_pint", "millilitre"),
        (volume_ml, "imp qt", "imperial_quart", "millilitre"),
        (volume_ml, "imp gal", "imperial_gallon", "millilitre"),
        (duration_s, "min", "minute", "second"),
        (duration_s, "h", "hour", "second"),
        (duration_s, "d", "day", "second"),
        (duration_s, "weeks", "week", "second"),
    ],
)
def test_each_unit_equals_the_library(
    library: pint.UnitRegistry[float], read: Callable[[str], float], ours: str, theirs: str, base: str
) -> None:
    """pint's own table, not ours, as the independent side [C]."""
    assert read(f"7.5 {ours}") == pytest.approx(library.Quantity(7.5, theirs).to(base).magnitude, rel=1e-12)


@pytest.mark.parametrize("degrees", [14.5, 32.0, 75.2, 99.95, 102.0, 105.98, 212.0])
def test_temperatures_and_differences_equal_the_library(library: pint.UnitRegistry[float], degrees: float) -> None:
    """pint with offset and delta units [C]; an offset taken for a difference would be wrong by 17.8 °C."""
    assert temperature_c(f"{degrees} F") == pytest.approx(library.Quantity(degrees, "degF").to("degC").magnitude)
    kelvin = library.Quantity(degrees, "degF").to("kelvin").magnitude
    assert temperature_c(f"{kelvin:.6f} K") == pytest.approx(temperature_c(f"{degrees} F"), abs=1e-6)
    difference = degrees / 10
    assert difference_c(f"±{difference:.3f} °F") == pytest.approx(
        library.Quantity(round(difference, 3), "delta_degF").to("delta_degC").magnitude
    )


def test_a_month_is_the_mean_gregorian_month_to_a_hundredth_of_a_day() -> None:
    """400 Gregorian years have 146,097 days [M]: 30.436875 days a month, 30.44 rounded [C]."""
    assert duration_s("1 month") == round(146_097 / 4_800, 2) * 86_400


@pytest.mark.parametrize("c", [24.0, 29.44, 37.778, 38.889, 41.111])
def test_shown_figures_equal_the_library(library: pint.UnitRegistry[float], c: float) -> None:
    expected = library.Quantity(c, "degC").to("degF").magnitude
    assert show_temperature(c, "°F") == f"{expected:.1f} °F"
    ounces = library.Quantity(c * 20, "millilitre").to("fluid_ounce").magnitude
    assert show_volume(c * 20, "US fl oz") == f"{ounces:.1f} US fl oz".replace(".0 ", " ")


def test_a_shown_range_is_never_wider_than_the_true_one_and_a_single_value_is_the_nearest(
    library: pint.UnitRegistry[float],
) -> None:
    """Every hundredth from 20 to 45 °C: edges inward by less than a tenth, a value within half a tenth [C]."""
    for hundredths in range(2000, 4501):
        low_c, high_c = hundredths / 100.0, hundredths / 100.0 + 1.2
        low, high = (library.Quantity(c, "degC").to("degF").magnitude for c in (low_c, high_c))
        lowest, _, highest, _ = show_temperatures((low_c, high_c), "°F").split()
        assert low - 1e-5 <= float(lowest) < low + 0.1
        assert high - 0.1 < float(highest) <= high + 1e-5
        single = show_temperatures((low_c, low_c), "°F")
        assert abs(float(single.split()[0]) - low) < 0.05 + 1e-9
        assert single == show_temperature(low_c, "°F")


def test_the_two_bath_developers_range_begins_at_a_hundred_degrees_fahrenheit() -> None:
    """100 °F is printed as 37.8 °C; the one must not come out as 100.1 °F, nor the other as 37.7 °C."""
    developer = shipped_profile("two-bath").solution("developer")
    assert developer.range_c is not None
    assert show_temperatures(developer.range_c, "°F") == "100.0 to 102.2 °F"
    assert show_temperatures(developer.range_c, "°C") == "37.8 to 39.0 °C"
