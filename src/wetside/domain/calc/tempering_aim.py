"""What to do about a bench of bottles: how warm to start the bath, how much water to add, and the same in words.

Every answer comes from the forecast of `tempering`; the words say a guess as a guess. It must not learn from
readings (that is `tempering_fit`) and must not decide that a bath may begin: the gate on a measured reading does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from wetside.domain.calc.tempering import (
    Forecast,
    Ranges,
    Spans,
    TemperingBench,
    Unsure,
    Window,
    all_in_range_in,
    forecast,
    states_at,
    window_in,
    with_water,
)
from wetside.domain.calc.water import check_water_c
from wetside.domain.calc.wording import (
    METRIC,
    Celsius,
    TemperatureUnit,
    Units,
    VolumeUnit,
    phrase,
    said,
    temperature,
    volume,
)
from wetside.errors import Refused

# A bottle that has to warm settles at the highest it will reach within this long.
_SETTLE_S: Final = 7200.0
# One that has to cool has no such turn; it is taken after this many of its time constants, 98 % of the way.
_COOLING_TIMES: Final = 4.0
# coarse on purpose: near its top a bottle moves less than 0.01 °C in this long
_LOOK_EVERY_S: Final = 120.0
# the search stops this near to the wanted temperature, far below what a thermometer shows
_NEAR_C: Final = 0.002
# more water than this many baths is no answer to give a person with a bucket
_MOST_BATHS: Final = 3.0
# a bucket takes no more than this share of its bath on top; then it is quicker to make the bath anew (own number)
_TOP_UP: Final = 0.5
# a bottle that is ready must stay so while film is loaded (own number); if not, water is asked for now
_HELD_S: Final = 1200.0


_FULL: Final = "; if it is full, take so much out first"


def settles_at_c(bench: TemperingBench, bottle_index: int, target_c: float) -> float:
    """What a bottle comes to if nothing more is done, seen from a wanted temperature.

    If it has to warm to the target: the highest it reaches in 2 h. If it has to cool: its temperature after
    four of its time constants. Both rise with the bath's temperature, so that a search on them finds one answer.
    """
    bottle = bench.bottles[bottle_index]
    if target_c >= bottle.temperature_c:
        times = [_LOOK_EVERY_S * k for k in range(1, round(_SETTLE_S / _LOOK_EVERY_S) + 1)]
        return max(row[bottle_index] for row in states_at(bench, times))
    if bottle.ua_w_per_k <= 0.0:
        return bottle.temperature_c
    return states_at(bench, (_COOLING_TIMES * bottle.time_constant_s,))[0][bottle_index]


def starting_bath_c(bench: TemperingBench, targets_c: tuple[float | None, ...]) -> float:
    """The temperature in °C the bath must start at so that the bottles settle on target.

    What `bench.bath_c` says is not used. `targets_c` has one entry a bottle, None for a bottle that only comes
    along. With several targets the misses cancel on average, as all bottles end near one temperature; give the
    strictest alone to have it exactly. Refused if no water between 0 and 100 °C does it.
    """
    aims = [(i, check_water_c(t)) for i, t in enumerate(targets_c) if t is not None]
    if not aims or len(targets_c) != len(bench.bottles):
        raise Refused(
            "No bottle has a temperature to settle on: give one entry a bottle, at least one of them set."
        )

    def miss_c(bath_c: float) -> float:
        trial = replace(bench, bath_c=bath_c)
        return sum(settles_at_c(trial, i, t) - t for i, t in aims) / len(aims)

    wanted = Celsius(sum(t for _, t in aims) / len(aims))
    low_c, high_c = 0.0, 100.0
    if miss_c(high_c) < 0.0:
        raise Refused(phrase("A bath of this size cannot bring the bottles to {}: take more water.", wanted))
    if miss_c(low_c) > 0.0:
        raise Refused(phrase("A bath of this size cannot cool the bottles to {}: take more water.", wanted))
    return _root(miss_c, low_c, high_c)


def hot_water_now_ml(
    bench: TemperingBench, target_c: float, hot_c: float, bottle_index: int | None = None
) -> float:
    """How much water at `hot_c`, in ml as drawn, to stir into the bath now so that the bottles settle on target.

    `bottle_index` is the bottle that counts; None means all that are still below the target, on average. 0 if
    they settle on it or above without. The bath is taken to hold what is added; with a full bucket, take as much
    out first. Refused if the water is not hotter than the target, or if three baths of it would not do.
    """
    check_water_c(target_c)
    below = tuple(i for i in _counted(bench, bottle_index) if bench.bottles[i].temperature_c < target_c)
    if not below or _miss_c(bench, target_c, below) >= 0.0:
        return 0.0
    if check_water_c(hot_c) <= max(target_c, bench.bath_c):
        raise Refused(
            phrase(
                "Hotter water than {} is needed to bring the bottles to {}: heat some of it and measure it again.",
                Celsius(hot_c),
                Celsius(target_c),
            )
        )
    most_ml = _MOST_BATHS * bench.bath_ml
    if _miss_c(with_water(bench, most_ml, hot_c), target_c, below) < 0.0:
        raise Refused(
            phrase(
                "Hotter water than {} is needed: three baths of it would not bring the bottles to {}.",
                Celsius(hot_c),
                Celsius(target_c),
            )
        )
    return _root(lambda ml: _miss_c(with_water(bench, ml, hot_c), target_c, below), 0.0, most_ml)


def cold_water_now_ml(
    bench: TemperingBench, target_c: float, cold_c: float, bottle_index: int | None = None
) -> float:
    """How much water at `cold_c` to stir in now so that the bottles do not settle above target.

    As `hot_water_now_ml`, the other way round.
    """
    check_water_c(target_c)
    counted = _counted(bench, bottle_index)
    if _miss_c(bench, target_c, counted) <= 0.0:
        return 0.0
    if check_water_c(cold_c) >= min(target_c, bench.bath_c):
        raise Refused(
            phrase(
                "Colder water than {} is needed to bring the bottles to {}: cool some of it with ice and"
                " measure it again.",
                Celsius(cold_c),
                Celsius(target_c),
            )
        )
    most_ml = _MOST_BATHS * bench.bath_ml
    if _miss_c(with_water(bench, most_ml, cold_c), target_c, counted) > 0.0:
        raise Refused(
            phrase(
                "Colder water than {} is needed: three baths of it would not bring the bottles to {}.",
                Celsius(cold_c),
                Celsius(target_c),
            )
        )
    return _root(lambda ml: -_miss_c(with_water(bench, ml, cold_c), target_c, counted), 0.0, most_ml)


def answers_in_words(
    bench: TemperingBench,
    ranges: tuple[tuple[float, float] | None, ...],
    hot_c: float | None = None,
    cold_c: float | None = None,
    horizon_s: float = 7200.0,
    curves: Forecast | None = None,
    read_in_range: tuple[bool, ...] = (),
    units: Units = METRIC,
    unsure: Unsure | None = None,
) -> tuple[str, ...]:
    """The bench's answers as phrases: one a bottle with a range, one for all together, one for the water to add.

    `ranges` as in `tempering.all_in_range_in`. The water is for the bottle with the narrowest range, aims at its
    middle, and is asked for only if that bottle never gets into its range, is above it, leaves it by growing too
    hot, or is in it now and too cold again within 20 minutes. It is left out where the tap is not known (None).
    `curves` spares a forecast already made. `read_in_range`: whether a bottle's last reading was in its range, one
    entry a bottle; beside such a reading no sentence says that the bottle is not ready: it says to read it again.
    `units` are those of the person who reads it. `unsure`: what is not known of the bench; moments at which
    bottles are ready are then spans.
    """
    ahead = curves or forecast(bench, horizon_s)
    wanted = [(i, between) for i, between in enumerate(ranges) if between is not None]
    if not wanted:
        raise Refused("No bottle has a range to reach: give at least one.")
    found = {i: window_in(ahead, i, *between) for i, between in wanted}
    spans = Spans(bench, ahead, unsure) if unsure is not None else None
    read = {i for i, in_range in enumerate(read_in_range) if in_range}
    moved = {i for i, _ in wanted if i in read and found[i].enters_s != 0.0}
    sentences = [
        _moved_sentence(bench.bottles[i].name, ahead.bottles_c[i][0], between, units.temperature)
        if i in moved
        else _bottle_sentence(bench.bottles[i].name, found[i], ahead, i, between, units.temperature, spans)
        for i, between in wanted
    ]
    if len(wanted) > 1 and moved and all(i in read for i, _ in wanted):
        sentences.append("all were in range when read")
    elif len(wanted) > 1:
        sentences.append(
            _together_sentence(all_in_range_in(ahead, ranges), ahead.times_s[-1], _span(spans, ranges))
        )
    strictest = min(wanted, key=lambda pair: pair[1][1] - pair[1][0])
    sentences.extend(_water_sentences(bench, *strictest, found[strictest[0]], (hot_c, cold_c), units))
    return tuple(sentences)


def _bottle_sentence(
    name: str,
    found: Window,
    ahead: Forecast,
    index: int,
    between: tuple[float, float],
    unit: TemperatureUnit,
    spans: Spans | None,
) -> str:
    """ "developer ready in 6 min, too hot in 24 min"; "ready in 5 to 8 min" where it is not known better."""
    if found.enters_s is None:
        curve = ahead.bottles_c[index]
        turn_c, edge_c = (max(curve), between[0]) if curve[0] < between[0] else (min(curve), between[1])
        return (
            f"{name} not ready within {_minutes(ahead.times_s[-1])}: "
            f"it comes to {temperature(turn_c, unit)}, not {temperature(edge_c, unit)}"
        )
    span = _span(spans, tuple(between if i == index else None for i in range(len(ahead.bottles_c))))
    ready = f"{name} ready now" if found.enters_s <= 0.0 else f"{name} ready {_within(found.enters_s, span)}"
    if found.leaves_s is None:
        return f"{ready}, stays in range for {_minutes(ahead.times_s[-1])} from now"
    return f"{ready}, too {'hot' if found.leaves_upward else 'cold'} in {_minutes(found.leaves_s)}"


def _moved_sentence(name: str, now_c: float, between: tuple[float, float], unit: TemperatureUnit) -> str:
    """A bottle that was read in range, and whose curve has left it since."""
    now = temperature(now_c, unit)
    by_now = "at its edge" if now in {temperature(edge_c, unit) for edge_c in between} else f"about {now}"
    return f"{name} in range when read, by now {by_now}: read it again"


def _together_sentence(found: Window, horizon_s: float, span: tuple[float, float | None] | None) -> str:
    if found.enters_s is None:
        return f"at no time within {_minutes(horizon_s)} are all bottles in range together"
    ready = "all ready now" if found.enters_s <= 0.0 else f"all ready {_within(found.enters_s, span)}"
    held_s = (horizon_s if found.leaves_s is None else found.leaves_s) - found.enters_s
    return f"{ready}, held for {'more than ' if found.leaves_s is None else ''}{_minutes(held_s)}"


def _water_sentences(
    bench: TemperingBench,
    index: int,
    between: tuple[float, float],
    found: Window,
    taps_c: tuple[float | None, float | None],
    units: Units,
) -> tuple[str, ...]:
    """What to add from which tap (hot, cold), or why that tap does not help."""
    hot_c, cold_c = taps_c
    target_c = 0.5 * (between[0] + between[1])
    missed = found.enters_s is None
    too_cold = missed and bench.bottles[index].temperature_c < between[0]
    hot_now = bench.bottles[index].temperature_c > between[1]
    too_hot = (missed and not too_cold) or found.leaves_upward or hot_now
    leaves_s = found.leaves_s if found.enters_s == 0.0 and not found.leaves_upward else None
    try:
        if (too_cold or (leaves_s is not None and leaves_s < _HELD_S)) and hot_c is not None:
            return _from_the_hot_tap(bench, index, target_c, hot_c, units)
        if too_hot and cold_c is not None:
            cold_ml = cold_water_now_ml(bench, target_c, cold_c, index)
            # Until the bottle is warm the bath is to be hot; what is to be added then is the same.
            once = f"once {bench.bottles[index].name} is in its range, " if found.enters_s else ""
            return (
                (f"{once}add {_water(cold_ml, units.volume)} from the cold tap to the warm bath{_FULL}",)
                if cold_ml > 0.0
                else ()
            )
    except Refused as refusal:
        return (said(refusal, units),)
    return ()


def _from_the_hot_tap(
    bench: TemperingBench, index: int, target_c: float, hot_c: float, units: Units
) -> tuple[str, ...]:
    """What to top up with; where that is more than a bucket takes, the bath to make anew."""
    hot_ml = hot_water_now_ml(bench, target_c, hot_c, index)
    if hot_ml <= 0.0:
        return ()
    if hot_ml > _TOP_UP * bench.bath_ml:
        anew_c = starting_bath_c(bench, tuple(target_c if i == index else None for i in range(len(bench.bottles))))
        if anew_c <= hot_c:
            anew = f"{_water(bench.bath_ml, units.volume)} at {temperature(anew_c, units.temperature)}"
            return (f"too cold to top up: make the bath anew, {anew}",)
    return (f"add {_water(hot_ml, units.volume)} from the hot tap to the warm bath{_FULL}",)


def _counted(bench: TemperingBench, bottle_index: int | None) -> tuple[int, ...]:
    if not bench.bottles:
        raise Refused("There is no bottle in the bath: ask for the mix of the bath alone.")
    return tuple(range(len(bench.bottles))) if bottle_index is None else (bottle_index,)


def _miss_c(bench: TemperingBench, target_c: float, counted: tuple[int, ...]) -> float:
    """By how many °C the counted bottles settle above the target, on average."""
    return sum(settles_at_c(bench, i, target_c) - target_c for i in counted) / len(counted)


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses 0 between `low` and `high`: false position, the stale end halved."""
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


