"""How the heart says a duration, a share and a temperature in a sentence.

It must not choose units for the person (the shell converts and passes its own words) and must not decide
anything. It writes °, × and the true minus sign; folding them to ASCII is the screen's business.
"""

from __future__ import annotations

import math

SMALLEST_SHARE = 0.0005
"""A factor nearer to 1 than this (0.05 %) is said as "no change": 0.1 s of a 3:30 developer."""


def minutes_seconds(seconds: float) -> str:
    """A duration in s as "3:30", from an hour on as "1:02:03"; rounded to the nearest second, half upward."""
    whole = math.floor(abs(seconds) + 0.5)
    sign = "−" if seconds < 0 and whole else ""
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{sign}{hours}:{minutes:02d}:{left:02d}"
    return f"{sign}{minutes}:{left:02d}"


def percent(factor: float) -> str:
    """A factor as its change: 1.07 -> "+7 %", 0.8 -> "−20 %", 1.004 -> "+0.4 %", 1.0 -> "±0 %"."""
    change = (factor - 1.0) * 100.0
    if is_one(factor):
        return "±0 %"
    sign = "−" if change < 0 else "+"
    size = abs(change)
    return f"{sign}{size:.1f} %" if size < 0.95 else f"{sign}{size:.0f} %"


def is_one(factor: float) -> bool:
    """Whether a factor is too near 1 to be worth a word."""
    return abs(factor - 1.0) < SMALLEST_SHARE


def celsius(temperature_c: float) -> str:
    """A temperature in °C to a tenth: "38.4 °C"; -0.04 is "0.0 °C"."""
    tenths = round(temperature_c, 1) + 0.0
    return f"{tenths:.1f} °C".replace("-", "−")
