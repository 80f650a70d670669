"""The warm bath of an evening: where it starts, its forecast, its water, and whether film is loaded beside it."""

from __future__ import annotations

from collections.abc import Iterable
from math import fsum

from msgspec.structs import astuple, replace

from wetside.domain.calc.tempering import (
    GUESSED_LOG,
    Forecast,
    TemperingBench,
    ThermalBottle,
    Uncertainty,
    default_ua_env_w_per_k,
    default_ua_w_per_k,
    first_above,
    forecast,
)
from wetside.domain.calc.water import Boiled, ice_kg, portions, water_hazard, with_boiling_water
from wetside.domain.messages import Message, Refusal, Value, alert
from wetside.domain.planning.plan import LoadingOrder, Plan, Tempering, WaterPlan
from wetside.domain.planning.setup import Setup, Water
from wetside.domain.planning.steps import poured_for
from wetside.domain.planning.warming import HORIZON_S, starting_bath_c, warming
from wetside.domain.profile.model import Profile

OPEN_M2_PER_LITRE = 0.006
"""Surface of an open bucket for each litre in it: 10 l in a 0.28 m bucket are 0.062 m² (computed)."""

LOAD_BESIDE = "warmed before loading"
"""The condition that a profile's steps name where the process can be done in either order."""

LONGER = 1.5
"""The factor by which loading may take longer than planned (our own number)."""

FASTER = 1.5
"""The factor by which a bottle's heat transfer may exceed its guess (our own number)."""

_OVERSHOOT_STEP_S = 15.0


def tempered(profile: Profile, setup: Setup) -> dict[tuple[str, str], tuple[float, float]]:
    """The ranges (°C), by id and title, of the solutions that are brought to temperature.

    They have a range and a bottle, and are poured for tonight's film.
    """
    held = {bottle.solution for bottle in setup.bottles}
    kinds = frozenset(roll.kind for roll in setup.rolls)
    return {
        (s.id, s.title): s.range_c
        for s in profile.solutions
        if s.tempered and s.id in held and s.range_c is not None and poured_for(profile, s.id, kinds)
    }


def bench_of(setup: Setup, solutions: Iterable[tuple[str, str]], bath_c: float) -> TemperingBench:
    """The bench before any reading, with heat transfers guessed from the bottles' material.

    solutions: the id and the title of each that has a bottle in the bath.
    """
    water = setup.water
    bottles = []
    for id_, title in solutions:
        bottle = next(b for b in setup.bottles if b.solution == id_)
        start_c = bottle.start_c if bottle.start_c is not None else water.room_c
        ua = default_ua_w_per_k(bottle.volume_ml, bottle.material)
        bottles.append(ThermalBottle(title, bottle.volume_ml, start_c, ua))
    return TemperingBench(
        tuple(bottles),
        water.bath_ml,
        bath_c,
        water.room_c,
        default_ua_env_w_per_k(water.bath_ml),
        0.0 if water.covered else OPEN_M2_PER_LITRE * water.bath_ml / 1000.0,
        water.humidity,
    )


def tempering_plan(profile: Profile, setup: Setup) -> tuple[Tempering | None, WaterPlan | None, list[Message]]:
    """The forecast and the water of the warm bath, and the alert where it cannot be made, of this size or from
    these taps; None where nothing is tempered."""
    solutions = tempered(profile, setup)
    if not solutions:
        return None, None, []
    ranges = tuple(solutions.values())
    # only the strictest solution is aimed at: the others' ranges are wider
    strictest = min(range(len(ranges)), key=lambda number: ranges[number][1] - ranges[number][0])
    first = bench_of(setup, solutions, setup.water.bath_c or setup.water.room_c)
    try:
        aim_c = setup.water.bath_c or starting_bath_c(first, strictest, 0.5 * sum(ranges[strictest]))
    except Refusal as refusal:
        too_small = alert("bath-too-small", why=refusal.why)
        return None, WaterPlan(0.0, setup.water.bath_ml, None, None, too_small=refusal.why), [too_small]
    bench = replace(first, bath_c=aim_c)
    curves = forecast(bench, HORIZON_S, 60.0)
    uncertainty = Uncertainty((GUESSED_LOG,) * len(solutions), setup.thermometer_error_c)
    found = replace(
        warming(bench, ranges, setup.water.hot_c, setup.water.cold_c, curves, uncertainty),
        curve=_curve_rows(curves, strictest),
        starting_bath_c=aim_c,
        bottles=tuple(id_ for id_, _ in solutions),
    )
    return found, *_water_plan(setup.water, aim_c)


def _curve_rows(curves: Forecast, index: int) -> tuple[tuple[float, float, float], ...]:
    """(t_s, bath_c, bottle_c) rows of one bottle's curve, to a hundredth of a degree."""
    return tuple(
        (round(t, 1), round(bath, 2), round(bottle, 2))
        for t, bath, bottle in zip(curves.times_s, curves.bath_c, curves.bottles_c[index], strict=True)
    )


