"""How text is written on this terminal, and how many cells it takes.

Everything drawn passes through `Glyphs.text`, user text too: control characters, escape sequences and
characters that turn the direction of writing are drawn as "?", never sent.
"""

from __future__ import annotations

from rich.cells import cell_len

from wetside.frozen import dataclass
from wetside.sanitize import sendable


@dataclass(frozen=True, slots=True)
class Glyphs:
    """How text and marks are written on this terminal."""

    utf8: bool = True

    def text(self, words: str) -> str:
        """`words` as they may be sent: one line, nothing hidden, ASCII only where the locale wants it."""
        return sendable(words, self.utf8)

    @property
    def cut(self) -> str:
        """The sign at the end of words that were cut: one cell wide."""
        return "…" if self.utf8 else "~"


def width(text: str) -> int:
    """How many cells `text` takes."""
    return len(text) if text.isascii() else cell_len(text)
