"""The shipped two-bath figures against the practice of the trade and, where there is one, something printed.

How sure each check is stands beside it. The common-practice values have no published source; the kit-sheet
values were seen second-hand in two copies that agree; the times away from 38.9 °C are from memory.
"""

from __future__ import annotations

from math import log

import pytest
from scipy.constants import R, zero_Celsius
from tests.shipped import shipped_profile

from wetside.domain.profile.model import Profile, Sure


@pytest.fixture(scope="module")
def profile() -> Profile:
    return shipped_profile("two-bath")


def sure(profile: Profile, id_: str) -> Sure:
    return next(source.sure for source in profile.sources if source.id == id_)


@pytest.mark.common_practice
def test_developer_three_and_a_half_minutes_at_about_39(profile: Profile) -> None:
    """Common practice, no source: about 3½ min at about 39 °C (102 to 103 °F), ended on time."""
    developer = profile.solution("developer")
    assert dict(developer.table)[developer.target_c or 0.0] == 3.5 * 60
    assert developer.target_c == pytest.approx(39.0, abs=0.2)
    assert developer.ends == "on time"


@pytest.mark.common_practice
def test_bleach_fix_six_and_a_half_minutes_as_a_minimum(profile: Profile) -> None:
    """Common practice, no source: about 6½ min; afterwards the film no longer minds light."""
    bleach_fix = profile.solution("bleach-fix")
    assert [seconds for _, seconds in bleach_fix.table] == [6.5 * 60]
    assert bleach_fix.ends == "not before"
    assert bleach_fix.makes_light_safe


@pytest.mark.common_practice
def test_stabiliser_about_a_minute_and_not_heated(profile: Profile) -> None:
    """Common practice, no source: about 1 min, unheated."""
    stabiliser = profile.solution("stabiliser")
    assert [seconds for _, seconds in stabiliser.table] == [60.0]
    assert not stabiliser.tempered
    assert stabiliser.range_c is not None
    assert stabiliser.range_c[1] <= 30.0


@pytest.mark.common_practice
def test_the_two_chemical_baths_take_under_eleven_minutes(profile: Profile) -> None:
    """Common practice, no source."""
    times = [profile.solution(id_).table[-1][1] for id_ in ("developer", "bleach-fix")]
    assert sum(times) < 11 * 60


@pytest.mark.common_practice
def test_no_rinse_between_developer_and_bleach_fix_and_a_prewet_before(profile: Profile) -> None:
    """Common practice, no source, for this kind of kit."""
    names = [step.id for step in profile.steps if step.kind in ("bath", "wash")]
    assert names[:4] == ["prewet", "developer", "bleach-fix", "wash"]


@pytest.mark.common_practice
def test_capacity_and_agitation(profile: Profile) -> None:
    """Common practice, no source: about 35 rolls over three litres as a stretch, 30 s of movement at first and
    then some every 30 s."""
    developer = profile.solution("developer")
    assert developer.stretch_per_l == pytest.approx(35 / 3, abs=0.5)
    agitation = profile.step("developer").agitation
    assert agitation is not None
    assert (agitation.first_s, agitation.every_s) == (30.0, 30.0)


def test_kit_sheet_rows_seen_second_hand(profile: Profile) -> None:
    """Seen second-hand, two copies: prewet 1:00, developer 3:30 at 102 °F, bleach-fix 6:30 at 95 to 105 °F, wash
    3:00 (another copy 2:00), stabiliser 1:00."""
    fahrenheit = [
        tuple(round(c * 1.8 + 32, 6) for c in profile.solution(id_).range_c or ())
        for id_ in ("bleach-fix", "water")
    ]
    assert fahrenheit == [(95.0, 105.0), (95.0, 105.0)]
    assert profile.step("prewet").time_s == 60.0
    assert profile.step("wash").time_s == 180.0
    assert sure(profile, profile.solution("bleach-fix").source) is Sure.SECOND_HAND


def test_developer_table_from_memory_says_so_and_agrees_with_its_activation_energies(profile: Profile) -> None:
    """From memory: 38.9 °C 3:30, 35.0 5:45, 32.2 8:30, 29.4 12:45. Computed from them with R of scipy (CODATA):
    102.1, 105.4 and 107.5 kJ/mol against the row at 38.9 °C."""
    developer = profile.solution("developer")
    assert sure(profile, developer.source) is Sure.MEMORY
    assert [(round(c, 1), s) for c, s in developer.table] == [
        (29.4, 765.0),
        (32.2, 510.0),
        (35.0, 345.0),
        (38.9, 210.0),
    ]
    warm_c, warm_s = developer.table[-1]
    energies = [
        R * log(seconds / warm_s) / (1 / (c + zero_Celsius) - 1 / (warm_c + zero_Celsius)) / 1000
        for c, seconds in developer.table[:-1]
    ]
    assert energies == pytest.approx([107.5, 105.4, 102.1], abs=0.1)


def test_what_is_from_memory_or_in_conflict_is_said(profile: Profile) -> None:
    """The push factor lies between two rules seen second-hand, 1.154 and 1.33 a stop, and a note says so."""
    developer = profile.solution("developer")
    assert 30 / 195 + 1 < dict(developer.push)[1.0] < 4 / 3
    for what in ("use", "push", "capacity", "hazards"):
        assert sure(profile, dict(developer.sources)[what]) is Sure.MEMORY
    assert any("Push factors disagree" in note for note in profile.notes)
    assert developer.use.kind == "linear"
    assert developer.use.per_roll == pytest.approx(0.02)
    assert developer.capacity_per_l == 8.0
