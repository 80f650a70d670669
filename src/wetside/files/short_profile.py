"""A short profile as a value, and as the TOML a person goes on writing: what it is based on, and what differs.

One job: make the text. It asks nothing and checks nothing: `files/profile_file.py` reads the text back.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

import tomli_w

from wetside.domain.profile.model import FORMAT
from wetside.frozen import dataclass

Value = str | bool | int | float | tuple[Any, ...] | Mapping[str, Any]
"""A value as it stands in the file: text with its unit, true or false, a number, a list or an inline table."""

FIGURES: Final = (
    "target", "range", "table", "push", "use", "capacity", "stretch", "life_full", "life_part"
)  # fmt: skip
"""The keys of a bath in the order of a printed sheet."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A bath, a step or another thing with an id: the keys it states, in their order, and a remark above each."""

    id: str
    keys: tuple[tuple[str, Value], ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShortProfile:
    """What one's own kit states: everything else is taken over from `based_on` and the ready `parts`.

    makes: the volume the kit's sheet counts its rolls for. base_digest: of the base as it was, or "". remarks
    stand as comments at the top. tables are further tables by their name (cautions, sources, vessels).
    """

    id: str
    title: str
    based_on: str
    parts: tuple[str, ...] = ()
    accepts: tuple[str, ...] = ()
    makes: str = ""
    base_digest: str = ""
    leave_out: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    baths: tuple[Entry, ...] = ()
    steps: tuple[Entry, ...] = ()
    tables: tuple[tuple[str, tuple[Entry, ...]], ...] = ()
    remarks: tuple[str, ...] = ()


def short_toml(profile: ShortProfile) -> str:
    """The profile as TOML, one value a line."""
    return "".join(f"{line}\n" for line in _lines(profile))


def _lines(profile: ShortProfile) -> Iterator[str]:
    yield from (f"# {remark}" for remark in profile.remarks)
    yield f"format = {FORMAT}"
    head: tuple[tuple[str, Value], ...] = (
        ("id", profile.id),
        ("title", profile.title),
        ("based_on", profile.based_on),
        ("base_digest", profile.base_digest),
        ("with", profile.parts),
        ("accepts", profile.accepts),
        ("makes", profile.makes),
        ("leave_out", profile.leave_out),
        ("notes", profile.notes),
    )
    yield from (f"{key} = {inline(value)}" for key, value in head if value)
    for table, entries in (("solutions", profile.baths), *profile.tables):
        for entry in entries:
            yield from ("", f"[{table}.{entry.id}]", *_keys(entry))
    for entry in profile.steps:
        yield from ("", "[[steps]]", f"id = {inline(entry.id)}", *_keys(entry))


def _keys(entry: Entry) -> Iterator[str]:
    yield from (f"{key} = {inline(value)}" for key, value in entry.keys)
    yield from (f"# {remark}" for remark in entry.remarks)


def inline(value: Any) -> str:
    """A value in TOML on one line."""
    match value:
        case Mapping():
            return "{ " + ", ".join(f"{key} = {inline(each)}" for key, each in value.items()) + " }"
        case tuple() | list():
            return f"[{', '.join(inline(each) for each in value)}]"
    return tomli_w.dumps({"x": value}).removeprefix("x = ").removesuffix("\n")


def beginning(base: Mapping[str, Any], based_on: str, id_: str, digest: str) -> ShortProfile:
    """A short profile to go on from: it changes nothing, and shows the base's figures as comments to take up.

    `base` is the base's whole document.
    """
    baths = []
    for name, solution in base["solutions"].items():
        if solution.get("storage") != "tap":
            shown = tuple(f"{key} = {inline(solution[key])}" for key in FIGURES if key in solution)
            baths.append(Entry(name, remarks=shown))
    return ShortProfile(
        id=id_,
        title=f"My {base['title'][:1].lower()}{base['title'][1:]}"[:40].rstrip(),
        based_on=based_on,
        base_digest=digest,
        baths=tuple(baths),
        remarks=(
            f"Your own kit: what is stated here stands in place of what {based_on} says; all else is taken over.",
            "Take the # off a line and put your sheet's figure in; the words stand in DEVELOPERS.md.",
        ),
    )
