"""The table of step kinds: each kind has a row, and what the row says is possible."""

from __future__ import annotations

import pytest

from wetside.domain.profile.model import TRAITS, Kind


def test_every_kind_has_a_row() -> None:
    assert set(TRAITS) == set(Kind)


@pytest.mark.parametrize("kind", Kind)
def test_what_depends_on_a_clock_is_stated_only_of_a_kind_with_one(kind: Kind) -> None:
    traits = kind.traits
    of_a_clock = (traits.needs_time, traits.held, traits.says_over, traits.lead_in, traits.wets, traits.solution)
    assert traits.timed or not any(of_a_clock)


@pytest.mark.parametrize("kind", Kind)
def test_a_kind_without_a_clock_asks_for_readings_or_ticks(kind: Kind) -> None:
    """Otherwise nothing would hold the guide in it."""
    assert kind.traits.timed or kind.traits.reads or kind.traits.needs_ticks
