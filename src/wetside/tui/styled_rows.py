"""What is drawn, as data: rows of spans. Pure functions make it for a size; nothing in it is read as markup."""

from __future__ import annotations

from typing import NamedTuple

from wetside.tui.theme import Role


class StyledText(NamedTuple):
    """A run of text of one look."""

    text: str
    role: Role = ""


Row = tuple[StyledText, ...]
Picture = tuple[Row, ...]


def plain_rows(picture: Picture) -> tuple[str, ...]:
    """The words of a picture, row by row."""
    return tuple("".join(span.text for span in row) for row in picture)
