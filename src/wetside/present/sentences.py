"""Fills the templates of sentences with values in a person's units."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from string import Formatter
from typing import TYPE_CHECKING, Any, Final

from wetside.present.wording import (
    counted,
    difference,
    minutes_seconds,
    span,
    temperature,
    temperatures,
    the,
    volume,
)

if TYPE_CHECKING:
    # Not on the way to the first paint of home.
    from wetside.domain.planning.setup import Test, Units

Specs = Mapping[str, "Callable[[Any, Units], str]"]

CHECKS: Final[dict[Test, str]] = {
    "leader": "see whether a scrap leader goes dark in it",
    "clearing": "time how an undeveloped scrap leader clears in it",
    "bleach": "see whether a leader blackened in the developer clears in it and then in good fixer",
    "bleach-fix": "see whether a leader blackened in the developer clears in it, and time an undeveloped one",
    "none": "look at it: cloudiness, scum or sludge mean that it is spoilt",
}
"""How a solution is tested before film goes in (common practice, no source)."""

_SPECS: Final[Specs] = {
    "check": lambda value, _: CHECKS[value],
    "degrees": lambda value, units: temperature(value, units.temperature),
    "range": lambda value, units: temperatures(value, units.temperature),
    "kelvin": lambda value, units: difference(value, units.temperature),
    "volume": lambda value, units: volume(value, units.volume),
    "clock": lambda value, _: minutes_seconds(value),
    "span": lambda value, _: span(value),
    "days": lambda value, _: counted(int(value), "day") if value >= 1 else "less than a day",
    "list": lambda value, _: ", ".join(value),
    "the": lambda value, _: the(value),
    "The": lambda value, _: the(value)[:1].upper() + the(value)[1:],
}
"""How a value is worded, by the format spec in a template."""


class _Filler(Formatter):
    def __init__(self, units: Units, specs: Specs) -> None:
        self._units, self._specs = units, specs

    def format_field(self, value: Any, format_spec: str) -> str:
        word = self._specs.get(format_spec) or _SPECS.get(format_spec)
        return f"{value:{format_spec}}" if word is None else word(value, self._units)


def filled(template: str, values: Mapping[str, Any], units: Units, specs: Specs) -> str:
    """The sentence of a template. specs: how its own format specs are worded, beside those of every table.

    Raises KeyError for a value that is missing.
    """
    return _Filler(units, specs).vformat(template, (), values)


@cache
def word_table(name: str) -> Any:
    """The words of `NAME.toml`, beside this module, read on first use: the first screen needs none of them."""
    import tomllib

    return tomllib.loads(Path(__file__).with_name(f"{name}.toml").read_text("utf-8"))
