"""How values are put into the sentences of `mixing_words.toml`, those of an evening that mixes a kit."""

from __future__ import annotations

from typing import Final

from wetside.domain.planning.setup import METRIC, Units, Water
from wetside.domain.planning.warm_bath import boiled_for
from wetside.domain.profile.mixing_lines import Amount, MixingLine, ToTheVolume, mixing_line
from wetside.domain.shelf.mixing import FULL_ML
from wetside.present.labels import label_words
from wetside.present.sentences import Specs
from wetside.present.water_text import boiled_words, drawn_water, scald_sentence
from wetside.present.wording import temperature, trimmed, volume, volume_parts

_GUESSED: Final = " These are guesses of your taps: go by the thermometer."
SPECS: Final[Specs] = {
    "scaled": lambda value, units: scaled(mixing_line(value[0]), value[1], units),
    "spaced": lambda value, _: " ".join(value),
    "taps": lambda value, units: _from_the_taps(value, units),
    "guessed taps": lambda value, units: _from_the_taps(value, units, _GUESSED),
    "scald": lambda value, units: scald_sentence(value, units),
    "short label": lambda value, _: _short_label(*value),
    "whole label": lambda value, _: _whole_label(*value),
}


def _short_label(title: str, kit: str, mixed_on: str, best_before: str, signal: str) -> str:
    words = label_words(title, kit, mixed_on, best_before or None, 0.0)[1:4]
    return ", ".join((title, *words, *((signal,) if signal else ())))


def _whole_label(
    title: str, kit: str, mixed_on: str, best_before: str, signal: str, storage: str, *hazards: str
) -> str:
    words = label_words(
        title, kit, mixed_on, best_before or None, 0.0, storage=storage, signal=signal, hazards=hazards
    )
    return f"{'. '.join(each.rstrip('.') for each in words)}."


def scaled(line: MixingLine, ml: float, units: Units = METRIC) -> str:
    """The line scaled to `ml` of solution: "800 ml for one litre" becomes "400 ml for 500 ml"."""
    made = volume(ml, units.volume)
    words = []
    for part in line.parts:
        match part:
            case Amount(text=text) if ml == FULL_ML and units.volume == "ml":
                words.append(text)
            case Amount(least=least, most=most, unit=unit):
                number, name = _shown_amount(most, unit, ml, units)
                from_least = "" if least is None else f"{_shown_amount(least, unit, ml, units)[0]} to "
                words.append(f"{from_least}{number} {name} for {made}")
            case ToTheVolume():
                words.append(f"to {made}")
            case text:
                words.append(text)
    return "".join(words)


def _shown_amount(for_a_litre: float, unit: str, ml: float, units: Units) -> tuple[str, str]:
    """The number and the unit of an amount for `ml` of solution."""
    amount = for_a_litre * ml / FULL_ML
    if unit == "l" or (unit == "ml" and units.volume != "ml"):
        return volume_parts(amount * (1000.0 if unit == "l" else 1.0), units.volume)
    return trimmed(amount, 1), unit


def _from_the_taps(water: tuple[float, float, float, float], units: Units, guess: str = "") -> str:
    """How to draw so much water from the taps; what to boil where they cannot make it.

    water: its temperature (°C), its volume (ml), the temperatures of the hot and the cold tap (°C).
    """
    target_c, ml, hot_c, cold_c = water
    taps = Water(hot_c, cold_c, bath_ml=ml)
    hot, cold = temperature(taps.hot_c, units.temperature), temperature(taps.cold_c, units.temperature)
    drawn = drawn_water(taps, target_c, units.volume)
    if drawn is None:
        boiled = boiled_for(taps, target_c)
        if boiled is not None:
            return f"The hot tap gives {hot}: {boiled_words(boiled, units.volume)}"
        aim = temperature(target_c, units.temperature)
        if target_c > taps.hot_c:
            return f"Hotter water than {hot} is needed to reach {aim}: heat some of it and measure it again."
        return f"Colder water than {cold} is needed to reach {aim}: cool some of it with ice and measure it again."
    parts = [f"{drawn.cold} cold ({cold})"] if drawn.cold else []
    parts += [f"{drawn.hot} hot ({hot})"] if drawn.hot else []
    return f"From the taps: {' and '.join(parts)} make {drawn.whole}.{guess}"
