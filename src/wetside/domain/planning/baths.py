"""The figures of one bath: its time with the factors, its agitation, its drain lead, the cost of drift."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.calc.developer_time import (
    DeveloperTime,
    TimeTable,
    clamped_seconds,
    developer_time,
    served_range_c,
    serves,
    use_factor,
    warmer_by_s,
)
from wetside.domain.calc.water import drying_s
from wetside.domain.messages import Message, Refusal, Value, alert, message, refused
from wetside.domain.planning.bottles import bottle_of, rolls_per_litre
from wetside.domain.planning.plan import Batch, Factors, PlannedStep
from wetside.domain.planning.setup import AgitationPace, Setup, Water
from wetside.domain.profile.model import Agitation, Kind, Profile, ReadingAsk, Solution

LONGEST_S: Final = 7200.0
"""Longer than any bath: the first period of a bath with continuous agitation."""

PACES: Final[dict[AgitationPace, tuple[float, float]]] = {
    "continuous": (LONGEST_S, 0.0),
    "each half minute": (30.0, 30.0),
    "each minute": (30.0, 60.0),
}
"""(first, every) in seconds: 30 s at first (US Army SS0514, read), the later ones are common practice."""

_SAME_C: Final = 0.2
"""Tap water within this (K) of the developer's target is water at its temperature: 41 °C for 41.1 °C."""

MOST_OF_A_BATH: Final = 0.25
"""The largest share of a bath ended on time that its draining may take (our own number): with more of it the
sheet's time says little about the development."""


class BathFigures(Struct, frozen=True):
    """The figures of one step: seconds, factors, why, target in °C."""

    seconds: float | None
    factors: Factors = Factors()
    about: Message | None = None
    target_c: float | None = None
    alerts: tuple[Message, ...] = ()


def bath_figures(
    solution: Solution,
    setup: Setup,
    batches: tuple[Batch, ...],
    batch: Batch | None,
) -> BathFigures:
    """The time of a bath in one batch. Raises Refusal where the profile's table has none."""
    if not solution.table:
        return BathFigures(None, target_c=solution.target_c)
    table = TimeTable(solution.table, solution.table_tolerance_c)
    before = rolls_per_litre(setup, bottle_of(setup, solution.id), batches, batch.number if batch else 1)
    target_c = solution.target_c if solution.target_c is not None else solution.table[-1][0]
    if solution.ends != "on time":
        used = use_factor(solution.use, before)
        seconds = clamped_seconds(table, target_c) * used
        return BathFigures(seconds, Factors(use=used), target_c=solution.target_c)
    at_c = setup.developer_c if setup.developer_c is not None else target_c
    push = batch.push if batch is not None else 0.0
    found = developer_time(
        table,
        temperature_c=at_c,
        target_c=target_c,
        use=solution.use,
        rolls_per_litre_before=before,
        push=solution.push,
        push_stops=push,
        thermometer_error_c=setup.thermometer_error_c,
        shortest_s=solution.shortest_s,
    )
    return BathFigures(
        found.seconds,
        Factors(found.temperature_factor, found.use_factor, found.push_factor),
        why_this_time(found, at_c, before, push),
        at_c,
        _time_alerts(solution, found, setup.thermometer_error_c),
    )


def why_this_time(found: DeveloperTime, at_c: float, rolls_per_l: float, push_stops: float) -> Message:
    """The developer time with the one of the sheet, and the reasons for the difference, each with its factor."""
    reasons = (
        message("developer at", at_c=at_c, factor=found.temperature_factor),
        message("rolls before", rolls_per_l=rolls_per_l, factor=found.use_factor),
        message("push of", stops=push_stops, factor=found.push_factor),
    )
    return message("developer time", sheet_s=found.sheet_s, time_s=found.seconds, reasons=reasons)


def _time_alerts(solution: Solution, found: DeveloperTime, thermometer_error_c: float) -> tuple[Message, ...]:
    """The alerts about a time that is too short, or too uncertain because of the thermometer."""
    alerts = []
    values: dict[str, Value] = {"bath": solution.title, "time_s": found.seconds}
    if found.shorter_than_sensible:
        alerts.append(alert("short-time", **values, shortest_s=solution.shortest_s))
    if found.thermometer_s is not None and found.thermometer_s >= 5:
        alerts.append(alert("thermometer", **values, error_c=thermometer_error_c, worth_s=found.thermometer_s))
    return tuple(alerts)


def hanging_figures(water: Water, least_s: float | None) -> BathFigures:
    """The drying of hung film: the least time of the process or the guess from the room's air if that is longer.

    No time where the process gives none; in air that film hardly dries in, it is told why there is no guess.
    """
    try:
        guess_s = 300.0 * round(drying_s(water.room_c, water.humidity) / 300.0)
    except Refusal as refusal:
        return BathFigures(least_s, about=refusal.why)
    air: dict[str, Value] = {"guess_s": guess_s, "room_c": water.room_c, "percent": water.humidity * 100.0}
    if least_s is None:
        return BathFigures(None, about=message("drying guessed", **air))
    if guess_s > least_s:
        return BathFigures(guess_s, about=message("drying longer than least", least_s=least_s, **air))
    return BathFigures(least_s, about=message("drying as least", least_s=least_s, **air))


