"""A session's Markdown page as rows for a screen: headings strong, tables one row after another in words. Pure.

The page itself is made elsewhere and is not changed: this is how it reads where a table has no room.
"""

from __future__ import annotations

import re
from typing import Final

from wetside.tui.fitting import Form
from wetside.tui.styled_rows import StyledText
from wetside.tui.text_layout import TextLayout
from wetside.tui.theme import Role

_ESCAPED: Final = re.compile(r"\\([!-/:-@\[-`{-~])")
_CELL: Final = re.compile(r"(?<!\\)\|")
_RULE: Final = re.compile(r"^(?:\|[ :]*-+[ :]*)+\|?$")


def record_rows(page: str, pen: TextLayout, cells: int) -> Form:
    """The page in rows of at most `cells` cells."""
    rows: Form = []
    head: list[str] | None = None
    for line in page.splitlines():
        if line.startswith("|"):
            if _RULE.match(line):
                continue
            names = _cells(line)
            if head is None:
                head = names
                continue
            rows += _table_row(head, names, pen, cells)
            continue
        head = None
        rows += _line(line, pen, cells)
    return rows


def _cells(line: str) -> list[str]:
    return [_plain(cell.strip()) for cell in _CELL.split(line.strip().strip("|"))]


def _plain(text: str) -> str:
    return _ESCAPED.sub(r"\1", text)


def _table_row(head: list[str], values: list[str], pen: TextLayout, cells: int) -> Form:
    """One row: "name: value" where the table has no names, else the first cell, then what it has of the others."""
    if not any(head):
        return _hung(f"{values[0]}: {', '.join(values[1:])}", pen, cells)
    parts = [f"{name.lower()} {value}" for name, value in zip(head[1:], values[1:], strict=False) if value]
    return _hung(f"{values[0]}: {'; '.join(parts)}" if parts else values[0], pen, cells)


def _line(line: str, pen: TextLayout, cells: int) -> Form:
    marks = len(line) - len(line.lstrip("#"))
    if marks and line[marks : marks + 1] == " ":
        return [(StyledText(wrapped, "strong"),) for wrapped in pen.wrap(_plain(line[marks + 1 :]), cells)]
    if not line.strip():
        return [()]
    return _hung(_plain(line), pen, cells)


def _hung(words: str, pen: TextLayout, cells: int, role: Role = "") -> Form:
    lines = pen.wrap(words, cells - 2)
    return [(StyledText(line if number == 0 else f"  {line}", role),) for number, line in enumerate(lines)]
