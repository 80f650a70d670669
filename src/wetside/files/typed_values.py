"""What a person types where one value is asked for: a number, a day, a temperature or none.

One job: between a typed text and a single value. It must not know what the value is for, and sets no limits but
those that any such value has. Errors: `wetside.errors.Refused`, one sentence with an example of what is read.
"""

from __future__ import annotations

import re
from datetime import date

from wetside.domain.calc.wording import TemperatureUnit
from wetside.errors import Refused
from wetside.files.units import difference_c, quoted, temperature_c


def number(text: str) -> float:
    """ "4", "4.5", "4,5", "+1", "−1"."""
    found = re.fullmatch(r"[+-]?\d{1,6}(?:[.,]\d{1,3})?", text.strip().replace("−", "-"), re.ASCII)
    if found is None:
        raise Refused(f'"{quoted(text)}" is no number: write it like 4 or 4.5.')
    return float(found[0].replace(",", "."))


def count(text: str) -> int:
    """A whole number, as `number`."""
    found = number(text)
    if found != int(found):
        raise Refused(f'"{quoted(text)}" is no whole number: write it like 3.')
    return int(found)


def day_or_none(text: str) -> str | None:
    """An ISO date; None for "0"."""
    if text == "0":
        return None
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise Refused(f'"{quoted(text)}" is no day: write it like 2026-05-01.') from None


def temperature_or_none(text: str, prefer: TemperatureUnit) -> float | None:
    """As `quantities.temperature_c`, in °C; None for "0"."""
    return None if text == "0" else temperature_c(text, prefer)


def difference(text: str, prefer: TemperatureUnit) -> float:
    """As `quantities.difference_c`, in °C; a bare number takes the `prefer` unit."""
    bare = re.fullmatch(r"[\d.,]+", text)
    return difference_c(f"{text} {prefer}" if bare else text)