ROTATED: Final = message("rotated")
"""How the tank is moved, in place of the process's own words, where it is rotated."""


def agitated(own: Agitation | None, setup: Setup) -> Agitation | None:
    """The agitation of a bath tonight: the process's own where it is fixed or the setup chooses nothing."""
    if own is None or own.fixed:
        return own
    words = own.words if setup.agitated_by == "inversion" else ROTATED
    if setup.agitation == "as the process":
        return replace(own, words=words)
    return Agitation(*PACES[setup.agitation], own.for_s, words)


def at_chosen_temperature(profile: Profile, setup: Setup) -> Profile:
    """The profile with the developer's target and range moved to `setup.developer_c`; itself where that is None.

    The range keeps its width around the new target, cut to what the table serves. Raises Refusal outside the
    table.
    """
    wanted_c, developer = setup.developer_c, _developer(profile)
    if wanted_c is None or developer is None or developer.target_c == wanted_c:
        return profile
    low_c, high_c = served_range_c(TimeTable(developer.table, developer.table_tolerance_c))
    if not low_c <= wanted_c <= high_c:
        raise refused("developer outside sheet", title=developer.title, at_c=wanted_c, sheet_c=(low_c, high_c))
    span = developer.range_c or (wanted_c, wanted_c)
    half_c = (span[1] - span[0]) / 2
    range_c = (max(low_c, wanted_c - half_c), min(high_c, wanted_c + half_c))
    moved = replace(developer, target_c=wanted_c, range_c=range_c)

    def asked(ask: ReadingAsk) -> ReadingAsk:
        return ask if ask.of != moved.id or ask.range_c is None else replace(ask, range_c=range_c)

    return replace(
        profile,
        solutions=tuple(moved if solution.id == moved.id else solution for solution in profile.solutions),
        steps=tuple(replace(step, readings=tuple(map(asked, step.readings))) for step in profile.steps),
    )


def at_developer_temperature(sheet: Profile, step: PlannedStep, setup: Setup) -> PlannedStep:
    """A step with water that the sheet wants as warm as the developer, at `setup.developer_c` instead.

    Only steps up to the developer's pour change. `sheet` is the profile before `at_chosen_temperature`.
    """
    wanted_c, developer = setup.developer_c, _developer(sheet)
    if wanted_c is None or step.storage != "tap" or step.target_c is None or developer is None:
        return step
    order = [each.id for each in sheet.steps]
    first = next((each.id for each in sheet.steps if each.solution == developer.id), order[-1])
    sheet_c = developer.target_c
    if sheet_c is None or abs(step.target_c - sheet_c) > _SAME_C or order.index(step.of) > order.index(first):
        return step
    by_c = wanted_c - sheet_c
    range_c = None if step.range_c is None else (step.range_c[0] + by_c, step.range_c[1] + by_c)
    return replace(step, target_c=wanted_c, range_c=range_c)


def _developer(profile: Profile) -> Solution | None:
    return next((s for s in profile.solutions if s.ends == "on time" and s.table), None)


def longest_drain_lead_s(steps: Iterable[PlannedStep]) -> float:
    """The longest drain lead (s) that the shortest bath ended on time allows; infinite where there is none."""
    return min((MOST_OF_A_BATH * length_s for _, length_s in _drained_on_time(steps)), default=math.inf)


def drain_alerts(steps: Iterable[PlannedStep]) -> list[Message]:
    """The alerts about baths whose drain lead is more than `MOST_OF_A_BATH` of their time."""
    return [
        alert("drain-lead", bath=step.solution_title, lead_s=step.drain_lead_s, time_s=length_s)
        for step, length_s in _drained_on_time(steps)
        if step.drain_lead_s > MOST_OF_A_BATH * length_s
    ]


def _drained_on_time(steps: Iterable[PlannedStep]) -> list[tuple[PlannedStep, float]]:
    """The baths ended on time whose draining is part of their time, each with its length in s."""
    return [
        (step, step.planned_s)
        for step in steps
        if step.kind is Kind.BATH and step.ends == "on time" and step.draining_counts and step.planned_s
    ]


def drift_seconds(step: PlannedStep, at_c: float) -> float | None:
    """The change of the bath's time (s) at `at_c` by the slope of another kit's times.

    Advice for a sheet with one row, not a figure of this kit. None without such times, or outside them.
    """
    if not step.drift_table or step.target_c is None or step.planned_s is None:
        return None
    borrowed = TimeTable(step.drift_table, 0.0)
    if not (serves(borrowed, at_c) and serves(borrowed, step.target_c)):
        return None
    return warmer_by_s(borrowed, step.target_c, step.planned_s, at_c - step.target_c)


def keeps_backing(profile: Profile) -> bool:
    """Whether backed film goes into the developer with its backing on."""
    if "backed" not in profile.accepts:
        return False
    for step in profile.steps:
        if step.solution is not None and profile.solution(step.solution).ends == "on time":
            return True
        if step.scope == "batch" and "backed" in step.when and step.kind.traits.wets:
            return False
    return False
