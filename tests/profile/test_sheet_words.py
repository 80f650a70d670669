"""Figures as people write them on a kit's sheet, and what they are in base units."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from wetside.files.profile_forms import Agitation, PushRows, Range, Table, Use
from wetside.files.toml_values import Days, Factor, Fraction, PerRoll, RollsPerLitre, Stops


def read(kind: Any, value: object) -> Any:
    return TypeAdapter(kind).validate_python(value, strict=True)


@pytest.mark.parametrize(
    ("written", "per_litre"),
    [
        ("8 rolls per litre", 8),
        ("16 rolls per 2 litres", 8),
        ("16 rolls / 2 l", 8),
        ("8 rolls/l", 8),
        ("10 films per 600 ml", 16.6667),
        ("1 roll in 500 ml", 2),
        ("8 rolls per US qt", 8.4535),  # 946.352946 ml, exact by definition
        ("12,5 rolls per litre", 12.5),
    ],
)
def test_a_capacity_is_read_as_rolls_in_a_volume(written: str, per_litre: float) -> None:
    assert read(RollsPerLitre, written) == pytest.approx(per_litre, abs=1e-4)


@pytest.mark.parametrize(
    ("written", "factor"),
    [
        *(("x 1.25", 1.25), ("×1.25", 1.25), ("1.25 x", 1.25), ("1,25", 1.25)),
        *(("+25 %", 1.25), ("-20 %", 0.8), (1.25, 1.25)),
    ],
)
def test_factors_are_read_as_written_on_a_sheet(written: object, factor: float) -> None:
    assert read(Factor, written) == pytest.approx(factor)


@pytest.mark.parametrize(
    ("written", "stops"), [("1 stop", 1), ("+2 stops", 2), ("-1 stop", -1), ("0.5 stop", 0.5), (1, 1)]
)
def test_stops_of_push_are_read(written: object, stops: float) -> None:
    assert read(Stops, written) == stops


def test_rows_of_a_table_in_any_order_and_as_text_or_in_brackets() -> None:
    wanted = [(36.0, 240.0), (38.0, 195.0)]
    for written in (
        ["38 °C 3:15", "36 °C 4:00"],
        [["36 °C", "4:00"], ["38 °C", "3:15"]],
        ["38 °C: 3:15", "36 °C, 4 min"],
        ["38C 195 s", ["36 °C", "4:00"]],
    ):
        assert read(Table, written) == wanted


def test_rows_of_a_push_in_any_order() -> None:
    for written in (["2 stops x 1.5", "1 stop x 1.25"], [[2, 1.5], [1, 1.25]], ["+1 stop +25 %", "+2: x 1.5"]):
        assert read(PushRows, written) == [(1.0, 1.25), (2.0, 1.5)]


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [
        ("24 to 41 °C", 24, 41),
        ("24 °C to 41 °C", 24, 41),
        ("24-41 °C", 24, 41),
        ("24–41 C", 24, 41),
        ("38 ± 0.3 °C", 37.7, 38.3),
        ("38 °C ± 0.3 °C", 37.7, 38.3),
        ("38 +/- 0.3 C", 37.7, 38.3),
        ("100 ± 0.5 °F", 37.5, 38.0556),
        ("75 to 105 °F", 23.8889, 40.5556),
    ],
)
def test_temperature_ranges_are_read(written: str, low: float, high: float) -> None:
    assert read(Range, written) == pytest.approx((low, high), abs=1e-3)


@pytest.mark.parametrize(
    ("written", "kind", "per_roll", "rows"),
    [
        ("2 % per roll", "linear", 0.02, []),
        ("2 % per roll of 135-36", "linear", 0.02, []),
        ("+2 % per film, compound", "compound", 0.02, []),
        ("+10 % after 8 rolls per litre", "steps", 0.0, [(8.0, 1.1)]),
        (["x 1.2 after 12 rolls per l", "+10 % after 16 rolls per 2 l"], "steps", 0.0, [(8.0, 1.1), (12.0, 1.2)]),
        ({"kind": "linear", "per_roll": "2 %"}, "linear", 0.02, []),
    ],
)
def test_the_rule_for_used_solution_is_read(
    written: object, kind: str, per_roll: float, rows: list[tuple[float, float]]
) -> None:
    use = read(Use, written)
    assert (use.kind, use.per_roll) == (kind, per_roll)
    assert list(use.rows) == [pytest.approx(want) for want in rows]


@pytest.mark.parametrize(
    ("written", "first", "every", "length"),
    [
        ("30 s, then 10 s every 30 s", 30, 30, 10),
        ("first 30 s then 10 s every 30 s", 30, 30, 10),
        ("10 s every 1 min", 10, 60, 10),
        ("0:30, then 0:05 every 0:30", 30, 30, 5),
    ],
)
def test_agitation_is_read(written: str, first: float, every: float, length: float) -> None:
    agitation = read(Agitation, written)
    assert (agitation.first_s, agitation.every_s, agitation.for_s) == (first, every, length)


def test_lives_and_shares_are_read() -> None:
    assert read(Days, "8 weeks") == 56
    assert read(Fraction, "2 %") == pytest.approx(0.02)
    assert read(PerRoll, "+2 % for each film") == pytest.approx(0.02)


@pytest.mark.parametrize(
    "written", ["8 rolls", "8", "8 rolls per gallon", "8 rolls per bottle", "0 rolls per 0 l"]
)
def test_an_ambiguous_figure_is_refused(written: str) -> None:
    with pytest.raises(ValidationError):
        read(RollsPerLitre, written)
