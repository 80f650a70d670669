"""Makes the plan of an evening: the planner, with its refusals in words."""

from __future__ import annotations

from datetime import date
from typing import Final

from msgspec.structs import replace

from wetside.domain.planning import planner
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import Setup
from wetside.domain.planning.steps import Habits
from wetside.domain.profile.model import Profile
from wetside.present.message_words import in_words, worded

COVER_FIRST: Final = "Top it up or mix more, or plan fewer rolls."
"""The remedy for an alert in `STOPPING`."""

REASON_FIRST: Final = 'To use it all the same, say why in the setup: reason = "..." under its [[bottles]].'
"""The remedy for an alert in `WANTS_REASON`, where the setup is a file."""


def make_plan(profile: Profile, setup: Setup, habits: Habits | None = None, today: date | None = None) -> Plan:
    """As `planner.make_plan`. Raises CheckFailed or Refused with sentences.

    Of alerts that are said in the same words, the first is kept.
    """
    habits = habits or Habits()
    with worded(habits.units):
        plan = planner.make_plan(profile, setup, habits, today)
    said = {in_words(each, plan.units): each for each in reversed(plan.warnings)}
    return replace(plan, warnings=tuple(reversed(said.values())))
