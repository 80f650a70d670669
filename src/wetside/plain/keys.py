"""What a typed line means in the plain form: the keys it stands for, or a sentence why it stands for none.

One job: turn a line into the key presses the full screen would get. It presses nothing and decides nothing: the
same gates stand behind both forms.
"""

from __future__ import annotations

import re
from typing import Final

from wetside.domain.calc.wording import on_scale
from wetside.errors import Refused
from wetside.files.units import quoted, temperature_c
from wetside.present.actions import by_letter
from wetside.present.prompts import LONGEST_NUMBER, Choice, Menu, Number, Page, Panel, Words

LONGEST_LINE: Final = 400
"""Longer lines are not read: nothing that is asked for is that long."""

_NUMBER: Final = re.compile(r"[-−]?\d+(?:[.,]\d+)?", re.ASCII)
_NAMED: Final = {"s": "space", "b": "backspace"}


def keys_of(line: str, panel: Panel | None, number_wanted: bool, unit: str) -> tuple[str, ...] | str:
    """The keys a line stands for, in order, or a sentence that says why it is not understood.

    panel: what stands over the step. number_wanted: whether a number may be typed straight away, for a
    temperature in `unit`.
    """
    if isinstance(panel, Words):
        return (*("space" if letter == " " else letter for letter in line.strip()), "enter")
    text = line.strip().casefold()
    if not text:
        return ("space",) if line else ("enter",)
    if text in _NAMED:
        return (_NAMED[text],)
    match panel:
        case Menu() | Choice():
            return _chosen(panel, text)
        case Number():
            return _typed(text, panel.unit, panel.what == "temperature")
        case Page():
            return ("enter",)
        case None:
            if number_wanted and text[0].isdecimal():
                return _typed(text, unit, temperature=True)
            return (text,) if by_letter(text) is not None else _not_understood(text, number_wanted)


def _chosen(panel: Menu | Choice, text: str) -> tuple[str, ...] | str:
    rows = len(panel.items) if isinstance(panel, Menu) else len(panel.options)
    if text.isascii() and text.isdigit() and 1 <= int(text[:4]) <= rows:
        moves = (int(text) - 1 - panel.index) % rows
        if moves == 0 and panel.index < 0:
            moves = rows
        return (*("space",) * moves, "enter")
    if isinstance(panel, Menu) and any(text == letter for _, _, letter in panel.items):
        return (text,)
    return f'"{quoted(text)}" is none of them: type a number from 1 to {rows}, or b to leave.'


def _typed(text: str, unit: str, temperature: bool) -> tuple[str, ...] | str:
    """A number's digits and ENTER; a temperature may carry its unit, and is then turned into the one wanted."""
    bare = text.replace("−", "-")
    if not _NUMBER.fullmatch(bare):
        if not temperature:
            bare = bare.removesuffix(unit).strip()
        else:
            try:
                celsius = temperature_c(text)
            except Refused as refusal:
                return str(refusal)
            bare = f"{on_scale(celsius, '°C' if unit == '°C' else '°F'):.1f}"
    if not _NUMBER.fullmatch(bare) or len(bare) > LONGEST_NUMBER:
        return f'"{quoted(text)}" is not a number that can be meant here.'
    return (*bare, "enter")


def _not_understood(text: str, number_wanted: bool) -> str:
    number = "a number, " if number_wanted else ""
    return f'"{quoted(text)}" is not understood: {number}s, b, k for the letters, ? to hear everything again.'
