"""In which file, and on which line of it, a finding's place stands."""

from __future__ import annotations

from typing import Final

from wetside.domain.proof.finding import Place
from wetside.files.toml_file import Document
from wetside.files.toml_lines import Path

_KNOWN_BY: Final = {"steps": "id", "stages": "id", "gear": "id", "rolls": "label", "bottles": "solution"}
"""By which key an entry of each list is named in a place; residue rules are named "residue>solution"."""


def place_of(document: Document, place: Place) -> tuple[str, int]:
    """The file and line (1 first) of a place in a document that has been read, or of what is nearest around it."""
    path: Path = place
    entries = document.data.get(place[0]) if len(place) > 1 else None
    if isinstance(entries, list):
        names = [_name(place[0], entry) for entry in entries]
        path = (place[0], names.index(place[1]), *place[2:]) if place[1] in names else place[:1]
    return document.place_of(path)


def _name(table: str, entry: object) -> str:
    if not isinstance(entry, dict):
        return ""
    if table == "residue":
        return f"{entry.get('residue')}>{entry.get('solution')}"
    return str(entry.get(_KNOWN_BY.get(table, ""), ""))
