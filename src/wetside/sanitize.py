"""Which letters may be kept, shown and sent: the one place that knows letters that act instead of being read.

One job: make controls, line breaks, direction marks and half characters harmless, and write our signs in ASCII
where a terminal takes nothing else. It must not know a file format, a screen or the trade; it loads the standard
library and the errors only, so every room may use it.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from wetside.errors import Refused

MOST_TYPED: Final = 500
"""The longest text kept as a person typed it, in characters."""

ACTING: Final = "\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff"
"""For a regular expression's brackets: C0 and C1 controls, line and paragraph breaks, direction marks, BOM."""

IN_ASCII: Final = {
    "→": "->",
    "←": "<-",
    "↑": "^",
    "↓": "v",
    "°": " deg",
    "±": "+/-",
    "−": "-",
    "–": "-",
    "—": "-",
    "×": "x",
    "·": ".",
    "≤": "<=",
    "≥": ">=",
    "½": "1/2",
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
    "✓": "x",
    "▶": ">",
    "█": "#",
    "▀": "#",
    "▄": "#",
    "│": "|",
    "─": "-",
    "┌": "+",
    "┐": "+",
    "└": "+",
    "┘": "+",
    "├": "+",
    "┤": "+",
    "┬": "+",
    "┴": "+",
    "┼": "+",
    "●": "*",
    "○": "o",
}
"""What each sign of ours becomes in an ASCII locale. "°C" and "°F" are handled first: "C" and "F"."""

_HALF = "\ud800-\udfff"
_CODED = re.compile(f"[{ACTING}{_HALF}]")
_HALVES = re.compile(f"[{_HALF}]")
_BREAKS: Final = str.maketrans("\t\n\r", "   ")


def hidden(letter: str) -> bool:
    """Whether a character draws nothing by itself, or moves the text around it.

    These are Unicode's controls, formats (direction marks too), surrogates, private and unassigned characters,
    and its line and paragraph breaks; a space of any width is not.
    """
    return not letter.isprintable() and unicodedata.category(letter) != "Zs"


def seen(text: str) -> str:
    """`text` with "?" for whatever in it cannot be seen, line breaks too: fit to stand in a sentence.

    Spaces of other widths become plain ones.
    """
    if text.isprintable():
        return text
    return "".join("?" if hidden(letter) else letter if letter.isprintable() else " " for letter in text)


def sendable(text: str, utf8: bool) -> str:
    """`text` as it may be sent to a terminal: one line, nothing hidden, ASCII only where it takes no UTF-8."""
    text = seen(text.translate(_BREAKS))
    return text if utf8 else in_ascii(text)


def in_ascii(text: str) -> str:
    """`text` in ASCII: our signs by the table, letters without their marks, "?" for the rest."""
    if text.isascii():
        return text
    text = text.replace("°C", "C").replace("°F", "F")
    return "".join(letter if letter.isascii() else _one_in_ascii(letter) for letter in text)


def coded(text: str) -> str:
    """`text` on one line with every acting letter, and half of a character pair, written as "[U+202E]"."""
    return _CODED.sub(_code, text)


def whole(text: str) -> str:
    """`text` as it is, only halves of character pairs written out: UTF-8 cannot hold them."""
    return _HALVES.sub(_code, text)


def typed(text: str, empty: str) -> str:
    """What a person typed, trimmed. Refused when it is empty (`empty` says so), too long or not plain words."""
    text = text.strip()
    if not text:
        raise Refused(empty)
    if len(text) > MOST_TYPED:
        raise Refused(f"That is {len(text)} characters; keep it to {MOST_TYPED}.")
    if not text.isprintable():
        raise Refused("That text has control characters in it: type plain words.")
    return text


def _one_in_ascii(letter: str) -> str:
    if letter in IN_ASCII:
        return IN_ASCII[letter]
    if unicodedata.combining(letter):
        return ""
    return unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode("ascii") or "?"


def _code(match: re.Match[str]) -> str:
    return f"[U+{ord(match[0]):04X}]"
