"""Advice for a bath that drifts where the sheet has one row: the slope of a two-bath kit, labelled as such.

Source: powder-kit times 5:45 at 95 °F and 3:30 at 102 °F — from memory. They are another kit's, so nothing is
reckoned with them: the end stays, and the sheet decides.
"""

from __future__ import annotations

import math

import pytest
from tests.session.walker import Guide, guide_for
from tests.shipped import shipped_plan, shipped_profile

from wetside.domain.planning.baths import drift_seconds
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.profile.model import Sure
from wetside.domain.session import commands as c
from wetside.present.developer_words import end_words
from wetside.present.plan_words import drift_advice, warmth_words
from wetside.present.wording import minutes_seconds

PLAN = shipped_plan("three-bath-two-rolls")


def developer() -> PlannedStep:
    return next(step for step in PLAN.steps if step.of == "developer")


def arrhenius(at_c: float) -> float:
    """The two rows' own law: ln t straight in 1/T, by scipy."""
    from scipy import interpolate

    rows = [(35.0, 345.0), (38.0 + 8.0 / 9.0, 210.0)]
    law = interpolate.interp1d([1.0 / (c_ + 273.15) for c_, _ in rows], [math.log(s) for _, s in rows])
    return float(math.exp(law(1.0 / (at_c + 273.15))))


@pytest.mark.parametrize("at_c", [35.5, 36.8, 37.3, 38.3, 38.8])
def test_the_advice_is_the_slope_of_the_borrowed_times(at_c: float) -> None:
    step = developer()
    expected = 195.0 * (arrhenius(at_c) / arrhenius(37.8) - 1.0)
    assert drift_seconds(step, at_c) == pytest.approx(expected, abs=0.05)
    long = f"{abs(expected):.0f} s" if abs(expected) < 59.5 else minutes_seconds(abs(expected))
    assert f"about {long} {'shorter' if at_c > 37.8 else 'longer'}" in drift_advice(step, at_c, "°C")


@pytest.mark.parametrize("at_c", [34.9, 39.0, 41.0])
def test_beyond_the_borrowed_times_there_is_no_advice(at_c: float) -> None:
    assert drift_seconds(developer(), at_c) is None
    assert drift_advice(developer(), at_c, "°C") == ""


def test_drift_advice_is_labelled_from_memory_and_defers_to_the_sheet() -> None:
    for words in (warmth_words(developer(), "°C"), drift_advice(developer(), 37.3, "°F")):
        assert "Advice, by the slope of a two-bath kit (from memory)" in words
        assert words.endswith("Your sheet decides.")
    profile = shipped_profile("three-bath")
    source = dict(profile.solution("developer").sources)["drift"]
    assert next(each.sure for each in profile.sources if each.id == source) is Sure.MEMORY
    assert len(profile.solution("developer").table) == 1


def in_the_developer() -> Guide:
    guide = guide_for(PLAN).running("b1.developer")
    return guide


def read(guide: Guide, temperature_c: float) -> None:
    guide.wait(20.0)
    command = c.TakeReading(guide.now, "developer", temperature_c, f"{temperature_c}", confirmed=True)
    assert guide.dispatch(command), guide.message


def test_a_drift_in_the_tank_moves_no_end_and_offers_the_advice() -> None:
    guide = in_the_developer()
    before = guide.state.clocks["b1.developer"].end_s
    read(guide, 37.2)
    assert guide.state.clocks["b1.developer"].end_s == before
    moved, count = guide.state.moves[-1], len(guide.state.moves)
    assert (moved.old_s, moved.new_s) == (before, before)
    said = end_words(guide.state.plan, moved)
    assert said.startswith("The end stays: the sheet has one temperature. Advice")
    assert "held at 37.2 °C, about 15 s longer" in said
    read(guide, 37.8)
    assert len(guide.state.moves) == count
