"""Merges one TOML document over another: what a profile states replaces what its base states.

The rules, explained in DEVELOPERS.md: tables are merged key by key; lists of entries with an identity
(steps, ticks, readings, gear, stages, residue rules) entry by entry; every other value is replaced whole. `after`
and `before` place an entry, `leave_out` removes entries before the rest is merged. Each value keeps
the file and line it was written on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from wetside.files.toml_file import Document, Place, nearest
from wetside.files.toml_lines import Path

Find = Callable[[Place, Path, str], None]
"""Reports a finding: where it was written, the key path to name, the sentence."""

OWN_KEYS: Final = ("id", "title", "notes")
"""Keys that are not inherited from a base: its name, and notes about its own figures."""
PLACING: Final = ("after", "before")
LEAVE_OUT: Final = "leave_out"

_ENTRIES: Final[dict[tuple[str, ...], tuple[str, ...]]] = {
    ("steps",): ("id",),
    ("stages",): ("id",),
    ("gear",): ("id",),
    ("residue",): ("residue", "solution"),
    ("steps", "*", "ticks"): ("id",),
    ("steps", "*", "readings"): ("of",),
}
"""Lists that are merged entry by entry, with the keys that identify their entries."""
_TABLES: Final = frozenset(
    {(), *((table, *rest) for table in ("solutions", "sources", "vessels", "cautions") for rest in ((), ("*",)))}
    | {("solutions", "*", "sources")}
    | {(*pattern, "*") for pattern in _ENTRIES}
)


@dataclass(slots=True, eq=False)
class Node:
    """A value of a document with its place: a table of nodes, a list of nodes, or a plain value."""

    value: Any
    place: Place

    def get(self, key: str) -> Any:
        """The plain value of this table's key; None if it is missing, or this is no table."""
        found = self.at(key)
        return None if found is None else plain(found)

    def at(self, key: str) -> Node | None:
        """The node of this table's key; None if it is missing, or this is no table."""
        return self.value.get(key) if isinstance(self.value, dict) else None

    def table(self, key: str) -> dict[str, Node]:
        """The table under this key; empty if there is none."""
        found = self.at(key)
        return found.value if found is not None and isinstance(found.value, dict) else {}

    def entries(self, key: str) -> list[Node]:
        """The tables in the list under this key, as a new list."""
        found = self.at(key)
        items = found.value if found is not None and isinstance(found.value, list) else []
        return [item for item in items if isinstance(item.value, dict)]

    @property
    def derived(self) -> Place:
        """The place for values derived from this one."""
        return self.place._replace(derived=True)

    def fill(self, key: str, value: Any, since: Node | None = None) -> Node:
        """Set a missing key to a value derived from `since` (None: from this table); returns its node."""
        if key not in self.value:
            self.put(key, value, since)
        found: Node = self.value[key]
        return found

    def put(self, key: str, value: Any, since: Node | None = None) -> None:
        """As `fill`, but replaces an existing value."""
        self.value[key] = node(value, (since or self).derived)

    def copy(self) -> Node:
        """The same values at the same places in nodes of its own."""
        match self.value:
            case dict():
                return Node({key: each.copy() for key, each in self.value.items()}, self.place)
            case list():
                return Node([each.copy() for each in self.value], self.place)
        return Node(self.value, self.place)


def strings(value: object) -> list[str]:
    """A string as a list of one; the strings in a list; [] for anything else."""
    return [each for each in (value if isinstance(value, list) else [value]) if isinstance(each, str)]


def tree(document: Document) -> Node:
    """The document as nodes."""

    def grow(value: Any, path: Path, place: Place) -> Node:
        place = document.places.get(path, place)
        if isinstance(value, dict):
            value = {key: grow(each, (*path, key), place) for key, each in value.items()}
        elif isinstance(value, list):
            value = [grow(each, (*path, number), place) for number, each in enumerate(value)]
        return Node(value, place)

    return grow(document.data, (), Place(document.name, 1))


def node(value: Any, place: Place) -> Node:
    """A plain value as nodes with the same place; nodes inside it are kept."""
    match value:
        case Node():
            return value
        case dict():
            return Node({key: node(each, place) for key, each in value.items()}, place)
        case list():
            return Node([node(each, place) for each in value], place)
    return Node(value, place)


def plain(of: Node) -> Any:
    """The value without its places."""
    match of.value:
        case dict():
            return {key: plain(each) for key, each in of.value.items()}
        case list():
            return [plain(each) for each in of.value]
    return of.value


