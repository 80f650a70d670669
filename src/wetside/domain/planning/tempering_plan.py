"""Tonight's tempering bench: the setup's bottles in their bath, its forecast, and how the water is mixed. Pure."""

from __future__ import annotations

from wetside.domain.calc.tempering import (
    Forecast,
    Material,
    Spans,
    TemperingBench,
    ThermalBottle,
    all_in_range_in,
    default_ua_env_w_per_k,
    default_ua_w_per_k,
    forecast,
    guessed,
)
from wetside.domain.calc.tempering_aim import answers_in_words, starting_bath_c
from wetside.domain.calc.water import portions, scald_sentence
from wetside.domain.calc.wording import Units, said
from wetside.domain.planning.bath_water import bath_sentence, tap_worry
from wetside.domain.planning.expansion import poured_for
from wetside.domain.planning.plan import TemperatureUnit, Tempering, VolumeUnit, WaterPlan
from wetside.domain.planning.setup import Setup
from wetside.domain.profile.model import Profile, Solution
from wetside.errors import Refused

HORIZON_S = 7200.0
OPEN_M2_PER_LITRE = 0.006
"""Surface of an open bucket for each litre in it: 10 l in a 0.28 m bucket are 0.062 m² (computed)."""


def tempered(profile: Profile, setup: Setup) -> tuple[Solution, ...]:
    """The solutions that are brought to temperature, have a bottle, and are poured for tonight's film."""
    held = {bottle.solution for bottle in setup.bottles}
    kinds = frozenset(roll.kind for roll in setup.rolls)
    return tuple(
        s
        for s in profile.solutions
        if s.tempered and s.id in held and s.range_c is not None and poured_for(profile, s.id, kinds)
    )


def bench_of(setup: Setup, solutions: tuple[Solution, ...], bath_c: float) -> TemperingBench:
    """The bench before any reading; transfers are guesses from the bottles' material."""
    water = setup.water
    bottles = []
    for solution in solutions:
        bottle = next(b for b in setup.bottles if b.solution == solution.id)
        start_c = bottle.start_c if bottle.start_c is not None else water.room_c
        material: Material = bottle.material
        ua = default_ua_w_per_k(bottle.volume_ml, material)
        bottles.append(ThermalBottle(solution.title, bottle.volume_ml, start_c, ua))
    return TemperingBench(
        tuple(bottles),
        water.bath_ml,
        bath_c,
        water.room_c,
        default_ua_env_w_per_k(water.bath_ml),
        0.0 if water.covered else OPEN_M2_PER_LITRE * water.bath_ml / 1000.0,
        water.humidity,
    )


def tempering_plan(
    profile: Profile, setup: Setup, unit: TemperatureUnit, volume_unit: VolumeUnit = "ml"
) -> tuple[Tempering | None, WaterPlan | None]:
    """The forecast and the water for tonight; None where nothing is tempered."""
    units = Units(unit, volume_unit)
    solutions = tempered(profile, setup)
    if not solutions:
        return None, None
    first = bench_of(setup, solutions, setup.water.bath_c or setup.water.room_c)
    try:
        aim_c = setup.water.bath_c or starting_bath_c(first, _targets(solutions))
    except Refused as refusal:
        return None, WaterPlan(0.0, setup.water.bath_ml, None, None, (said(refusal, units),))
    bench = bench_of(setup, solutions, aim_c)
    curves = forecast(bench, HORIZON_S, 60.0)
    ranges = tuple(solution.range_c for solution in solutions)
    together = all_in_range_in(curves, ranges)
    unsure = guessed(len(solutions), setup.thermometer_error_c)
    taps_c = (setup.water.hot_c, setup.water.cold_c)
    words = answers_in_words(bench, ranges, *taps_c, HORIZON_S, curves, units=units, unsure=unsure)
    guess = "A guess until readings come in: bottles and bucket are taken as usual ones."
    shown = (*words, guess)
    found = Tempering(
        ready_s=together.enters_s,
        leaves_range_s=together.leaves_s,
        curve=curve_rows(curves, _strictest(solutions)),
        words=shown,
        starting_bath_c=aim_c,
        bottles=tuple(solution.id for solution in solutions),
        ready_span_s=Spans(bench, curves, unsure).enters_s(ranges),
    )
    return found, _water(setup, aim_c, unit, volume_unit)


def curve_rows(curves: Forecast, index: int) -> tuple[tuple[float, float, float], ...]:
    """(t_s, bath_c, bottle_c) rows of one bottle's curve, to a hundredth of a degree."""
    return tuple(
        (round(t, 1), round(bath, 2), round(bottle, 2))
        for t, bath, bottle in zip(curves.times_s, curves.bath_c, curves.bottles_c[index], strict=True)
    )


def _targets(solutions: tuple[Solution, ...]) -> tuple[float | None, ...]:
    """Only the strictest solution aims, at the middle of its range: the others' ranges are wider."""
    strictest = _strictest(solutions)
    return tuple(_middle_c(s) if i == strictest else None for i, s in enumerate(solutions))


def _middle_c(solution: Solution) -> float | None:
    return solution.target_c if solution.range_c is None else 0.5 * (solution.range_c[0] + solution.range_c[1])


def _strictest(solutions: tuple[Solution, ...]) -> int:
    widths = [s.range_c[1] - s.range_c[0] if s.range_c is not None else 1e9 for s in solutions]
    return widths.index(min(widths))


def _water(setup: Setup, aim_c: float, unit: TemperatureUnit, volume_unit: VolumeUnit) -> WaterPlan:
    water = setup.water
    scald = scald_sentence(water.hot_c, unit)
    try:
        found = portions(aim_c, water.bath_ml, water.hot_c, water.cold_c)
    except Refused as refusal:
        lacking = tap_worry(water, aim_c, unit, volume_unit)
        told = lacking.text if lacking is not None else said(refusal, Units(unit, volume_unit))
        return WaterPlan(aim_c, water.bath_ml, None, None, (told, scald))
    words = (bath_sentence(water, aim_c, unit, volume_unit), scald)
    return WaterPlan(aim_c, water.bath_ml, found.hot_ml, found.cold_ml, words)
