"""Expands a profile's text to the whole document: its base, its ready parts, then what it states itself.

`profile_merge.py` merges bases and parts, `profile_defaults.py` derives omitted values. Whether the whole is sound
is checked elsewhere.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Final

import tomli_w

from wetside.domain.messages import Message, alert
from wetside.domain.nearest import nearest_of
from wetside.domain.profile.model import FORMAT
from wetside.errors import Refused
from wetside.files.profile_default_steps import list_added_gear
from wetside.files.profile_defaults import derive, drop_stretches, link_ranges, name_sources
from wetside.files.profile_forms import ProfileForm
from wetside.files.profile_merge import LEAVE_OUT, PLACING, Node, merged, places, plain, strings, tree
from wetside.files.profile_places import base_names, find_base, find_part, part_names
from wetside.files.short_profile import inline
from wetside.files.toml_file import (
    FORMAT_KEY,
    Document,
    Place,
    check_format,
    check_kind,
    nearest,
    parse,
    read_text,
    spoken,
)
from wetside.files.toml_lines import Path as KeyPath
from wetside.files.units import quoted, volume_ml

BASED_ON: Final = "based_on"
WITH: Final = "with"
SEEN: Final = "base_digest"
MAKES: Final = "makes"
"""Keys that only direct the merging; they are not in the whole document."""
MOST_BASES: Final = 8
_FIRST: Final = (FORMAT_KEY, "id", "title")


@dataclass(slots=True)
class WholeProfile:
    """An expanded profile: the document to be checked, its text, and where its values come from.

    tree: the merged tree; None for a file without base.
    """

    document: Document
    text: str
    tree: Node | None = None
    notes: tuple[Message, ...] = ()


@dataclass(slots=True)
class _Assembly:
    """The expansion of one profile; findings in any of its files are collected for the file asked for.

    parts: every part that was merged, with the file that named it.
    """

    asked: Document
    own_dir: Path | None
    notes: list[Message] = field(default_factory=list)
    parts: dict[str, str] = field(default_factory=dict)
    part_notes: list[Node] = field(default_factory=list)

    def find(self, place: Place, path: KeyPath, what: str) -> None:
        self.asked.find(path, what, place)

    def assemble(self, own: Node, chain: tuple[Path, ...]) -> Node:
        """A file's tree merged over its parts, and these over its base. chain: the files so far, this one last."""
        base = self.base_of(own, chain)
        for part in self.parts_of(own, chain):
            base = part if base is None else list_added_gear(base, merged(base, part, self.find))
        self.asked.stop_if_wrong()
        if base is None:
            return own
        self.check_new(own, base)
        self.asked.stop_if_wrong()
        name_sources(own, base)
        drop_stretches(own, base)
        link_ranges(base)
        for key in (BASED_ON, WITH, SEEN):
            own.value.pop(key, None)
        return list_added_gear(base, merged(base, own, self.find))

    def base_of(self, own: Node, chain: tuple[Path, ...]) -> Node | None:
        """The whole tree of the file's base; None without one."""
        named = own.at(BASED_ON)
        if named is None:
            return None
        if not isinstance(named.value, str) or not named.value:
            self.find(named.place, (BASED_ON,), 'name one profile in quotes, like "two-bath"')
            return None
        file = find_base(named.value, chain[-1], self.own_dir)
        if file is None:
            what = f'there is no profile "{quoted(named.value)}"{nearest(named.value, base_names(self.own_dir))}'
        elif file.resolve() in [each.resolve() for each in chain]:
            round_ = ", which is based on ".join(each.name for each in (*chain[1:], file))
            what = f"{chain[0].name} is based on {round_}: they go round in a circle; one of them must stand alone"
        elif len(chain) > MOST_BASES:
            what = f"more than {MOST_BASES} files stand one on the other; use fewer"
        else:
            base = self.assemble(_tree_of(file, chain[0]), (*chain, file))
            seen = own.get(SEEN)
            if seen is not None and len(chain) == 1 and seen != (now := _digest(base)):
                self.notes.append(
                    alert(
                        "note-on-profile",
                        "base changed",
                        base=named.value,
                        file=chain[0].name,
                        key=SEEN,
                        digest=now,
                    )
                )
            return base
        self.find(named.place, (BASED_ON,), what)
        return None

    def parts_of(self, own: Node, chain: tuple[Path, ...]) -> list[Node]:
        """The trees of the ready parts that a file names, in its order."""
        named = own.at(WITH)
        if named is None:
            return []
        if not isinstance(named.value, list) or not all(isinstance(each.value, str) for each in named.value):
            self.find(named.place, (WITH,), 'write a list of parts in square brackets, like ["prebath"]')
            return []
        found = []
        for number, each in enumerate(named.value):
            path: KeyPath = (WITH, number)
            file = find_part(each.value, chain[-1], self.own_dir)
            if file is None:
                hint = nearest(each.value, part_names(self.own_dir))
                self.find(each.place, path, f'there is no part "{quoted(each.value)}"{hint}')
            elif each.value in self.parts:
                where = self.parts[each.value]
                self.find(each.place, path, f'"{each.value}" comes with {where} already; take it out here')
            else:
                self.parts[each.value] = chain[-1].name
                part = _tree_of(file, chain[0])
                self.part_notes += part.value["notes"].value if isinstance(part.get("notes"), list) else []
                for key in (BASED_ON, WITH):
                    if key in part.value:
                        self.find(part.value[key].place, (key,), "a part stands on no other file; take it out")
                found.append(part)
        return found

    def check_new(self, own: Node, base: Node) -> None:
        """Report entries that are not in the base and lack the keys of a new one: their names are misspelt."""
        for table, keys in _NEW.items():
            for id_, entry in own.table(table).items():
                if id_ not in base.table(table) and not any(entry.at(key) for key in keys):
                    hint = nearest(id_, base.table(table))
                    what = f'there is no "{quoted(id_)}" to change{hint}. A new one says {keys[0]} = "…"'
                    self.find(entry.place, (table, id_), what)


