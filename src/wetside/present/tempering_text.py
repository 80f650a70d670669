"""Words the forecast of the bottles in the warm bath: when each is ready, and which water to add."""

from __future__ import annotations

import math
from typing import Final

from wetside.domain.calc.tempering import (
    Forecast,
    ReadySpans,
    TemperingBench,
    Uncertainty,
    Window,
    all_in_range_in,
    forecast,
    window_in,
)
from wetside.domain.messages import Refusal
from wetside.domain.planning.setup import METRIC, Units, VolumeUnit
from wetside.domain.planning.warm_bath import starting_bath_c, top_up_ml
from wetside.present.refusal_text import refusal_text
from wetside.present.wording import span_range, temperature, volume

_TOP_UP: Final = 0.5
"""The largest share of the bath that is added to it; for more the bath is mixed again (our own number)."""

_HELD_S: Final = 1200.0
"""A ready bottle must stay in range for this long, while film is loaded; otherwise water is added (our own
number)."""

_FULL: Final = "; if it is full, take so much out first"

Range = tuple[float, float]


def answers_in_words(
    bench: TemperingBench,
    ranges: tuple[Range | None, ...],
    hot_c: float | None = None,
    cold_c: float | None = None,
    horizon_s: float = 7200.0,
    curves: Forecast | None = None,
    read_in_range: tuple[bool, ...] = (),
    units: Units = METRIC,
    uncertainty: Uncertainty | None = None,
) -> tuple[str, ...]:
    """Phrases: one for each bottle with a range, one for all of them together, one for the water to add.

    ranges: as in `tempering.all_in_range_in`. hot_c, cold_c: the taps, None where unknown. curves: the forecast,
    where it has been made already. read_in_range: whether the last reading of each bottle was in range; such a
    bottle is never called not ready, but is to be read again. uncertainty: with it, times are given as spans. The
    water is meant to bring the bottle with the narrowest range to its middle; it is left out where that tap is
    unknown, and where the bottle comes into its range and stays there. At least one bottle has a range.
    """
    ahead = curves or forecast(bench, horizon_s)
    wanted = [(i, between) for i, between in enumerate(ranges) if between is not None]
    spans = ReadySpans(bench, ahead, uncertainty) if uncertainty is not None else None
    read = {i for i, in_range in enumerate(read_in_range) if in_range}
    found = {i: window_in(ahead, i, *between) for i, between in wanted}
    moved = {i for i, _ in wanted if i in read and found[i].enters_s != 0.0}
    sentences = []
    for i, between in wanted:
        name, curve = bench.bottles[i].name, ahead.bottles_c[i]
        if i in moved:
            sentences.append(_read_again(name, curve[0], between, units))
        else:
            span = spans.enters_s(_alone(ranges, i)) if spans is not None else None
            sentences.append(_bottle_sentence(name, found[i], curve, ahead.times_s[-1], between, units, span))
    if len(wanted) > 1 and moved and all(i in read for i, _ in wanted):
        sentences.append("all were in range when read")
    elif len(wanted) > 1:
        span = spans.enters_s(ranges) if spans is not None else None
        sentences.append(_together_sentence(all_in_range_in(ahead, ranges), ahead.times_s[-1], span))
    strictest = min(wanted, key=lambda pair: pair[1][1] - pair[1][0])
    try:
        water = _water_sentence(bench, *strictest, found[strictest[0]], (hot_c, cold_c), units)
    except Refusal as refusal:
        water = refusal_text(refusal.why, units)
    return (*sentences, water) if water else tuple(sentences)


def _alone(ranges: tuple[Range | None, ...], index: int) -> tuple[Range | None, ...]:
    return tuple(between if i == index else None for i, between in enumerate(ranges))


def _bottle_sentence(
    name: str,
    found: Window,
    curve: tuple[float, ...],
    horizon_s: float,
    between: Range,
    units: Units,
    span: tuple[float, float | None] | None,
) -> str:
    """The phrase for a bottle: "developer ready in 6 min, too hot in 24 min"; with a span "in 5 to 8 min"."""
    if found.enters_s is None:
        turn_c, edge_c = (max(curve), between[0]) if curve[0] < between[0] else (min(curve), between[1])
        turn, edge = temperature(turn_c, units.temperature), temperature(edge_c, units.temperature)
        return f"{name} not ready within {_minutes(horizon_s)}: it comes to {turn}, not {edge}"
    ready = f"{name} ready now" if found.enters_s <= 0.0 else f"{name} ready {_within(found.enters_s, span)}"
    if found.leaves_s is None:
        return f"{ready}, stays in range for {_minutes(horizon_s)} from now"
    return f"{ready}, too {'hot' if found.leaves_upward else 'cold'} in {_minutes(found.leaves_s)}"


