"""Words what the shelf and the planner refuse, in the person's units.

The sentence of each code is in `refusals.toml`, beside this module, which is read on first use. A refusal inside a
session is worded by `session_words.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Final

from wetside.domain.messages import Message, Refusal, Unfit
from wetside.domain.planning.setup import METRIC, Units
from wetside.errors import CheckFailed, Refused
from wetside.present.sentences import COMMON, Specs, word_table, worded_by
from wetside.present.wording import degrees, temperatures, trimmed

_TRIED: Final = {
    "leader": "A leader does not go dark in",
    "clearing": "An undeveloped leader does not clear in",
    "bleach": "A blackened leader does not clear in",
}
_SPECS: Final[Specs] = {
    "said": lambda value, units: refusal_text(value, units),
    "served": lambda value, units: _served(units, *value),
    "nearest": lambda value, _: f"; the nearest is {value}" if value else "",
    "tried": lambda value, _: _TRIED[value],
    "or the sheet": lambda value, _: where_it_goes(value),
}


def _served(units: Units, coolest_c: float, warmest_c: float, tolerance_k: float) -> str:
    """The range as a sheet states it: "29.4 to 38.9 °C", or "37.8 ± 0.15 °C" for a single row."""
    unit = units.temperature
    if coolest_c < warmest_c:
        return temperatures((coolest_c, warmest_c), unit)
    half = trimmed(tolerance_k if unit == "°C" else tolerance_k * 1.8, 2)
    return f"{degrees(coolest_c, unit)} ± {half} {unit}"


@cache
def templates() -> dict[str, str]:
    """The sentence of each code, with places for its values."""
    table = word_table("refusals")
    return {**COMMON, **table["shelf"], **table["planning"]}


def where_it_goes(disposal: str) -> str:
    """Where a bottle's content is disposed of, by its profile; where that says nothing, what decides."""
    return disposal or "Follow the kit's own data sheet and local rules."


def refusal_text(why: Message, units: Units = METRIC) -> str:
    """The sentence of a refusal."""
    return worded_by(templates(), why, units, _SPECS)


@contextmanager
def worded(units: Units = METRIC) -> Iterator[None]:
    """A context, or a decorator, in which refusals by code become `Refused` and `CheckFailed` with sentences."""
    try:
        yield
    except Refusal as refusal:
        raise Refused(refusal_text(refusal.why, units)) from refusal
    except Unfit as unfit:
        raise CheckFailed(tuple(refusal_text(why, units) for why in unfit.findings)) from unfit