_NEW: Final = {
    "solutions": ("role", "storage"),
    "cautions": ("hazard",),
    "vessels": ("kind",),
    "sources": ("sure",),
}
"""For each table, keys of which a new entry must have at least one."""


def whole_document(text: str, name: str, file: Path | None = None, own_dir: Path | None = None) -> WholeProfile:
    """The whole document of a profile's text, which is that of `file`.

    Bases and parts are looked for by name beside the file, in `own_dir` and among what ships, and by path as seen
    from the file. Raises FileUnusable if they cannot be found or merged; values are not
    checked here.
    """
    asked = parse(text, name)
    check_kind(asked, "profile")
    own = tree(asked)
    based = bool(own.value.keys() & {BASED_ON, WITH})
    _check_keys(asked, based)
    check_format(asked, FORMAT)
    if not based:
        return WholeProfile(asked, text)
    asked.stop_if_wrong()
    stands_on = [f"based on {own.get(BASED_ON)}"] if own.get(BASED_ON) else []
    stands_on += [f"with {', '.join(strings(own.get(WITH)))}"] if own.get(WITH) else []
    assembly = _Assembly(asked, own_dir)
    laid = assembly.assemble(own, (file or Path(name),))
    asked.stop_if_wrong()
    left_out = "notes" in strings(asked.data.get(LEAVE_OUT))
    if assembly.part_notes and not left_out and isinstance(laid.get("notes") or [], list):
        stated = own.value["notes"].value if "notes" in own.value else []
        laid.value["notes"] = Node([*stated, *assembly.part_notes], laid.place)
    derive(laid, assembly.find)
    asked.stop_if_wrong()
    laid.value = {key: laid.value[key] for key in _FIRST if key in laid.value} | laid.value
    data = plain(laid)
    whole = Document(asked.name, data, dict(places(laid)), also=(*PLACING, LEAVE_OUT))
    head = f"# The whole of {asked.name}, {', '.join(stands_on)}.\n"
    return WholeProfile(whole, head + tomli_w.dumps(data), laid, tuple(assembly.notes))


