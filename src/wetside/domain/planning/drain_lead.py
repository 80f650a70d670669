"""How long before its end a bath may be poured out: what is too long for tonight's baths. Pure.

Only a bath ended on time is meant, and only where its draining is part of its time: with a lead nearly as long as
the bath, the call to pour it out would come right after the pour.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from wetside.domain.calc.learning import MOST_OF_A_BATH
from wetside.domain.calc.wording import minutes_seconds
from wetside.domain.planning.plan import PlannedStep, Worry
from wetside.domain.profile.model import Kind


def longest_drain_lead_s(steps: Iterable[PlannedStep]) -> float:
    """The drain lead in s that the shortest of these baths can bear; infinite where none is ended on time."""
    return min((MOST_OF_A_BATH * length_s for _, length_s in _ended_on_time(steps)), default=math.inf)


def drain_worries(steps: Iterable[PlannedStep]) -> list[Worry]:
    """One worry for each bath that would be poured out too long before its end."""
    return [
        Worry(
            "drain-lead",
            f"{step.solution_title}: pouring out is to begin {minutes_seconds(step.drain_lead_s)} before its end,"
            f" more than a quarter of its {minutes_seconds(length_s)}. Write a smaller drain_lead_s into the"
            " settings (`wetside settings` says where).",
        )
        for step, length_s in _ended_on_time(steps)
        if step.drain_lead_s > MOST_OF_A_BATH * length_s
    ]


def _ended_on_time(steps: Iterable[PlannedStep]) -> list[tuple[PlannedStep, float]]:
    """The baths in question, each with its length in s."""
    return [
        (step, step.planned_s)
        for step in steps
        if step.kind is Kind.BATH and step.ends == "on time" and step.draining_counts and step.planned_s
    ]