def _water_plan(water: Water, aim_c: float) -> tuple[WaterPlan, list[Message]]:
    found = portions(aim_c, water.bath_ml, water.hot_c, water.cold_c)
    if found is None:
        return WaterPlan(aim_c, water.bath_ml, None, None), [tap_alert(water, aim_c)]
    return WaterPlan(aim_c, water.bath_ml, found.hot_ml, found.cold_ml), []


def bath_alerts(tempering: Tempering | None) -> list[Message]:
    """The alerts about bottles that are never all in range, and about a bath that scalds."""
    if tempering is None:
        return []
    found = []
    if tempering.ready_s is None:
        bottles = tempering.forecasts or ()
        cool = min(bottles, key=lambda each: each.range_c[1])
        warm = max(bottles, key=lambda each: each.range_c[0])
        if warm.range_c[0] > cool.range_c[1]:
            cooler: dict[str, Value] = {"cooler": cool.title, "cooler_c": cool.range_c}
            found.append(alert("never-ready", "apart", **cooler, warmer=warm.title, warmer_c=warm.range_c))
        else:
            found.append(alert("never-ready"))
    bath_c = tempering.starting_bath_c
    if bath_c is not None and water_hazard(bath_c) == "scalds":
        found.append(alert("hot-bath", bath_c=bath_c))
    return found


def tap_alert(water: Water, target_c: float) -> Message:
    """The alert about a bath that the taps cannot make, with the boiling water or ice it takes."""
    if target_c > water.hot_c:
        values: dict[str, Value] = {"bath_c": target_c, "tap_c": water.hot_c}
        boiled = boiled_for(water, target_c)
        if boiled is None:
            return alert("taps-too-cold", **values)
        return alert("taps-too-cold", "boiling", **values, boiled=astuple(boiled))
    ice = ice_kg(target_c, water.bath_ml, water.cold_c)
    return alert("taps-too-warm", bath_c=target_c, tap_c=water.cold_c, ice_kg=ice)


def boiled_for(water: Water, target_c: float) -> Boiled | None:
    """The boiling water for a bath warmer than the hot tap; None where none is needed or none helps."""
    return with_boiling_water(target_c, water.bath_ml, water.hot_c) if target_c > water.hot_c else None


def water_in_all(plan: Plan) -> tuple[float, float]:
    """(hot, cold) water in ml for the warm bath and every fill of the tank with water; boiled water is hot.

    Water that the taps cannot make is counted from the nearer one, water of any temperature from the cold one.
    """
    fills = [
        (step.volume_ml * max(1, step.fills_of_water(step.planned_s)), step.target_c)
        for step in plan.steps
        if step.storage == "tap" and step.volume_ml is not None
    ]
    if plan.water is not None:
        fills.append((plan.water.volume_ml, plan.water.target_c))
    taps = [_from_taps(plan.setup.water, volume_ml, target_c) for volume_ml, target_c in fills]
    return fsum(hot for hot, _ in taps), fsum(cold for _, cold in taps)


def _from_taps(water: Water, volume_ml: float, target_c: float | None) -> tuple[float, float]:
    if target_c is None:
        return 0.0, volume_ml
    found = portions(target_c, volume_ml, water.hot_c, water.cold_c)
    if found is None:
        return (volume_ml, 0.0) if target_c > water.hot_c else (0.0, volume_ml)
    return found.hot_ml, found.cold_ml


def overshoot(
    bench: TemperingBench, limits_c: tuple[float | None, ...], unseen_s: float
) -> tuple[int, float] | None:
    """(bottle, seconds) of the first bottle that may pass its upper limit in `unseen_s`, margins included.

    None where none may. `limits_c` has one entry a bottle, None for any temperature.
    """
    faster = tuple(replace(bottle, ua_w_per_k=FASTER * bottle.ua_w_per_k) for bottle in bench.bottles)
    found = [
        first_above(forecast(each, max(unseen_s, _OVERSHOOT_STEP_S) * LONGER, _OVERSHOOT_STEP_S), limits_c)
        for each in (bench, replace(bench, bottles=faster))
    ]
    return min((each for each in found if each is not None), key=lambda each: each[1], default=None)


def loading_order(
    setup: Setup, tempering: Tempering | None, unseen: tuple[tuple[str, float], ...]
) -> LoadingOrder:
    """The order of loading and warming that is wanted and safe.

    No thermometer is read while film is loaded, so film is loaded beside the warming only where the forecast keeps
    each bottle at or below the upper end of its range until it is read again. unseen: as `LoadingOrder.unseen`.
    """
    if setup.loading == "after warming":
        return LoadingOrder("after warming", "chosen")
    if tempering is None or tempering.starting_bath_c is None:
        return LoadingOrder("after warming", "no forecast")
    if tempering.ready_s is None:
        return LoadingOrder("after warming", "never ready")
    bottles = tempering.forecasts or ()
    named = zip(tempering.bottles, (each.title for each in bottles), strict=True)
    bench = bench_of(setup, named, tempering.starting_bath_c)
    limits_c = tuple(each.range_c[1] for each in bottles)
    over = overshoot(bench, limits_c, max((seconds for _, seconds in unseen), default=0.0))
    if over is not None:
        return LoadingOrder("after warming", "too warm", over=bottles[over[0]].title, over_s=over[1])
    return LoadingOrder("while warming", "room", unseen=unseen)