def own_keys(whole: WholeProfile) -> frozenset[tuple[str, str]]:
    """What a file with a base states itself, as (id of a solution or step, key)."""
    if whole.tree is None:
        return frozenset()
    entries = list(whole.tree.table("solutions").items())
    entries += [(str(step.get("id")), step) for step in whole.tree.entries("steps")]
    return frozenset(
        (id_, key)
        for id_, entry in entries
        for key, each in (entry.value.items() if isinstance(entry.value, dict) else ())
        # a table derived from a `time` counts as stated
        if each.place.name == whole.document.name and (key == "table" or not each.place.derived)
    )


def value_lines(whole: WholeProfile, of: Node | None = None, path: KeyPath = ()) -> Iterator[str]:
    """A line for each value of a profile: own, inherited or derived, its key, the value, where it is written.

    of, path: only those of this part of it.
    """
    of, mine = of or whole.tree or tree(whole.document), whole.document.name
    items: Iterator[tuple[str | int, Node]] = iter(())
    if isinstance(of.value, dict):
        items = iter(of.value.items())
    elif isinstance(of.value, list) and any(isinstance(each.value, dict) for each in of.value):
        items = ((each.get("id") or each.get("of") or number, each) for number, each in enumerate(of.value))
    else:
        name, line, derived = of.place
        whose = "follows" if derived else "own" if name == mine else "taken over"
        where = f"line {line}" if name == mine else f"{name}, line {line}"
        yield f"{whose:<10}  {spoken(path)} = {inline(plain(of))}  ({where})"
    for key, each in items:
        yield from value_lines(whole, each, (*path, key))


def base_digest(name: str, file: Path, own_dir: Path | None = None) -> str:
    """Twelve hexadecimal digits of a hash of the whole base that `file` names so.

    Raises FileUnusable if the base cannot be expanded.
    """
    asked = parse(tomli_w.dumps({FORMAT_KEY: FORMAT, BASED_ON: name}), file.name)
    assembly = _Assembly(asked, own_dir)
    base = assembly.base_of(tree(asked), (file,))
    asked.stop_if_wrong()
    return "" if base is None else _digest(base)


def _digest(base: Node) -> str:
    return hashlib.sha256(tomli_w.dumps(plain(base)).encode()).hexdigest()[:12]


def _check_keys(asked: Document, based: bool) -> None:
    """Report unknown keys; in a file without base only those similar to the keys for merging."""
    words = (BASED_ON, WITH, SEEN, MAKES, LEAVE_OUT)
    known = (FORMAT_KEY, *words, *(str(each.alias) for each in ProfileForm.model_fields.values()))
    for key in asked.data:
        if key not in known and (based or nearest_of(key, known) in words):
            asked.find((key,), f'"{quoted(key)}" is no key here{nearest(key, known)}')
    makes = asked.data.get(MAKES)
    if based and makes is not None:
        try:
            volume_ml(makes if isinstance(makes, str) else "")
        except Refused as refused:
            words_for = f'write the volume in quotes, like {MAKES} = "1 l"'
            asked.find((MAKES,), str(refused) if isinstance(makes, str) else words_for)


def _tree_of(file: Path, asked: Path) -> Node:
    """A base's or part's own tree; its findings carry its name, or its path where two files have one name."""
    grown = tree(_parsed(read_text(file), str(file) if file.name == asked.name else file.name))
    grown.value.pop(FORMAT_KEY, None)
    return grown


@lru_cache(maxsize=8)
def _parsed(text: str, name: str) -> Document:
    """A base's or part's document; cached, because profiles share them, and parsing takes most of the time."""
    document = parse(text, name)
    check_kind(document, "profile")
    check_format(document, FORMAT)
    document.stop_if_wrong()
    return document
