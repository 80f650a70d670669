"""On which line each key of a TOML text stands: the standard reader does not say, and an error must.

One job: walk a text that `tomllib` has accepted and note the line of every table, key and array item. It does
not judge the text, reads no values and must not be given a text that has not been parsed first.

Source: the TOML 1.0.0 grammar.
"""

from __future__ import annotations

import re
import tomllib
from typing import Final

Path = tuple[str | int, ...]

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN_VALUE: Final = re.compile(r"[^,\]}\n#]+")
_SPACE: Final = re.compile(r"[ \t]*")
_SPACE_AND_LINES: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRINGS: Final = (
    re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}', re.DOTALL),
    re.compile(r"'''(?:[^']|'{1,2}(?!'))*'{3,5}", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)


def lines_of(text: str) -> dict[Path, int]:
    """The line (1 first) of every key path; items of arrays, and of arrays of tables, have their number in it."""
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
        self._document()

    def _document(self) -> None:
        table: Path = ()
        self._skip(_SPACE_AND_LINES)
        while self.at < len(self.text):
            if self.text.startswith("[[", self.at):
                table = self._header(2)
            elif self.text.startswith("[", self.at):
                table = self._header(1)
            else:
                self._pair(table)
            self._skip(_SPACE_AND_LINES)

    def _header(self, brackets: int) -> Path:
        self.at += brackets
        names = self._key()
        self.at += brackets
        path: Path = ()
        for name in names[:-1]:
            self._note((*path, name))
            path = self._latest((*path, name))
        path = (*path, names[-1])
        if brackets == 2:
            self.counts[path] = self.counts.get(path, -1) + 1
            self.lines.setdefault(path, self._line())
            path = (*path, self.counts[path])
        self._note(path)
        return path

    def _latest(self, path: Path) -> Path:
        """The path of a table, or of the newest table of an array of tables."""
        return (*path, self.counts[path]) if path in self.counts else path

    def _pair(self, table: Path) -> None:
        path = table
        for name in self._key():
            path = (*path, name)
            self._note(path)
        self.at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)

    def _key(self) -> list[str]:
        """A dotted key, with the spaces around it."""
        names = []
        while True:
            self._skip(_SPACE)
            bare = _BARE.match(self.text, self.at)
            if bare:
                self.at = bare.end()
                names.append(bare[0])
            else:
                names.append(self._quoted_key())
            self._skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return names
            self.at += 1

    def _quoted_key(self) -> str:
        start = self.at
        self._string()
        (name,) = tomllib.loads(f"{self.text[start : self.at]} = 0")
        return name

    def _string(self) -> bool:
        for pattern in _STRINGS:
            if found := pattern.match(self.text, self.at):
                self.at = found.end()
                return True
        return False

    def _value(self, path: Path) -> None:
        match self.text[self.at : self.at + 1]:
            case "[":
                self._array(path)
            case "{":
                self._inline_table(path)
            case '"' | "'":
                self._string()
            case _:
                self._skip(_PLAIN_VALUE)

    def _array(self, path: Path) -> None:
        self.at += 1
        number = 0
        self._skip(_SPACE_AND_LINES)
        while not self.text.startswith("]", self.at):
            self._note((*path, number))
            self._value((*path, number))
            self._after_item()
            number += 1
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        self._skip(_SPACE_AND_LINES)
        while not self.text.startswith("}", self.at):
            self._pair(path)
            self._after_item()
        self.at += 1

    def _after_item(self) -> None:
        self._skip(_SPACE_AND_LINES)
        if self.text.startswith(",", self.at):
            self.at += 1
            self._skip(_SPACE_AND_LINES)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        if found:
            self.at = found.end()

    def _note(self, path: Path) -> None:
        self.lines.setdefault(path, self._line())

    def _line(self) -> int:
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        return self.line
