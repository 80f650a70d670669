"""Sections of text wrapped to a width. A line without indentation is a heading; its lines are indented by two."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable
from typing import Final

from msgspec import Struct

from wetside.sanitize import in_ascii

LABEL: Final = 10
"""The width of a label in cells."""

# A number and its unit are kept on one line.
_NUMBER_AND_UNIT: Final = re.compile(r"(\d) (°?[CF]|ml|l|h|min|s|US fl oz|US qt|US gal|%)\b")


class TextPage(Struct, frozen=True):
    """Wraps text to `width` cells, in ASCII where asked for."""

    width: int
    ascii_only: bool = False

    def plain(self, text: str) -> str:
        """The text on one line."""
        text = " ".join(text.split())
        return in_ascii(text) if self.ascii_only else text

    def hanging(self, first: str, text: str, later: str | None = None) -> list[str]:
        """`first` followed by the text; the next lines begin with `later`, by default as many spaces."""
        lines = textwrap.wrap(
            _NUMBER_AND_UNIT.sub(lambda found: found[0].replace(" ", "\u00a0"), self.plain(text)),
            self.width,
            initial_indent=first,
            subsequent_indent=" " * len(first) if later is None else later,
            break_on_hyphens=False,
        )
        return [line.replace("\u00a0", " ") for line in lines]

    def heading(self, text: str) -> list[str]:
        return self.hanging("", text) or [""]

    def section(self, heading: str, lines: Iterable[str]) -> list[str]:
        """An empty line, the heading, and its lines; [] without lines."""
        lines = list(lines)
        return ["", *self.heading(heading), *lines] if lines else []

    def items(self, texts: Iterable[str], mark: str = "- ") -> list[str]:
        return [line for text in texts for line in self.hanging(f"  {mark}", text)]

    def labelled(self, pairs: Iterable[tuple[str, str]]) -> list[str]:
        """Lines of (label, text) pairs; on a narrow page the label has a line of its own."""
        lines = []
        for label, text in pairs:
            if self.width >= 44:
                lines += self.hanging(f"  {label:<{LABEL}} ", text)
            else:
                lines += [f"  {label}", *self.hanging("    ", text)]
        return lines
