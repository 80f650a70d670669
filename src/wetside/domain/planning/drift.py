"""What a bath that has drifted would ask for where its sheet has one row: another kit's slope, as advice. Pure."""

from __future__ import annotations

from wetside.domain.calc.developer_time import TimeTable, serves, warmer_by_s
from wetside.domain.calc.wording import minutes_seconds, temperature
from wetside.domain.planning.plan import PlannedStep, TemperatureUnit

ADVICE = "Advice, by the slope of a two-bath kit (from memory)"
"""Before what is borrowed from another kit's times."""


def drift_seconds(step: PlannedStep, at_c: float) -> float | None:
    """By how much the time would change (s) at `at_c`, by the slope of another kit's times; None without one.

    Advice and no figure of this kit: the sheet has one row. None too where those times do not reach.
    """
    if not step.drift_table or step.target_c is None or step.planned_s is None:
        return None
    borrowed = TimeTable(step.drift_table, 0.0)
    if not (serves(borrowed, at_c) and serves(borrowed, step.target_c)):
        return None
    return warmer_by_s(borrowed, step.target_c, step.planned_s, at_c - step.target_c)


def drift_advice(step: PlannedStep, at_c: float, unit: TemperatureUnit) -> str:
    """What a bath that has drifted to `at_c` would ask for, labelled as advice; "" where nothing is known."""
    by_s = drift_seconds(step, at_c)
    if by_s is None:
        return ""
    way = "shorter" if by_s < 0 else "longer"
    held = f"held at {temperature(at_c, unit)}, about {_span(abs(by_s))} {way}"
    return f"{ADVICE}: {held}. Your sheet decides."


def _span(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 59.5 else minutes_seconds(seconds)
