"""On which line of its file a finding's place stands."""

from __future__ import annotations

import tomllib
from functools import lru_cache

from wetside.domain.proof.finding import Place
from wetside.files.toml_lines import Path, lines_of

_KNOWN_BY = {"steps": "id", "stages": "id", "gear": "id", "rolls": "label", "bottles": "solution"}
"""By which key an entry of each list is named in a place."""


def line_of(text: str, place: Place) -> int:
    """The line (1 first) of a place in a text that has been read, or of the nearest thing around it."""
    lines, entries = _where(text)
    path: Path = entries.get(place[:2], place[:2]) + place[2:]
    return next(lines[path[:n]] for n in range(len(path), -1, -1) if path[:n] in lines)


@lru_cache(maxsize=4)
def _where(text: str) -> tuple[dict[Path, int], dict[Place, Path]]:
    """The line of every key path, and the key path of everything in a list that has a name."""
    data = tomllib.loads(text)
    entries: dict[Place, Path] = {}
    for table, key in _KNOWN_BY.items():
        for number, entry in enumerate(data.get(table, ())):
            entries.setdefault((table, str(entry.get(key, ""))), (table, number))
    for number, rule in enumerate(data.get("residue", ())):
        entries.setdefault(("residue", f"{rule['residue']}>{rule['solution']}"), ("residue", number))
    return lines_of(text), entries