def _read_again(name: str, now_c: float, between: Range, units: Units) -> str:
    """The phrase for a bottle that was read in range and whose forecast has left it since."""
    now = temperature(now_c, units.temperature)
    at_edge = now in {temperature(edge_c, units.temperature) for edge_c in between}
    return f"{name} in range when read, by now {'at its edge' if at_edge else f'about {now}'}: read it again"


def _together_sentence(found: Window, horizon_s: float, span: tuple[float, float | None] | None) -> str:
    if found.enters_s is None:
        return f"at no time within {_minutes(horizon_s)} are all bottles in range together"
    ready = "all ready now" if found.enters_s <= 0.0 else f"all ready {_within(found.enters_s, span)}"
    held_s = (horizon_s if found.leaves_s is None else found.leaves_s) - found.enters_s
    return f"{ready}, held for {'more than ' if found.leaves_s is None else ''}{_minutes(held_s)}"


def _water_sentence(
    bench: TemperingBench,
    index: int,
    between: Range,
    found: Window,
    taps_c: tuple[float | None, float | None],
    units: Units,
) -> str:
    """The water to add from the hot or the cold tap, or the bath to make anew; "" where none is needed."""
    hot_c, cold_c = taps_c
    name, now_c = bench.bottles[index].name, bench.bottles[index].temperature_c
    target_c = 0.5 * (between[0] + between[1])
    missed = found.enters_s is None
    too_cold = missed and now_c < between[0]
    leaves_s = found.leaves_s if found.enters_s == 0.0 and not found.leaves_upward else None
    if (too_cold or (leaves_s is not None and leaves_s < _HELD_S)) and hot_c is not None:
        hot_ml = top_up_ml(bench, index, target_c, "hot", hot_c)
        if hot_ml > _TOP_UP * bench.bath_ml:
            anew_c = starting_bath_c(bench, index, target_c)
            if anew_c <= hot_c:
                anew = f"{_water(bench.bath_ml, units.volume)} at {temperature(anew_c, units.temperature)}"
                return f"too cold to top up: make the bath anew, {anew}"
        return f"add {_water(hot_ml, units.volume)} from the hot tap to the warm bath{_FULL}" if hot_ml > 0 else ""
    too_hot = (missed and not too_cold) or found.leaves_upward or now_c > between[1]
    if too_hot and cold_c is not None:
        cold_ml = top_up_ml(bench, index, target_c, "cold", cold_c)
        # The bath stays hot until the bottle is warm; the amount to add then is the same as now.
        once = f"once {name} is in its range, " if found.enters_s else ""
        add = f"{once}add {_water(cold_ml, units.volume)} from the cold tap to the warm bath{_FULL}"
        return add if cold_ml > 0.0 else ""
    return ""


def _within(at_s: float, span: tuple[float, float | None] | None) -> str:
    """A future moment or its span: "in 8 min", "in 8 to 14 min", "within 3 min", "in 8 min or later"."""
    if span is None:
        return f"in {_minutes(at_s)}"
    early_min, late_s = math.floor(span[0] / 60.0), span[1]
    if late_s is None:
        return f"in {_minutes(max(early_min, 1) * 60.0)} or later"
    early, late = _minutes(early_min * 60.0), _minutes(late_s)
    if early_min < 1:
        return f"within {late}"
    return f"in {late}" if early == late else f"in {span_range(early, late)}"


def _minutes(seconds: float) -> str:
    minutes = math.ceil(seconds / 60.0 - 1e-9)
    if minutes < 120:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def _water(volume_ml: float, unit: VolumeUnit) -> str:
    """A volume of water for the bath, rounded to 10 ml or a tenth of a litre; US units as `volume` rounds them."""
    if unit != "ml":
        return volume(volume_ml, unit)
    return f"{volume_ml / 1000.0:.1f} l" if volume_ml >= 950.0 else f"{max(round(volume_ml, -1), 10.0):.0f} ml"
