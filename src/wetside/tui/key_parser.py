"""Parses the bytes a terminal sends into key events; any bytes are accepted.

A wet plug, a bad serial line or a stray program can send anything, and keys pressed afterwards must still work:
bytes that are not UTF-8 become a replacement character; unknown, broken and unfinished escape sequences are
dropped. So is everything between the marks of a bracketed paste, since pasted text must not press keys; a paste
that is never closed ends after a silence. A silence is proved only by a read that found nothing: bytes that are
read late, because the program was suspended, may have been there all the time.
"""

from __future__ import annotations

import re
from codecs import getincrementaldecoder
from typing import Final

from textual.events import Key
from textual.message import Message
from textual.messages import TerminalSupportsSynchronizedOutput

PASTE_SILENCE_S: Final = 2.0
"""An unclosed paste ends after a silence of this length (s)."""

PASTE_LONGEST_S: Final = 10.0
"""An unclosed paste also ends after this time (s), since keys are ignored until then."""

ALONE_S: Final = 0.1
"""After this silence (s) an escape character alone is the ESC key; an unfinished sequence is dropped."""

_PASTE, _PASTE_END = "\x1b[200~", "\x1b[201~"
_LONGEST: Final = 4096
"""A control string without an end is dropped after so many characters."""

# ECMA-48: control sequences, single shifts and control strings. Before them two forms that deviate from it:
# the function keys of the Linux console, and a mouse report of three bytes. No terminal sends a space inside a
# sequence, so that a space is always the key.
_SEQUENCE: Final = re.compile(
    r"\x1b(?:\[\[.|\[M...|\[[0-?]*[!-/]*[@-~]|O[A-Za-z]|[PX\]^_].*?(?:\x07|\x1b\\)|[^\x1b\[OPX\]^_])", re.DOTALL
)
_BEGINNING: Final = re.compile(r"\x1b(?:\[\[|\[M.{0,2}|\[[0-?]*[!-/]*|O|[PX\]^_].*)?", re.DOTALL)

_MOVES: Final = {"A": "up", "B": "down", "C": "right", "D": "left", "F": "end", "H": "home", "Z": "shift+tab"}
_NUMBERED: Final = {
    "1": "home", "2": "insert", "3": "delete", "4": "end", "5": "pageup", "6": "pagedown", "7": "home", "8": "end",
}  # fmt: skip
_KEYPAD: Final = {"M": "\r", "j": "*", "k": "+", "l": ",", "m": "-", "n": ".", "o": "/", "X": "="} | {
    chr(ord("p") + digit): str(digit) for digit in range(10)
}
_NAMED: Final = {
    " ": "space",
    "\r": "enter",
    "\t": "tab",
    "\x7f": "backspace",
    "\x08": "backspace",
    "\x1b": "escape",
}
_SHIFT, _ALT, _CTRL = 1, 2, 4
_WRITES_NOTHING: Final = range(0xD800, 0xF900)
"""Surrogates, and the private use area, where the keyboard protocol puts keys such as a shift pressed alone."""


class Keyboard:
    """Parses the bytes of one terminal. `at` is seconds on a monotonic clock."""

    def __init__(self) -> None:
        self._decode = getincrementaldecoder("utf-8")("replace").decode
        self._held = ""
        self._paste_since: float | None = None
        self._last_at = 0.0

    @property
    def waiting(self) -> bool:
        """Whether a sequence or paste is unfinished, so that a silence has a meaning."""
        return bool(self._held) or self._paste_since is not None

    def heard(self, data: bytes, at: float) -> list[Message]:
        """The events of `data`, read at `at`."""
        text, self._held, self._last_at = self._held + self._decode(data), "", at
        found: list[Message] = []
        while text:
            if self._paste_since is not None:
                _, ended, after = text.partition(_PASTE_END)
                if not ended:
                    self._held = text[1 - len(_PASTE_END) :]  # may be the beginning of the mark
                    break
                self._paste_since, text = None, after
                continue
            sequence = _first(text)
            if not sequence:
                self._held = text
                break
            text = text[len(sequence) :]
            if sequence == _PASTE:
                self._paste_since = at
            elif (event := _event(sequence)) is not None:
                found.append(event)
        return found

    def waited(self, at: float) -> list[Message]:
        """The events after a read at `at` found nothing: the ESC key, or none."""
        silent_s = at - self._last_at
        if self._paste_since is not None:
            if silent_s > PASTE_SILENCE_S or at - self._paste_since > PASTE_LONGEST_S:
                self._paste_since, self._held = None, ""
        elif self._held and silent_s >= ALONE_S:
            alone, self._held = self._held == "\x1b", ""
            return [Key("escape", None)] if alone else []
        return []


def _first(text: str) -> str:
    """The first character or escape sequence of `text`, without invalid parts; "" if it is unfinished."""
    if text[0] != "\x1b":
        return text[0]
    if found := _SEQUENCE.match(text):
        return found[0]
    begun = _BEGINNING.match(text)
    assert begun is not None  # it matches the escape character alone
    return "" if begun.end() == len(text) < _LONGEST else begun[0]


def _event(sequence: str) -> Message | None:
    """The event of one character or sequence; None if it is ignored."""
    last = sequence[-1]
    if len(sequence) == 1:
        return _typed(sequence)
    if sequence[1] == "O":
        return _typed(_KEYPAD[last]) if last in _KEYPAD else _key(_MOVES.get(last))
    if sequence[1] != "[":
        # ALT with a key sends an escape character first; ALT is ignored.
        return _typed(last) if len(sequence) == 2 else None
    if re.fullmatch(r"\?2026;[1-9]\$y", sequence[2:]):
        return TerminalSupportsSynchronizedOutput()
    code, modifiers, text, *_ = [*sequence[2:-1].split(";"), "", "", ""]
    bits, _, kind = modifiers.partition(":")
    held = int(bits) - 1 if bits.isdecimal() and len(bits) < 4 else 0
    if kind == "3":  # released
        return None
    if last == "u":
        return _by_code_point(code.partition(":")[0], text.partition(":")[0], held)
    if last == "~":
        return _key(_NUMBERED.get(code), held)
    return _key(_MOVES.get(last), held) if code in ("", "1") else None


def _by_code_point(code: str, text: str, held: int) -> Key | None:
    """A key of the keyboard protocol with code points, which an earlier program may have left switched on."""
    number = int(code) if code.isdecimal() and len(code) < 8 else -1
    typed = int(text) if text.isdecimal() and len(text) < 8 else number
    if not 0 <= typed < 0x110000 or typed in _WRITES_NOTHING:
        return None
    return _key(chr(typed), held) if held & _CTRL else _typed(chr(typed))


def _key(name: str | None, held: int = 0) -> Key | None:
    """The event of a key without a character, by its name and the modifiers held with it."""
    if name is None:
        return None
    modifiers = [word for bit, word in ((_CTRL, "ctrl"), (_SHIFT, "shift")) if held & bit]
    return Key("+".join([*modifiers, name]), None)


def _typed(character: str) -> Key | None:
    """The event of a key that types this character; None for an unprintable one."""
    if character in _NAMED:
        return Key(_NAMED[character], character)
    if "\x01" <= character <= "\x1a":
        return Key(f"ctrl+{chr(ord(character) + 0x60)}", character)
    return Key(character, character) if character.isprintable() else None
