"""Ids that a profile names: each must exist, and each must be given once.

One job: the cross references of one file, found on the data as written, so that they are reported together
with everything else that is wrong. Whether a sound file makes a sound process is proved elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Any, Final

from wetside.domain.nearest import nearest_of
from wetside.files.profile_defaults import STEP_FIGURES
from wetside.files.toml_file import Document, nearest
from wetside.files.toml_lines import Path
from wetside.files.units import quoted

# Where ids are named ("*" stands for every entry), what they name, and words allowed beside the ids.
_NAMED: Final[tuple[tuple[tuple[str, ...], str, tuple[str, ...]], ...]] = (
    (("solutions", "*", "source"), "source", ()),
    (("solutions", "*", "sources", "*"), "source", ()),
    (("solutions", "*", "needs_caution", "*"), "caution", ()),
    (("cautions", "*", "source"), "source", ()),
    (("vessels", "*", "dedicated_to"), "solution", ()),
    (("residue", "*", "residue"), "solution", ()),
    (("residue", "*", "solution"), "solution", ()),
    (("steps", "*", "stage"), "stage", ()),
    (("steps", "*", "source"), "source", ()),
    (("steps", "*", "cautions", "*"), "caution", ()),
    (("steps", "*", "list_gear", "*"), "gear item", ()),
    (("steps", "*", "solution"), "solution", ()),
    (("steps", "*", "through"), "vessel", ()),
    (("steps", "*", "into"), "vessel", ()),
    (("steps", "*", "back_through"), "vessel", ()),
    (("steps", "*", "touches", "*"), "vessel", ()),
    (("steps", "*", "rinses", "*"), "vessel", ("film",)),
    (("steps", "*", "joins"), "step", ()),
    (("steps", "*", "readings", "*", "of"), "solution", ("bath", "room")),
    (("steps", "*", "ticks", "*", "due"), "step", ("start", "end")),
    (("steps", "*", "ticks", "*", "clears", "*"), "vessel", ("film",)),
    (("steps", "*", "ticks", "*", "closes"), "solution", ()),
)
# Where each kind of thing stands: in a table by its id, or in a list of entries with an id.
_TABLES: Final = {
    "source": ("sources", False),
    "caution": ("cautions", False),
    "solution": ("solutions", False),
    "vessel": ("vessels", False),
    "stage": ("stages", True),
    "step": ("steps", True),
    "gear item": ("gear", True),
}


def check_references(document: Document) -> None:
    """Note every id that is named and not given, given twice, or given to two things."""
    known = _known(document.data)
    _check_named(document, known)
    for pattern, kind in (
        (("steps", "*", "id"), "step"),
        (("stages", "*", "id"), "stage"),
        (("gear", "*", "id"), "gear item"),
    ):
        _check_given_once(document, _at(document.data, pattern, ()), kind)
    for number, step in enumerate(_list(document.data, "steps")):
        if isinstance(step, dict):
            _check_given_once(document, _at(step, ("ticks", "*", "id"), ("steps", number)), "tick of this step")
            _check_source(document, step, number, known["source"])
    for path, _ in _at(document.data, ("vessels", "*"), ()):
        if path[-1] in known["solution"]:
            document.find(path, "a vessel and a solution cannot share an id")


def _check_named(document: Document, known: dict[str, list[str]]) -> None:
    """Every name that nothing has; once only where what should have it is misspelt itself."""
    named: set[tuple[str, str]] = set()
    missing: dict[tuple[str, str], list[tuple[Path, str]]] = {}
    for pattern, kind, besides in _NAMED:
        for path, name in _at(document.data, pattern, ()):
            if not isinstance(name, str) or name in besides:
                continue
            named.add((kind, name))
            if name not in known[kind]:
                hint = nearest(name, (*known[kind], *besides))
                missing.setdefault((kind, name), []).append((path, hint))
    for (kind, name), places in missing.items():
        near = nearest_of(name, known[kind])
        if near is not None and (kind, near) not in named and len(places) > 1:
            line = min(document.line_of(path) for path, _ in places)
            more = f"{len(places) - 1} more place{'s name' if len(places) > 2 else ' names'} it"
            said = f'is this the {kind} "{quoted(name)}"? Line {line} and {more}, and nothing is called so'
            document.find(_place_of(document.data, kind, near), said)
            continue
        for path, hint in places:
            document.find(path, f'there is no {kind} "{quoted(name)}"{hint}')


def _place_of(data: dict[str, Any], kind: str, name: str) -> Path:
    """Where the thing of this kind and name gets its name."""
    table, by_id = _TABLES[kind]
    if not by_id:
        return (table, name)
    return next(path for path, found in _at(data, (table, "*", "id"), ()) if found == name)


def _check_source(document: Document, step: dict[str, Any], number: int, sources: list[str]) -> None:
    """A step with figures says where they come from; without figures it is practice."""
    if "source" not in step and any(key in step for key in STEP_FIGURES):
        document.find(("steps", number), "it holds figures, so it needs a source")
    elif "source" not in step and "practice" not in sources:
        document.find(("steps", number), 'name a source, or give one with the id "practice"')


def _check_given_once(document: Document, named: Iterator[tuple[Path, object]], kind: str) -> None:
    seen: set[object] = set()
    for path, name in named:
        if isinstance(name, str):
            if name in seen:
                document.find(path, f'there is more than one {kind} "{quoted(name)}"')
            seen.add(name)


def _known(data: dict[str, Any]) -> dict[str, list[str]]:
    return {
        kind: _ids(data, (table, "*", "id")) if by_id else _keys(data, table)
        for kind, (table, by_id) in _TABLES.items()
    }


def _keys(data: dict[str, Any], table: str) -> list[str]:
    value = data.get(table)
    return list(value) if isinstance(value, dict) else []


def _list(data: dict[str, Any], key: str) -> list[object]:
    value = data.get(key)
    return value if isinstance(value, list) else []


def _ids(data: dict[str, Any], pattern: tuple[str, ...]) -> list[str]:
    return [name for _, name in _at(data, pattern, ()) if isinstance(name, str)]


def _at(data: object, pattern: tuple[str, ...], path: Path) -> Iterator[tuple[Path, object]]:
    """Every value at `pattern`, with its path; what is shaped otherwise is passed over."""
    if not pattern:
        yield path, data
        return
    first, *rest = pattern
    entries: Iterator[tuple[str | int, object]] = iter(())
    if first == "*" and isinstance(data, dict):
        entries = iter(data.items())
    elif first == "*" and isinstance(data, list):
        entries = iter(enumerate(data))
    elif isinstance(data, dict) and first in data:
        entries = iter(((first, data[first]),))
    yield from chain.from_iterable(_at(value, tuple(rest), (*path, key)) for key, value in entries)
