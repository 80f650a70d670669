"""Line numbers of the keys of a TOML text, which the standard parser does not provide.

The text is scanned by the TOML 1.0.0 grammar without validation: `tomllib` must have accepted it before.
"""

from __future__ import annotations

import re
import tomllib
from typing import Final

Path = tuple[str | int, ...]

_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN_VALUE: Final = re.compile(r"[^,\]}\n#]+")
_SPACE: Final = re.compile(r"[ \t]*")
_GAP: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_AFTER_ITEM: Final = re.compile(rf"{_GAP.pattern},?{_GAP.pattern}")
_STRING: Final = re.compile(
    r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}'
    r"|'''(?:[^']|'{1,2}(?!'))*'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)


def lines_of(text: str) -> dict[Path, int]:
    """The line (from 1) of every key path; items of arrays and of arrays of tables appear by index."""
    return _Walk(text).lines


class _Walk:
    """One pass over the text. `counts` numbers the tables of each array of tables."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.counted = 0
        self.lines: dict[Path, int] = {(): 1}
        self.counts: dict[Path, int] = {}
        table: Path = ()
        self._take(_GAP)
        while self.at < len(text):
            if text.startswith("[", self.at):
                table = self._header()
            else:
                self._pair(table)
            self._take(_GAP)

    def _header(self) -> Path:
        """The path of the table that a header opens; in an array of tables it ends in the table's number."""
        brackets = 2 if self.text.startswith("[[", self.at) else 1
        self.at += brackets
        *parents, name = self._key()
        self.at += brackets
        path: Path = ()
        for parent in parents:
            path = (*path, parent)
            self._note(path)
            if path in self.counts:
                path = (*path, self.counts[path])
        path = (*path, name)
        self._note(path)
        if brackets == 2:
            self.counts[path] = self.counts.get(path, -1) + 1
            path = (*path, self.counts[path])
            self._note(path)
        return path

    def _pair(self, table: Path) -> None:
        path = table
        for name in self._key():
            path = (*path, name)
            self._note(path)
        self.at += 1  # the equals sign
        self._take(_SPACE)
        self._value(path)

    def _key(self) -> list[str]:
        """A dotted key, with the spaces around it."""
        names: list[str] = []
        while not names or self.text.startswith(".", self.at):
            self.at += 1 if names else 0
            self._take(_SPACE)
            name = self._take(_BARE_KEY)
            names += [name] if name else tomllib.loads(f"{self._take(_STRING)} = 0")
            self._take(_SPACE)
        return names

    def _value(self, path: Path) -> None:
        opening = self.text[self.at : self.at + 1]
        if opening not in ("[", "{"):
            if not self._take(_STRING):
                self._take(_PLAIN_VALUE)
            return
        self.at += 1
        self._take(_GAP)
        number = 0
        while not self.text.startswith("]" if opening == "[" else "}", self.at):
            if opening == "{":
                self._pair(path)
            else:
                self._note((*path, number))
                self._value((*path, number))
            self._take(_AFTER_ITEM)
            number += 1
        self.at += 1

    def _take(self, pattern: re.Pattern[str]) -> str:
        """Consume and return what the pattern matches here; "" if it does not match."""
        found = pattern.match(self.text, self.at)
        if found is None:
            return ""
        self.at = found.end()
        return found[0]

    def _note(self, path: Path) -> None:
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        self.lines.setdefault(path, self.line)
