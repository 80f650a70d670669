"""Words the warm bath: how it is mixed, when each of its bottles is ready, and which water to add."""

from __future__ import annotations

import math
from typing import Final

from wetside.domain.messages import alert
from wetside.domain.planning.plan import BottleForecast, Plan, Tempering, WaterToAdd
from wetside.domain.planning.setup import Units, VolumeUnit
from wetside.domain.planning.warm_bath import tap_alert
from wetside.domain.planning.warming import HORIZON_S
from wetside.present.message_words import in_words
from wetside.present.water_text import bath_sentence, scald_sentence
from wetside.present.wording import span_range, temperature, volume

_FULL: Final = "; if it is full, take so much out first"


def bath_water(plan: Plan) -> tuple[str, ...]:
    """The sentences on the water of a plan's warm bath: how it is mixed, and the caution; () without a bath."""
    if plan.water is None or plan.water.words:
        return () if plan.water is None else tuple(map(in_words, plan.water.words))
    taps, units = plan.setup.water, plan.units
    if plan.water.too_small is not None:
        return (in_words(alert("bath-too-small", why=plan.water.too_small), units),)
    scald = scald_sentence(taps.hot_c, units)
    if plan.water.hot_ml is None:
        return (in_words(tap_alert(taps, plan.water.target_c), units), scald)
    return (bath_sentence(taps, plan.water.target_c, units), scald)


def plan_answers(plan: Plan) -> tuple[str, ...]:
    """The phrases on the warming of a plan's bottles, before any reading; () where nothing is tempered."""
    if plan.tempering is None or plan.tempering.words:
        return () if plan.tempering is None else tuple(map(in_words, plan.tempering.words))
    answers = answers_in_words(plan.tempering, plan.units)
    return (*answers, "A guess until readings come in: bottles and bucket are taken as usual ones.")


def answers_in_words(found: Tempering, units: Units, read_in_range: tuple[bool, ...] = ()) -> tuple[str, ...]:
    """Phrases: one for each bottle with a range, one for all of them together, one for the water to add.

    read_in_range: whether the last reading of each was in range; such a bottle is never called not ready, but is
    to be read again.
    """
    bottles = found.forecasts or ()
    read = (*read_in_range, *(False for _ in bottles[len(read_in_range) :]))
    moved = [was and each.enters_s != 0.0 for was, each in zip(read, bottles, strict=True)]
    phrases = [
        _read_again(each, units) if again else _bottle_phrase(each, units)
        for again, each in zip(moved, bottles, strict=True)
    ]
    if len(bottles) > 1:
        phrases.append("all were in range when read" if any(moved) and all(read) else _together_phrase(found))
    return (*phrases, _water_phrase(found.add, units)) if found.add is not None else tuple(phrases)


def _bottle_phrase(found: BottleForecast, units: Units) -> str:
    """The phrase for a bottle: "developer ready in 6 min, too hot in 24 min"; with a span "in 5 to 8 min"."""
    if found.enters_s is None:
        edge_c = found.range_c[0] if found.now_c < found.range_c[0] else found.range_c[1]
        turn, edge = temperature(found.nearest_c, units.temperature), temperature(edge_c, units.temperature)
        return f"{found.title} not ready within {_minutes(HORIZON_S)}: it comes to {turn}, not {edge}"
    when = "now" if found.enters_s <= 0.0 else _within(found.enters_s, found.span_s)
    if found.leaves_s is None:
        return f"{found.title} ready {when}, stays in range for {_minutes(HORIZON_S)} from now"
    leaves = _minutes_left(found.leaves_s)
    return f"{found.title} ready {when}, too {'hot' if found.too_hot else 'cold'} in {leaves}"


def _read_again(found: BottleForecast, units: Units) -> str:
    """The phrase for a bottle that was read in range and whose forecast has left it since."""
    now = temperature(found.now_c, units.temperature)
    at_edge = now in {temperature(edge_c, units.temperature) for edge_c in found.range_c}
    return (
        f"{found.title} in range when read, by now {'at its edge' if at_edge else f'about {now}'}: read it again"
    )


def _together_phrase(found: Tempering) -> str:
    if found.ready_s is None:
        return f"at no time within {_minutes(HORIZON_S)} are all bottles in range together"
    ready = "all ready now" if found.ready_s <= 0.0 else f"all ready {_within(found.ready_s, found.ready_span_s)}"
    held_s = (HORIZON_S if found.leaves_range_s is None else found.leaves_range_s) - found.ready_s
    held = _minutes_left(held_s)
    return f"{ready}, held for {'more than ' if found.leaves_range_s is None else ''}{held}"


def _water_phrase(add: WaterToAdd, units: Units) -> str:
    if add.why is not None:
        return in_words(add.why, units)
    water = _water(add.ml, units.volume)
    if add.at_c is not None:
        return f"too cold to top up: make the bath anew, {water} at {temperature(add.at_c, units.temperature)}"
    once = f"once {add.once} is in its range, " if add.once else ""
    return f"{once}add {water} from the {add.what} tap to the warm bath{_FULL}"


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


def _minutes_left(seconds: float) -> str:
    """A time that is left, in whole minutes: nobody is promised more than there is."""
    return _minutes(math.floor(seconds / 60.0) * 60.0) if seconds >= 60.0 else "under 1 min"


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