def _span(spans: Spans | None, ranges: Ranges) -> tuple[float, float | None] | None:
    return spans.enters_s(ranges) if spans is not None else None


def _within(at_s: float, span: tuple[float, float | None] | None) -> str:
    """A moment to come as near as it is known: "in 8 to 14 min", "within 3 min", "in 8 min or later"."""
    if span is None:
        return f"in {_minutes(at_s)}"
    early_min, late_s = math.floor(span[0] / 60.0), span[1]
    if late_s is None:
        return f"in {_minutes(max(early_min, 1) * 60.0)} or later"
    late = _minutes(late_s)
    if early_min < 1:
        return f"within {late}"
    early = _minutes(early_min * 60.0)
    return f"in {early if early != late else ''}{' to ' if early != late else ''}{late}".replace(
        " min to ", " to "
    )


def _minutes(seconds: float) -> str:
    minutes = math.ceil(seconds / 60.0 - 1e-9)
    if minutes < 120:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def _water(volume_ml: float, unit: VolumeUnit) -> str:
    """What is drawn into a bath: to ten millilitres, or a tenth of a litre; in US measures as these are read."""
    if unit != "ml":
        return volume(volume_ml, unit)
    return f"{volume_ml / 1000.0:.1f} l" if volume_ml >= 950.0 else f"{max(round(volume_ml, -1), 10.0):.0f} ml"
