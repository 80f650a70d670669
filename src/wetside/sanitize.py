"""Sanitizes text for files and terminals: control characters, direction marks, lone surrogates, ASCII conversion.

It imports the standard library and the errors only, so that every part of the program may use it.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

MOST_TYPED: Final = 500
"""The longest typed text that is accepted, in characters."""

CONTROLS: Final = "\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff"
"""For a character class of a regular expression: C0 and C1 controls, line breaks, direction marks, BOM."""

IN_ASCII: Final = {
    **dict(zip("↑−–—×·’‘✓▶│─●○", "^---x.''x>|-*o", strict=True)),
    **dict.fromkeys("┌┐└┘├┤┬┴┼", "+"),
    **dict.fromkeys("█▀▄", "#"),
    **dict.fromkeys("“”", '"'),
    "↓": "v",
    "→": "->",
    "←": "<-",
    "°": " deg",
    "±": "+/-",
    "≤": "<=",
    "≥": ">=",
    "½": "1/2",
}
"""The ASCII form of each sign the program uses; `in_ascii` replaces "°C" and "°F" by "C" and "F" first."""

_SURROGATE_RANGE = "\ud800-\udfff"
_CONTROLS_AND_SURROGATES = re.compile(f"[{CONTROLS}{_SURROGATE_RANGE}]")
_SURROGATES = re.compile(f"[{_SURROGATE_RANGE}]")
_BREAKS: Final = str.maketrans("\t\n\r", "   ")


def invisible(character: str) -> bool:
    """Whether a character draws nothing by itself, or moves the text around it.

    True of control, format, surrogate, private and unassigned characters and of line and paragraph breaks; a space
    of any width is visible.
    """
    return not character.isprintable() and unicodedata.category(character) != "Zs"


def printable(text: str) -> str:
    """`text` with "?" for each invisible character, line breaks too; spaces of other widths become plain ones."""
    if text.isprintable():
        return text
    return "".join("?" if invisible(char) else char if char.isprintable() else " " for char in text)


def sendable(text: str, utf8: bool) -> str:
    """`text` as one line of visible characters for a terminal; in ASCII where the terminal takes no UTF-8."""
    text = printable(text.translate(_BREAKS))
    return text if utf8 else in_ascii(text)


def in_ascii(text: str) -> str:
    """`text` in ASCII: signs by the table, letters without diacritics, "?" for the rest."""
    if text.isascii():
        return text
    text = text.replace("°C", "C").replace("°F", "F")
    return "".join(char if char.isascii() else _character_in_ascii(char) for char in text)


def escape_controls(text: str) -> str:
    """`text` on one line, with each control character and lone surrogate written as "[U+202E]"."""
    return _CONTROLS_AND_SURROGATES.sub(_code_point, text)


def encodable(text: str) -> str:
    """`text` with lone surrogates written as "[U+D800]", as UTF-8 cannot encode them."""
    return _SURROGATES.sub(_code_point, text)


def _character_in_ascii(char: str) -> str:
    if char in IN_ASCII:
        return IN_ASCII[char]
    if unicodedata.combining(char):
        return ""
    return unicodedata.normalize("NFKD", char).encode("ascii", "ignore").decode("ascii") or "?"


def _code_point(match: re.Match[str]) -> str:
    return f"[U+{ord(match[0]):04X}]"