def places(of: Node, path: Path = ()) -> Iterator[tuple[Path, Place]]:
    """Every path of the tree with the place of its value."""
    yield path, of.place
    if isinstance(of.value, dict | list):
        for key, each in of.value.items() if isinstance(of.value, dict) else enumerate(of.value):
            yield from places(each, (*path, key))


# ------------------------------------------------------------------ merging


def merged(base: Node, own: Node, find: Find, path: Path = ()) -> Node:
    """`own` merged over `base`, both from `path` on; neither is changed. Conflicts are reported to `find`."""
    pattern = _pattern(path)
    if pattern in _TABLES and isinstance(base.value, dict):
        if isinstance(own.value, dict):
            return _table(base, own, find, path)
        name = ".".join(str(key) for key in path)
        find(own.place, path, f"it must be a table: write [{name}], with one bracket on each side")
        return base
    if pattern in _ENTRIES and isinstance(base.value, list):
        if isinstance(own.value, list):
            return _list(base, own, find, path)
        what = f"it must be a list: write [[{path[0]}]] above each entry, or a list in square brackets"
        find(own.place, path, what)
        return base
    return own


def _pattern(path: Path) -> tuple[str, ...]:
    """A path with "*" for the number or id of each entry."""
    return tuple("*" if number == 1 or isinstance(key, int) else key for number, key in enumerate(path))


def _table(base: Node, own: Node, find: Find, path: Path) -> Node:
    base = _leave_out(base, own, find, path)
    is_entry = _pattern(path)[:-1] in _ENTRIES
    value = {key: each for key, each in base.value.items() if path or key not in OWN_KEYS}
    for key, each in own.value.items():
        if key != LEAVE_OUT and not (key in PLACING and is_entry):
            value[key] = merged(value[key], each, find, (*path, key)) if key in value else each
    return Node(value, own.place)


def _list(base: Node, own: Node, find: Find, path: Path) -> Node:
    keys = _ENTRIES[_pattern(path)]
    items: list[Node] = list(base.value)
    placed: dict[int, str] = {}
    for number, entry in enumerate(own.value):
        here = (*path, number)
        name = _name(entry, keys)
        at = _index(items, name, keys)
        new = _without_placing(entry) if at is None else merged(items[at], entry, find, here)
        to = _position(entry, items, placed, find, here)
        if at is None:
            if path == ("steps",) and name is not None and not entry.value.keys() & set(PLACING):
                hint = nearest(name[0], [known[0] for item in items if (known := _name(item, keys))])
                what = f'there is no step "{name[0]}" to change{hint}. A new one says after = "…" or before = "…"'
                find(entry.value["id"].place, (*here, "id"), what)
            items.insert(len(items) if to is None else to, new)
        else:
            del items[at]
            items.insert(at if to is None else to - (at < to), new)
        placed[id(new)] = str(entry.get("after"))
    return Node(items, own.place)


def _name(entry: Node, keys: tuple[str, ...]) -> tuple[str, ...] | None:
    """The values that identify an entry; None if one is missing."""
    found = tuple(entry.get(key) for key in keys)
    return found if all(isinstance(part, str) for part in found) else None


def _index(items: list[Node], name: tuple[str, ...] | None, keys: tuple[str, ...]) -> int | None:
    names = [_name(item, keys) for item in items]
    return names.index(name) if name is not None and name in names else None


def _without_placing(entry: Node) -> Node:
    """A new entry without the keys `after` and `before`."""
    if not isinstance(entry.value, dict):
        return entry
    return Node({key: each for key, each in entry.value.items() if key not in PLACING}, entry.place)


def _position(entry: Node, items: list[Node], placed: dict[int, str], find: Find, path: Path) -> int | None:
    """The index for an entry with `after` or `before`, else None. Several after one entry keep their order."""
    said = [key for key in PLACING if entry.at(key) is not None]
    if len(said) == 2:
        find(entry.value[said[1]].place, (*path, said[1]), "write after or before, not both")
    if len(said) != 1:
        return None
    key = said[0]
    beside = entry.value[key].value
    keys = _ENTRIES[_pattern(path)[:-1]]
    at = _index(items, (beside,), keys) if isinstance(beside, str) else None
    if at is None:
        hint = nearest(str(beside), [name[0] for item in items if (name := _name(item, keys))])
        what = f'there is no "{str(beside)[:40]}" here to stand {key}{hint}'
        find(entry.value[key].place, (*path, key), what)
        return None
    if key == "after":
        at += 1
        while at < len(items) and placed.get(id(items[at])) == beside:
            at += 1
    return at


