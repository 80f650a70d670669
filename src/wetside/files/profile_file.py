"""Reads a profile: TOML text to the frozen model of `domain/profile/model.py`, or all findings at once.

`toml_values.made` copies values by field names; only omitted ids, and the gear that a step lists, are added here.
Named ids must exist, and be defined once; this is checked in the data as written, so that it is reported together
with all other findings. Whether the process is sound is proved elsewhere.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path
from typing import Any, Final

from msgspec.structs import replace

from wetside.domain.calc.tempering import BATH
from wetside.domain.nearest import nearest_of
from wetside.domain.profile.model import BLEACHING, MOST_CAUTION, Gear, Profile, Step, Tick
from wetside.domain.proof.findings import Place
from wetside.files.profile_base import WholeProfile, whole_document
from wetside.files.profile_default_steps import slug
from wetside.files.profile_defaults import STEP_FIGURES
from wetside.files.profile_forms import ProfileForm
from wetside.files.toml_file import Document, checked, nearest, read_text
from wetside.files.toml_lines import Path as KeyPath
from wetside.files.toml_values import made
from wetside.files.units import quoted


def read_profile(path: Path, own_dir: Path | None = None) -> Profile:
    """The profile in a file; a symbolic link is followed. Raises FileUnusable with all findings.

    Its base is looked for beside it, in `own_dir` and among what ships.
    """
    return profile_of_whole(whole_document(read_text(path), path.name, path, own_dir))


def profile_of_whole(whole: WholeProfile) -> Profile:
    """The profile of an expanded document. Raises FileUnusable with all findings."""
    read: Any = checked(whole.document, ProfileForm, _check_references, _check_cautions)
    gear = tuple(replace(item, id=item.id or slug(item.text)) for item in read.gear)
    return made(
        Profile,
        read,
        solutions=tuple(
            replace(each, bleaches=each.bleaches or each.role in BLEACHING) for each in read.solutions
        ),
        gear=gear,
        steps=tuple(made(Step, each, ticks=_ticks(each.list_gear, each.ticks, gear)) for each in read.steps),
        text=whole.text,
        sha256=hashlib.sha256(whole.text.encode()).hexdigest(),
        remarks=whole.notes,
    )


def _check_cautions(document: Document) -> None:
    """Report each caution whose three sentences together are too long for the screen."""
    cautions = document.data.get("cautions")
    for id_, caution in cautions.items() if isinstance(cautions, dict) else ():
        if isinstance(caution, dict):
            parts = (caution.get(key) for key in ("hazard", "consequence", "avoid"))
            length = sum(len(part) for part in parts if isinstance(part, str))
            if length > MOST_CAUTION:
                what = f"hazard, consequence and avoid have {length} characters in all; at most {MOST_CAUTION} fit"
                document.find(("cautions", id_), what)


def _ticks(listed: list[str], own: Iterable[Tick], gear: tuple[Gear, ...]) -> tuple[Tick, ...]:
    """The gear a step lists, then its own ticks; ids made from the text are unique inside the step."""
    ticks = [
        Tick(item.id, item.text, killer=item.killer, when=item.when)
        for item in gear
        if listed == ["*"] or item.id in listed
    ]
    given = {each.id for each in (*own, *ticks)}
    for each in own:
        id_, number = each.id or slug(each.text), 2
        while not each.id and id_ in given:
            id_, number = f"{slug(each.text)}-{number}", number + 1
        given.add(id_)
        ticks.append(replace(each, id=id_))
    return tuple(ticks)


# ------------------------------------------------------------- references

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
"""Where ids are referenced ("*" for every entry), what kind they are, and other words allowed there."""
_TABLES: Final = {"source": "sources", "caution": "cautions", "solution": "solutions", "vessel": "vessels"}
"""For each kind, the path of a table by ids."""
_LISTS: Final = {"step": "steps", "stage": "stages", "gear item": "gear"}
"""For each kind, the path of a list of entries with ids."""


def _check_references(document: Document) -> None:
    """Report ids that are referenced but not defined, or defined twice."""
    data = document.data
    known = {kind: list(table) for kind, name in _TABLES.items() if isinstance(table := data.get(name, {}), dict)}
    known |= {kind: [id_ for _, id_ in _ids(data, kind)] for kind in _LISTS}
    _check_named(document, known)
    for kind in _LISTS:
        _check_given_once(document, _ids(data, kind), kind)
    for path, step in _at(data, ("steps", "*")):
        if isinstance(step, dict):
            _check_given_once(document, _at(step, ("ticks", "*", "id"), path), "tick of this step")
            # A step with figures must name their source; one without figures is practice and need not.
            if "source" not in step and any(key in step for key in STEP_FIGURES):
                document.find(path, "it holds figures, so it needs a source")
            elif "source" not in step and "practice" not in known.get("source", ()):
                document.find(path, 'name a source, or give one with the id "practice"')
    # bottles in the warm bath are told apart by their titles
    warmed = [(path, each) for path, each in _at(data, ("solutions", "*")) if isinstance(each, dict)]
    titles = ((path, each.get("title")) for path, each in warmed if each.get("tempered"))
    _check_given_once(document, (((), BATH), *titles), "solution in the warm bath called")
    for path, _ in _at(data, ("vessels", "*")):
        if path[-1] in known.get("solution", ()):
            document.find(path, "a vessel and a solution cannot share an id")


def _check_named(document: Document, known: dict[str, list[str]]) -> None:
    """Report ids that do not exist; only once if the definition itself seems to be misspelt."""
    named: set[tuple[str, str]] = set()
    missing: dict[tuple[str, str], list[tuple[KeyPath, str]]] = {}
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
        line = min(document.place_of(path).line for path, _ in places)
        more = f"{len(places) - 1} more place{'s name' if len(places) > 2 else ' names'} it"
        said = f'is this the {kind} "{quoted(name)}"? Line {line} and {more}, and nothing is called so'
        ids = _ids(document.data, kind) if kind in _LISTS else ()
        document.find(next((path for path, id_ in ids if id_ == near), (_TABLES.get(kind, ""), near)), said)


def _check_given_once(document: Document, named: Iterable[tuple[KeyPath, Any]], kind: str) -> None:
    seen: set[str] = set()
    for path, name in named:
        if isinstance(name, str):
            if name in seen:
                document.find(path, f'there is more than one {kind} "{quoted(name)}"')
            seen.add(name)


def _ids(data: dict[str, Any], kind: str) -> list[tuple[KeyPath, str]]:
    """The ids of the entries of a list, each with its path."""
    return [(path, id_) for path, id_ in _at(data, (_LISTS[kind], "*", "id")) if isinstance(id_, str)]


def _at(data: object, pattern: tuple[str, ...], path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    """Every value at `pattern`, with its path; parts of another type are skipped."""
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


# ------------------------------------------------------- where findings are


def place_of(document: Document, place: Place) -> tuple[str, int]:
    """The file and line (from 1) of a finding's place in a document, or of its nearest parent."""
    path: KeyPath = place
    entries = document.data.get(place[0]) if len(place) > 1 else None
    if isinstance(entries, list):
        names = [_name(entry) for entry in entries]
        path = (place[0], names.index(place[1]), *place[2:]) if place[1] in names else place[:1]
    return document.place_of(path)[:2]


def _name(entry: object) -> str:
    """By what findings name an entry of a list: id, "residue>solution", solution of a bottle, label of a roll."""
    if not isinstance(entry, dict):
        return ""
    if "residue" in entry:
        return f"{entry['residue']}>{entry.get('solution')}"
    return str(next((entry[key] for key in ("id", "solution", "label") if key in entry), ""))
