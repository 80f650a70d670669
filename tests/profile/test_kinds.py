"""The table of step kinds: each kind has a row, and what the row says is possible."""

from __future__ import annotations

import pytest

from wetside.domain.profile.model import TRAITS, Kind


def test_every_step_kind_has_a_row_in_the_table() -> None:
    assert set(TRAITS) == set(Kind)


@pytest.mark.parametrize("kind", Kind)
def test_traits_of_a_clock_belong_only_to_kinds_with_a_clock(kind: Kind) -> None:
    traits = kind.traits
    of_a_clock = (traits.needs_time, traits.held, traits.says_over, traits.lead_in, traits.wets, traits.solution)
    assert traits.timed or not any(of_a_clock)


@pytest.mark.parametrize("kind", Kind)
def test_a_step_kind_without_a_clock_asks_for_readings_or_ticks(kind: Kind) -> None:
    """Otherwise nothing would hold the guide in it."""
    assert kind.traits.timed or kind.traits.reads or kind.traits.needs_ticks
