"""Ids that a profile names: each must exist, and each must be given once.

They are looked for in the data as written, so that they are reported together with everything else that is wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any, Final

from wetside.domain.nearest import nearest_of
from wetside.files.profile_defaults import STEP_FIGURES
from wetside.files.toml_file import Document, nearest
from wetside.files.toml_lines import Path
from wetside.files.units import quoted

_NAMED: Final[dict[str, tuple[str, ...]]] = {
    "solutions.*.source": ("source",),
    "solutions.*.sources.*": ("source",),
    "solutions.*.needs_caution.*": ("caution",),
    "cautions.*.source": ("source",),
    "vessels.*.dedicated_to": ("solution",),
    "residue.*.residue": ("solution",),
    "residue.*.solution": ("solution",),
    "steps.*.stage": ("stage",),
    "steps.*.source": ("source",),
    "steps.*.cautions.*": ("caution",),
    "steps.*.list_gear.*": ("gear item",),
    "steps.*.solution": ("solution",),
    "steps.*.through": ("vessel",),
    "steps.*.into": ("vessel",),
    "steps.*.back_through": ("vessel",),
    "steps.*.touches.*": ("vessel",),
    "steps.*.rinses.*": ("vessel", "film"),
    "steps.*.joins": ("step",),
    "steps.*.readings.*.of": ("solution", "bath", "room"),
    "steps.*.ticks.*.due": ("step", "start", "end"),
    "steps.*.ticks.*.clears.*": ("vessel", "film"),
    "steps.*.ticks.*.closes": ("solution",),
}
"""Where ids are named ("*" stands for every entry), what they name, and words that may stand there as well."""
_TABLES: Final = {"source": "sources", "caution": "cautions", "solution": "solutions", "vessel": "vessels"}
"""Where things stand in a table by their ids."""
_LISTS: Final = {"step": "steps", "stage": "stages", "gear item": "gear"}
"""Where things stand in a list of entries with an id."""


def check_references(document: Document) -> None:
    """Note every id that is named and not given, given twice, or given to two things."""
    data = document.data
    known = {kind: list(table) for kind, name in _TABLES.items() if isinstance(table := data.get(name, {}), dict)}
    known |= {kind: [id_ for _, id_ in _ids(data, kind)] for kind in _LISTS}
    _check_named(document, known)
    for kind in _LISTS:
        _check_given_once(document, _ids(data, kind), kind)
    for path, step in _at(data, ("steps", "*")):
        if isinstance(step, dict):
            _check_given_once(document, _at(step, ("ticks", "*", "id"), path), "tick of this step")
            # A step with figures says where they come from; without figures it is practice.
            if "source" not in step and any(key in step for key in STEP_FIGURES):
                document.find(path, "it holds figures, so it needs a source")
            elif "source" not in step and "practice" not in known.get("source", ()):
                document.find(path, 'name a source, or give one with the id "practice"')
    for path, _ in _at(data, ("vessels", "*")):
        if path[-1] in known.get("solution", ()):
            document.find(path, "a vessel and a solution cannot share an id")


def _check_named(document: Document, known: dict[str, list[str]]) -> None:
    """Note every name that nothing has; once only where what should have it is misspelt itself."""
    named: set[tuple[str, str]] = set()
    missing: dict[tuple[str, str], list[tuple[Path, str]]] = {}
    for pattern, (kind, *besides) in _NAMED.items():
        given = known.get(kind, [])
        for path, name in _at(document.data, tuple(pattern.split("."))):
            if isinstance(name, str) and name not in besides:
                named.add((kind, name))
                if name not in given:
                    missing.setdefault((kind, name), []).append((path, nearest(name, (*given, *besides))))
    for (kind, name), places in missing.items():
        near = nearest_of(name, known.get(kind, []))
        if near is None or (kind, near) in named or len(places) == 1:
            for path, hint in places:
                document.find(path, f'there is no {kind} "{quoted(name)}"{hint}')
            continue
        line = min(document.line_of(path) for path, _ in places)
        more = f"{len(places) - 1} more place{'s name' if len(places) > 2 else ' names'} it"
        said = f'is this the {kind} "{quoted(name)}"? Line {line} and {more}, and nothing is called so'
        ids = _ids(document.data, kind) if kind in _LISTS else ()
        document.find(next((path for path, id_ in ids if id_ == near), (_TABLES.get(kind, ""), near)), said)


def _check_given_once(document: Document, named: Iterable[tuple[Path, Any]], kind: str) -> None:
    seen: set[str] = set()
    for path, name in named:
        if isinstance(name, str):
            if name in seen:
                document.find(path, f'there is more than one {kind} "{quoted(name)}"')
            seen.add(name)


def _ids(data: dict[str, Any], kind: str) -> list[tuple[Path, str]]:
    """The ids of the entries of a list, each with its path."""
    return [(path, id_) for path, id_ in _at(data, (_LISTS[kind], "*", "id")) if isinstance(id_, str)]


def _at(data: object, pattern: tuple[str, ...], path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Every value at `pattern`, with its path; what is shaped otherwise is passed over."""
    if not pattern:
        yield path, data
        return
    entries: Iterable[tuple[str | int, object]] = ()
    if pattern[0] == "*" and isinstance(data, dict):
        entries = data.items()
    elif pattern[0] == "*" and isinstance(data, list):
        entries = enumerate(data)
    elif isinstance(data, dict) and pattern[0] in data:
        entries = ((pattern[0], data[pattern[0]]),)
    yield from chain.from_iterable(_at(value, pattern[1:], (*path, key)) for key, value in entries)
