"""Reads a profile: TOML text in, the frozen model of `domain/profile/model.py` out, or every finding at once.

`toml_values.made` carries what is read by field names; only ids that nobody wrote, and the gear that a step lists,
are filled in here. Whether the process is sound is proved in `domain/proof/`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from wetside.domain.profile.model import BLEACHING, MOST_CAUTION, Gear, Profile, Step, Tick
from wetside.domain.proof.findings import Place
from wetside.errors import FileUnusable
from wetside.files.profile_base import Whole, whole_document
from wetside.files.profile_default_steps import slug
from wetside.files.profile_forms import ProfileForm
from wetside.files.profile_references import check_references
from wetside.files.toml_file import Document, checked, read_text
from wetside.files.toml_lines import Path as KeyPath
from wetside.files.toml_values import made


def read_profile(path: Path, own_dir: Path | None = None) -> Profile:
    """The profile in a file; a symbolic link is followed. Raises FileUnusable with all findings.

    What it is based on is looked for beside it, in `own_dir` and among what ships.
    """
    return profile_of_whole(whole_document(read_text(path), path.name, path, own_dir))


def profile_from_text(text: str, name: str) -> Profile:
    """The profile in a text; `name` is what findings call it. Raises FileUnusable with all findings."""
    return profile_of_whole(whole_document(text, name))


def profile_of_whole(whole: Whole) -> Profile:
    """The profile of what `whole_document` has put together. Raises FileUnusable with all findings."""
    document = whole.document
    read: Any = checked(document, ProfileForm)
    check_references(document)
    _check_cautions(document)
    document.stop_if_wrong()
    if read is None:
        raise FileUnusable((f"{document.name} cannot be read as a profile.",))
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
    """Note each caution whose three sentences do not fit their one place on the screen."""
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


_KNOWN_BY: Final = {"steps": "id", "stages": "id", "gear": "id", "rolls": "label", "bottles": "solution"}
"""By which key an entry of each list is named in a place; residue rules are named "residue>solution"."""


def place_of(document: Document, place: Place) -> tuple[str, int]:
    """The file and line (1 first) of a finding's place in a document, or of what is nearest around it."""
    path: KeyPath = place
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
