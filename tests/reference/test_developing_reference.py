"""Developer times against the outside: sheets, manuals and arithmetic of others.

How sure each figure is stands beside it: read in print, seen second-hand, from memory, or computed from stated
inputs. Nothing from memory is a published value.
"""

from __future__ import annotations

import math

import pytest

from wetside.domain.calc.developer_time import (
    TimeTable,
    Use,
    activation_energy_kj_mol,
    developer_time,
    local_q10,
    push_factor,
    sensitivity_per_k,
    table_seconds,
    use_factor,
    warmer_by_s,
)
from wetside.errors import Refused
from wetside.present.message_words import worded


def celsius_of(fahrenheit: float) -> float:
    """By the definition of the Fahrenheit scale."""
    return (fahrenheit - 32.0) / 1.8


def test_developer_time_of_the_standard_process() -> None:
    """3:15 at 37.8 ± 0.15 °C: process manual Z-131, table 4-1, read in print."""
    table = TimeTable(((37.8, 195.0),), tolerance_c=0.15)
    assert [table_seconds(table, temperature) for temperature in (37.65, 37.8, 37.95)] == [195.0] * 3
    for outside in (37.6, 38.0):
        with pytest.raises(Refused, match=r"37\.8 ± 0\.15 °C"), worded():
            table_seconds(table, outside)


@pytest.mark.parametrize(
    ("cool_c", "long_s", "warm_c", "short_s", "energy_kj_mol"),
    [
        (celsius_of(95.0), 345.0, celsius_of(102.0), 210.0, 102.1),  # powder kit; cool row from memory
        (celsius_of(90.0), 510.0, celsius_of(102.0), 210.0, 105.4),  # powder kit; cool row from memory
        (celsius_of(85.0), 765.0, celsius_of(102.0), 210.0, 107.5),  # powder kit; cool row from memory
        (30.0, 480.0, 38.0, 195.0, 88.3),  # liquid kit; from memory
        (38.0, 195.0, 45.0, 120.0, 57.1),  # liquid kit; from memory
    ],
)
def test_activation_energies(
    cool_c: float, long_s: float, warm_c: float, short_s: float, energy_kj_mol: float
) -> None:
    """Computed apart from this program from the same rows: E = R ln(t1/t2) / (1/T1 − 1/T2), R = 8.314462618.

    The powder kit's warm row, 3:30 at 102 °F, was seen second-hand in two copies of its sheet.

    The powder kit's rows are whole °F; cut to a tenth of a °C they give 0.3 to 0.7 kJ/mol less.
    """
    table = TimeTable(((cool_c, long_s), (warm_c, short_s)))
    assert activation_energy_kj_mol(table, warm_c) == pytest.approx(energy_kj_mol, abs=0.06)


@pytest.mark.parametrize(("q10", "energy_kj_mol"), [(2.0, 53.0), (3.1, 88.0), (3.8, 104.0)])
def test_q10_and_activation_energy_agree(q10: float, energy_kj_mol: float) -> None:
    """Pairs computed apart from this program, for ten degrees up to 37.8 °C, to two figures.

    That Q10 of a development lies "generally between 2 and 3" (Sheppard & Mees) was seen second-hand.
    """
    table = TimeTable(((27.8, 195.0 * q10), (37.8, 195.0)))
    assert activation_energy_kj_mol(table, 30.0) == pytest.approx(energy_kj_mol, rel=0.02)
    assert local_q10(table, 32.8) == pytest.approx(q10, rel=0.005)


@pytest.mark.parametrize(
    ("energy_kj_mol", "percent_per_k", "one_k_s", "tolerance_s", "ten_s_in_k"),
    [(57.0, 7.1, 13.8, 2.1, 0.72), (88.0, 11.0, 21.4, 3.2, 0.47), (104.0, 12.9, 25.2, 3.8, 0.40)],
)
def test_sensitivity_at_the_standard_time(
    energy_kj_mol: float, percent_per_k: float, one_k_s: float, tolerance_s: float, ten_s_in_k: float
) -> None:
    """d ln t / dT = E / (R T²) at 37.8 °C and 195 s: computed apart from this program, from the energies above."""

    def arrhenius_s(temperature_c: float) -> float:
        reciprocal = 1.0 / (temperature_c + 273.15) - 1.0 / (37.8 + 273.15)
        return 195.0 * math.exp(energy_kj_mol * 1000.0 / 8.314462618 * reciprocal)

    table = TimeTable(tuple((temperature, arrhenius_s(temperature)) for temperature in (35.0, 40.0)))
    time = developer_time(
        table,
        temperature_c=37.8,
        target_c=37.8,
        use=Use("none"),
        rolls_per_litre_before=0.0,
        push=(),
        push_stops=0.0,
        thermometer_error_c=0.15,
    )
    slope = sensitivity_per_k(table, 37.8)
    assert slope is not None
    assert time.seconds == pytest.approx(195.0, abs=1e-6)
    assert activation_energy_kj_mol(table, 37.8) == pytest.approx(energy_kj_mol, abs=1e-6)
    assert slope * 100.0 == pytest.approx(percent_per_k, abs=0.06)
    assert time.seconds * slope == pytest.approx(one_k_s, abs=0.06)
    assert time.thermometer_s == pytest.approx(tolerance_s, abs=0.06)
    assert 10.0 / (time.seconds * slope) == pytest.approx(ten_s_in_k, abs=0.006)
    for by_k in (-1.0, -0.5, 0.5, 1.0):
        assert warmer_by_s(table, 37.8, 195.0, by_k) == pytest.approx(arrhenius_s(37.8 + by_k) - 195.0, abs=1e-6)


def test_a_push_of_half_a_minute_a_stop_gives_the_known_factor() -> None:
    """+30 s a stop on 3:15, × 1.154 for the first: seen second-hand; other sheets say × 1.33 (second-hand too)."""
    table = ((1.0, 225.0 / 195.0), (2.0, 255.0 / 195.0))
    assert push_factor(table, 1.0) == pytest.approx(1.154, abs=0.0005)
    assert [195.0 * push_factor(table, stops) for stops in (0.0, 1.0, 2.0)] == pytest.approx([195.0, 225.0, 255.0])
    # half a stop lies within a second of the straight +15 s that rule would give
    assert 195.0 * push_factor(table, 0.5) == pytest.approx(210.0, abs=1.0)


def test_two_percent_for_each_roll_gives_the_worked_factors() -> None:
    """+2 % a roll, linear or compounding as the sheet means it: from memory. Eight rolls: × 1.16 or × 1.1717."""
    assert use_factor(Use("linear", 0.02), 8.0) == pytest.approx(1.16)
    assert use_factor(Use("compound", 0.02), 8.0) == pytest.approx(1.1717, abs=5e-5)
