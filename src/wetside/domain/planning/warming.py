"""The forecast of bottles in a warm bath, and the water that brings them to their temperature."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

from msgspec.structs import replace

from wetside.domain.calc.tempering import (
    Forecast,
    Ranges,
    ReadySpans,
    TemperingBench,
    Uncertainty,
    Window,
    all_in_range_in,
    states_at,
    window_in,
    with_water,
)
from wetside.domain.calc.water import check_water_c
from wetside.domain.messages import Refusal, refused
from wetside.domain.planning.plan import BottleForecast, Tempering, WaterToAdd

HORIZON_S = 7200.0
"""How far ahead the bottles are forecast."""

_TOP_UP: Final = 0.5
"""The largest share of the bath that is added to it; for more the bath is mixed again (our own number)."""

_HELD_S: Final = 1200.0
"""A ready bottle must stay in range for this long, while film is loaded; otherwise water is added (our own
number)."""

_SETTLE_S: Final = 7200.0
"""A bottle that has to warm settles at the highest temperature it reaches within this time."""

_COOLING_TIMES: Final = 4.0
"""One that has to cool has no such maximum; it is taken after so many of its time constants, 98 % of the way."""

_SEARCH_STEP_S: Final = 120.0
"""The step of the search for the maximum, near which a bottle changes by less than 0.01 °C in this time."""

_NEAR_C: Final = 0.002
"""The search stops this near to the wanted temperature, far below what a thermometer shows."""

_MOST_BATHS: Final = 3.0
"""The most water, in baths, that an answer asks for."""


def warming(
    bench: TemperingBench,
    ranges: Ranges,
    hot_c: float,
    cold_c: float,
    ahead: Forecast,
    uncertainty: Uncertainty,
) -> Tempering:
    """When each bottle with a range is ready, when all are, and the water to add.

    ranges: one entry a bottle, at least one of them not None. hot_c, cold_c: the taps. ahead: the bench's own
    forecast. No water is added where the bottle with the narrowest range comes into it and stays there.
    """
    spans = ReadySpans(bench, ahead, uncertainty)
    wanted = [(i, between) for i, between in enumerate(ranges) if between is not None]
    found = {i: window_in(ahead, i, *between) for i, between in wanted}
    bottles = []
    for i, (low_c, high_c) in wanted:
        curve_c, window = ahead.bottles_c[i], found[i]
        alone = tuple(between if each == i else None for each, between in enumerate(ranges))
        bottles.append(
            BottleForecast(
                title=bench.bottles[i].name,
                range_c=(low_c, high_c),
                now_c=curve_c[0],
                nearest_c=max(curve_c) if curve_c[0] < low_c else min(curve_c),
                enters_s=window.enters_s,
                span_s=spans.enters_s(alone),
                leaves_s=window.leaves_s,
                too_hot=window.leaves_upward,
            )
        )
    together = all_in_range_in(ahead, ranges)
    strictest, between = min(wanted, key=lambda pair: pair[1][1] - pair[1][0])
    try:
        add = _water_to_add(bench, strictest, between, found[strictest], hot_c, cold_c)
    except Refusal as refusal:
        add = WaterToAdd("none helps", why=refusal.why)
    return Tempering(
        ready_s=together.enters_s,
        leaves_range_s=together.leaves_s,
        ready_span_s=spans.enters_s(ranges),
        forecasts=tuple(bottles),
        add=add,
    )


def _water_to_add(
    bench: TemperingBench,
    index: int,
    between: tuple[float, float],
    found: Window,
    hot_c: float,
    cold_c: float,
) -> WaterToAdd | None:
    """The water to add, or the bath to make anew; None where none is needed. Raises Refusal where none helps."""
    now_c, target_c = bench.bottles[index].temperature_c, 0.5 * (between[0] + between[1])
    missed = found.enters_s is None
    too_cold = missed and now_c < between[0]
    leaves_s = found.leaves_s if found.enters_s == 0.0 and not found.leaves_upward else None
    if too_cold or (leaves_s is not None and leaves_s < _HELD_S):
        hot_ml = top_up_ml(bench, index, target_c, "hot", hot_c)
        if hot_ml > _TOP_UP * bench.bath_ml:
            anew_c = starting_bath_c(bench, index, target_c)
            if anew_c <= hot_c:
                return WaterToAdd("anew", bench.bath_ml, at_c=anew_c)
        return WaterToAdd("hot", hot_ml) if hot_ml > 0.0 else None
    if missed or found.leaves_upward or now_c > between[1]:
        cold_ml = top_up_ml(bench, index, target_c, "cold", cold_c)
        # The bath stays hot until the bottle is warm; the amount to add then is the same as now.
        once = bench.bottles[index].name if found.enters_s else ""
        return WaterToAdd("cold", cold_ml, once) if cold_ml > 0.0 else None
    return None


def settles_at_c(bench: TemperingBench, bottle_index: int, target_c: float) -> float:
    """The temperature (°C) a bottle settles at if nothing more is done, seen from a wanted temperature.

    If it has to warm to the target, the highest it reaches in 2 h; if it has to cool, its temperature after four
    of its time constants. Both rise with the bath's temperature, so that a search on them has one solution.
    """
    bottle = bench.bottles[bottle_index]
    if target_c >= bottle.temperature_c:
        times = [_SEARCH_STEP_S * k for k in range(1, round(_SETTLE_S / _SEARCH_STEP_S) + 1)]
        return max(row[bottle_index] for row in states_at(bench, times))
    if bottle.ua_w_per_k <= 0.0:
        return bottle.temperature_c
    return states_at(bench, (_COOLING_TIMES * bottle.time_constant_s,))[0][bottle_index]


def starting_bath_c(bench: TemperingBench, bottle_index: int, target_c: float) -> float:
    """The temperature (°C) at which the bath must start so that one bottle settles on target; `bath_c` is not
    used.

    Raises Refusal if no water between 0 and 100 °C does it.
    """
    check_water_c(target_c)

    def miss_c(bath_c: float) -> float:
        return settles_at_c(replace(bench, bath_c=bath_c), bottle_index, target_c) - target_c

    low_c, high_c = 0.0, 100.0
    if miss_c(high_c) < 0.0:
        raise refused("bath too small to warm", aim_c=target_c)
    if miss_c(low_c) > 0.0:
        raise refused("bath too small to cool", aim_c=target_c)
    return _root(miss_c, low_c, high_c)


def top_up_ml(
    bench: TemperingBench, bottle_index: int, target_c: float, tap: Literal["hot", "cold"], tap_c: float
) -> float:
    """The water from a tap at `tap_c` (ml as drawn) to stir into the bath now so that one bottle settles on
    target.

    0 if it settles there without, or beyond (above for hot water, below for cold). The bath is taken to hold what
    is added. Raises Refusal if the water is not hot (cold) enough, or if three baths of it are not.
    """
    check_water_c(target_c)
    hot = tap == "hot"
    if hot and bench.bottles[bottle_index].temperature_c >= target_c:
        return 0.0

    def miss_c(added_ml: float) -> float:
        settled_c = settles_at_c(with_water(bench, added_ml, tap_c), bottle_index, target_c)
        return settled_c - target_c if hot else target_c - settled_c

    if miss_c(0.0) >= 0.0:
        return 0.0
    if tap_c <= max(target_c, bench.bath_c) if hot else tap_c >= min(target_c, bench.bath_c):
        raise refused("tap not hot enough" if hot else "tap not cold enough", tap_c=tap_c, aim_c=target_c)
    most_ml = _MOST_BATHS * bench.bath_ml
    if miss_c(most_ml) < 0.0:
        raise refused("hot tap too weak" if hot else "cold tap too weak", tap_c=tap_c, aim_c=target_c)
    return _root(miss_c, 0.0, most_ml)


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    """The root of a rising function between `low` and `high`: false position, the unchanged end halved."""
    at_low, at_high = rising(low), rising(high)
    middle, kept = low, 0
    for _ in range(60):
        if at_high - at_low <= 0.0:
            return middle
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        at_middle = rising(middle)
        if abs(at_middle) < _NEAR_C:
            return middle
        if at_middle < 0.0:
            low, at_low = middle, at_middle
            at_high, kept = (at_high / 2.0, -1) if kept == -1 else (at_high, -1)
        else:
            high, at_high = middle, at_middle
            at_low, kept = (at_low / 2.0, 1) if kept == 1 else (at_low, 1)
    return middle