# ---------------------------------------------------------- what is left out


def _leave_out(base: Node, own: Node, find: Find, path: Path) -> Node:
    """The base's table without what `leave_out` names, each a key, or a list's or table's name and an id."""
    named = own.at(LEAVE_OUT)
    if named is None:
        return base
    if not isinstance(named.value, list) or not all(isinstance(each.value, str) for each in named.value):
        find(named.place, (*path, LEAVE_OUT), 'write a list of names in square brackets, like ["steps.filter"]')
        return base
    base = base.copy()
    for each in named.value:
        known = _removable(base, _pattern(path))
        if each.value in known:
            _remove(base, *known[each.value], _pattern(path))
            if not path:
                _remove_references(base, each.value)
        else:
            what = f'there is no "{each.value[:60]}" here to leave out{nearest(each.value, known)}'
            find(each.place, (*path, LEAVE_OUT), what)
    return base


def _removable(base: Node, pattern: tuple[str, ...]) -> dict[str, tuple[str, str | int | None]]:
    """What `leave_out` may name in a table: for each name the key, and the id or index inside its value."""
    found: dict[str, tuple[str, str | int | None]] = {}
    for key, each in base.value.items():
        found[key] = (key, None)
        if isinstance(each.value, dict):
            found |= {f"{key}.{id_}": (key, id_) for id_ in each.value}
        elif isinstance(each.value, list) and (keys := _ENTRIES.get((*pattern, key))):
            for number, entry in enumerate(each.value):
                if name := _name(entry, keys):
                    found.setdefault(f"{key}.{'.'.join(name)}", (key, number))
    return found


def _remove(base: Node, key: str, inner: str | int | None, pattern: tuple[str, ...] = ()) -> None:
    """Remove a key of a table, or the entry with an id or index inside its value."""
    if inner is None:
        del base.value[key]
        return
    entries = base.value[key].value
    if isinstance(inner, int) and (*pattern, key) == ("steps",):
        _put_off(entries, entries[inner].get("id"), entries[inner + 1 :])
    del entries[inner]


def _put_off(steps: list[Node], gone: object, later: list[Node]) -> None:
    """Make ticks that are due before a step that goes due before the next one; nothing joins it any more."""
    following = later[0].get("id") if later else "end"
    for step in steps:
        if step.get("joins") == gone:
            step.value.pop("joins", None)
        for tick in step.entries("ticks"):
            if tick.get("due") == gone:
                tick.value["due"] = Node(following, tick.place)


_NAMING: Final = {
    "solutions": ("of", "closes"),
    "vessels": ("clears", "rinses", "touches"),
    "gear": ("list_gear",),
    "cautions": ("cautions", "needs_caution"),
}
"""For each kind of entry, the keys that reference it."""


def _remove_references(base: Node, name: str) -> None:
    """Remove the references to a solution, vessel, gear item or caution that was left out."""
    kind, _, id_ = name.partition(".")
    if kind == "solutions":
        for step in base.entries("steps"):
            if step.get("solution") == id_ and (found := _removable(base, ()).get(f"steps.{step.get('id')}")):
                _remove(base, *found)
        for vessel, each in [*base.table("vessels").items()]:
            if each.get("dedicated_to") == id_:
                del base.table("vessels")[vessel]
                _remove_references(base, f"vessels.{vessel}")
        if (rules := base.at("residue")) is not None:
            rules.value = [r for r in base.entries("residue") if id_ not in (r.get("residue"), r.get("solution"))]
    for table in ("steps", "solutions") if kind == "cautions" else ("steps",):
        held = base.at(table)
        if held is not None and kind in _NAMING:
            _drop_references(held, kind, id_)


def _drop_references(of: Node, kind: str, id_: str) -> None:
    """Remove the references to an id inside a value: list items, and whole readings and ticks of a solution."""
    if isinstance(of.value, dict):
        for key, each in of.value.items():
            if key in _NAMING[kind] and isinstance(each.value, list):
                each.value = [item for item in each.value if item.value != id_]
            else:
                _drop_references(each, kind, id_)
    elif isinstance(of.value, list):
        whole = _NAMING[kind] if kind == "solutions" else ()
        of.value = [item for item in of.value if not any(item.get(key) == id_ for key in whole)]
        for item in of.value:
            _drop_references(item, kind, id_)
