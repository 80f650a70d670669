"""The grammar of the mixing lines that a profile states for a solution: amounts, temperatures, and drawn water.

A line is a sentence of the kit's sheet, written for one litre. "800 ml for one litre" and "10 to 20 g for one
litre" are amounts, "to the volume" is the volume wanted, "43 °C" a temperature. A line that begins with "Take" and
names water and a temperature is water to draw and to read. Everything else is text.
"""

from __future__ import annotations

import re

from msgspec import Struct

_AMOUNT = r"(?:(\d+(?:\.\d+)?) to )?(\d+(?:\.\d+)?) (ml|l|g) for (?:one|1|a) lit(?:re|er)"
_TO_THE_VOLUME = "to the volume"
_PART = re.compile(f"{_AMOUNT}|{_TO_THE_VOLUME}")
_DEGREES = re.compile(r"(\d+(?:\.\d+)?) °C")


class Amount(Struct, frozen=True):
    """An amount for one litre in ml, l or g. least: the lower end of a span, None for a single value."""

    text: str
    least: float | None
    most: float
    unit: str


class ToTheVolume(Struct, frozen=True):
    """The volume that is wanted in all."""


class MixingLine(Struct, frozen=True):
    """One mixing line. parts: its text in order. degrees_c: the temperatures it names, in °C.

    warm_as_sheet: it speaks of a temperature that only the kit's sheet states. draws_water: it is water to draw
    and to read. stirs: something goes into the jug.
    """

    text: str
    parts: tuple[str | Amount | ToTheVolume, ...]
    degrees_c: tuple[float, ...]
    warm_as_sheet: bool
    draws_water: bool
    stirs: bool

    @property
    def amounts(self) -> tuple[Amount, ...]:
        """Its amounts, in order."""
        return tuple(part for part in self.parts if isinstance(part, Amount))


def mixing_line(text: str) -> MixingLine:
    """The values of one line; every line can be read."""
    parts: list[str | Amount | ToTheVolume] = []
    end = 0
    for found in _PART.finditer(text):
        parts += [text[end : found.start()]] if found.start() > end else []
        least, most, unit = found.groups()
        if most is None:
            parts.append(ToTheVolume())
        else:
            parts.append(Amount(found[0], None if least is None else float(least), float(most), unit))
        end = found.end()
    parts += [text[end:]] if end < len(text) else []
    degrees_c = tuple(float(each) for each in _DEGREES.findall(text))
    warm_as_sheet = "temperature" in text
    draws = text.startswith("Take") and "water" in text and (bool(degrees_c) or warm_as_sheet)
    stirs = text.startswith(("Stir", "Pour"))
    return MixingLine(text, tuple(parts), degrees_c, warm_as_sheet, draws, stirs)
