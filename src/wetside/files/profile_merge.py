"""One TOML document laid over another: what a profile states stands in place of what its base states.

The rules, which DEVELOPERS.md tells the person: tables are merged key by key; lists of entries with an identity
(steps, ticks, readings, gear, stages, residue rules) entry by entry; every other value is replaced whole. `after`
and `before` place an entry, `leave_out` takes away what it names before the rest is laid over. Each value keeps
the file and line it was written on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from wetside.files.toml_file import Document, nearest
from wetside.files.toml_lines import Path

Pattern = tuple[str, ...]
Find = Callable[["Place", Path, str], None]
"""Notes a finding: the place it was written at, the path to name, the words."""

OWN_KEYS: Final = ("id", "title", "notes")
"""What no profile takes over from its base: its name, and notes that speak of the base's own figures."""

_ENTRIES: Final[dict[Pattern, Pattern]] = {
    ("steps",): ("id",),
    ("stages",): ("id",),
    ("gear",): ("id",),
    ("residue",): ("residue", "solution"),
    ("steps", "*", "ticks"): ("id",),
    ("steps", "*", "readings"): ("of",),
}
"""Lists that are merged entry by entry, with the keys that tell their entries apart."""
_TABLES: Final = frozenset(
    {(), *((table, *rest) for table in ("solutions", "sources", "vessels", "cautions") for rest in ((), ("*",)))}
    | {("solutions", "*", "sources")}
    | {(*pattern, "*") for pattern in _ENTRIES}
)
PLACING: Final = ("after", "before")
LEAVE_OUT: Final = "leave_out"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value was written; `derived` when it was worked out from what stands there."""

    name: str
    line: int
    derived: bool = False


@dataclass(slots=True, eq=False)
class Node:
    """A value of a document with its place: a table of nodes, a list of nodes, or a plain value."""

    value: Any
    place: Place

    def get(self, key: str) -> Any:
        """The plain value of this table's key; None when there is none, or this is no table."""
        found = self.at(key)
        return None if found is None else plain(found)

    def at(self, key: str) -> Node | None:
        """The node of this table's key."""
        return self.value.get(key) if isinstance(self.value, dict) else None

    def table(self, key: str) -> dict[str, Node]:
        """The tables of a table by their names; empty where the file holds something else."""
        found = self.at(key)
        return found.value if found is not None and isinstance(found.value, dict) else {}

    def entries(self, key: str) -> list[Node]:
        """The entries of a list that are tables; a copy."""
        found = self.at(key)
        items = found.value if found is not None and isinstance(found.value, list) else []
        return [item for item in items if isinstance(item.value, dict)]

    def set(self, key: str, value: Any, place: Place) -> None:
        """Put a plain value under a key of this table."""
        self.value[key] = node(value, place)


def strings(value: object) -> list[str]:
    """The texts of a value that may be a text, a list with texts in it, or anything else."""
    listed = value if isinstance(value, list) else [value]
    return [each for each in listed if isinstance(each, str)]


def tree(document: Document) -> Node:
    """The document as nodes."""

    def grow(value: Any, path: Path, line: int) -> Node:
        line = document.lines.get(path, line)
        place = Place(document.name, line)
        match value:
            case dict():
                return Node({key: grow(each, (*path, key), line) for key, each in value.items()}, place)
            case list():
                return Node([grow(each, (*path, number), line) for number, each in enumerate(value)], place)
        return Node(value, place)

    return grow(document.data, (), 1)


def node(value: Any, place: Place) -> Node:
    """A plain value as nodes that all stand at one place; a node inside it stays as it is."""
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


def merged(base: Node, own: Node, find: Find) -> Node:
    """`own` laid over `base`; neither is changed. What cannot be done is handed to `find`."""
    return _merged(base, own, (), (), find)


def _merged(base: Node, own: Node, pattern: Pattern, path: Path, find: Find) -> Node:
    if pattern in _TABLES and isinstance(base.value, dict):
        if isinstance(own.value, dict):
            return _table(base, own, pattern, path, find)
        name = ".".join(str(key) for key in path)
        find(own.place, path, f"it must be a table: write [{name}], with one bracket on each side")
        return base
    if pattern in _ENTRIES and isinstance(base.value, list):
        if isinstance(own.value, list):
            return _list(base, own, pattern, path, find)
        find(
            own.place,
            path,
            f"it must be a list: write [[{path[0]}]] above each entry, or a list in square brackets",
        )
        return base
    return own


def _table(base: Node, own: Node, pattern: Pattern, path: Path, find: Find) -> Node:
    base = _less(base, own, pattern, path, find)
    value = {key: each for key, each in base.value.items() if pattern or key not in OWN_KEYS}
    for key, each in own.value.items():
        if key == LEAVE_OUT or (key in PLACING and _is_entry(pattern)):
            continue
        below = (*pattern, "*" if len(pattern) == 1 else key)
        value[key] = _merged(value[key], each, below, (*path, key), find) if key in value else each
    return Node(value, own.place)


def _is_entry(pattern: Pattern) -> bool:
    return pattern[-1:] == ("*",) and pattern[:-1] in _ENTRIES


def identity(entry: Node, pattern: Pattern) -> tuple[str, ...] | None:
    """What tells an entry of this list apart; None when it does not say."""
    found = tuple(entry.get(key) for key in _ENTRIES[pattern])
    return found if all(isinstance(part, str) for part in found) else None


def _list(base: Node, own: Node, pattern: Pattern, path: Path, find: Find) -> Node:
    items: list[Node] = list(base.value)
    placed: dict[int, str] = {}
    for number, entry in enumerate(own.value):
        here = (*path, number)
        name = identity(entry, pattern)
        at = _index(items, name, pattern)
        new = _bare(entry) if at is None else _merged(items[at], entry, (*pattern, "*"), here, find)
        to = _wanted(entry, items, pattern, here, placed, find)
        if at is None:
            if pattern == ("steps",) and name is not None and not entry.value.keys() & set(PLACING):
                hint = nearest(name[0], [known[0] for item in items if (known := identity(item, pattern))])
                words = f'there is no step "{name[0]}" to change{hint}. A new one says after = "…" or before = "…"'
                find(entry.value["id"].place, (*here, "id"), words)
            items.insert(len(items) if to is None else to, new)
        elif to is None:
            items[at] = new
        else:
            del items[at]
            items.insert(to - (1 if at < to else 0), new)
        placed[id(new)] = str(entry.get("after"))
    return Node(items, own.place)


def _bare(entry: Node) -> Node:
    """A new entry without the words that only place it."""
    if not isinstance(entry.value, dict):
        return entry
    return Node({key: each for key, each in entry.value.items() if key not in PLACING}, entry.place)


def _index(items: list[Node], name: tuple[str, ...] | None, pattern: Pattern) -> int | None:
    if name is None:
        return None
    return next((number for number, item in enumerate(items) if identity(item, pattern) == name), None)


def _wanted(
    entry: Node, items: list[Node], pattern: Pattern, path: Path, placed: dict[int, str], find: Find
) -> int | None:
    """Where the entry shall stand; None where it does not say. Several after one entry keep their own order."""
    said = [key for key in PLACING if entry.at(key) is not None]
    if not said:
        return None
    key = said[0]
    stone = entry.value[key]
    if len(said) == 2:
        find(entry.value[said[1]].place, (*path, said[1]), "write after or before, not both")
        return None
    beside = stone.value
    at = _index(items, (beside,), pattern) if isinstance(beside, str) else None
    if at is None:
        known = [name[0] for item in items if (name := identity(item, pattern))]
        hint = nearest(str(beside), known)
        find(stone.place, (*path, key), f'there is no "{str(beside)[:40]}" here to stand {key}{hint}')
        return None
    if key == "before":
        return at
    at += 1
    while at < len(items) and placed.get(id(items[at])) == beside:
        at += 1
    return at


# ---------------------------------------------------------- what is left out


def _less(base: Node, own: Node, pattern: Pattern, path: Path, find: Find) -> Node:
    """The base's table without what `leave_out` names, each a key, or a list's or table's name and an id in it."""
    named = own.at(LEAVE_OUT)
    if named is None:
        return base
    if not isinstance(named.value, list) or not all(isinstance(each.value, str) for each in named.value):
        find(named.place, (*path, LEAVE_OUT), 'write a list of names in square brackets, like ["steps.filter"]')
        return base
    for each in named.value:
        taken = _taken(base, each.value, pattern)
        if taken is None:
            hint = nearest(each.value, list(_names(base, pattern)))
            find(each.place, (*path, LEAVE_OUT), f'there is no "{each.value[:60]}" here to leave out{hint}')
        else:
            base = taken
            if not pattern:
                base = _unnamed(base, each.value)
    return base


def _names(base: Node, pattern: Pattern) -> Iterator[str]:
    for key, each in base.value.items():
        yield key
        if isinstance(each.value, list) and (*pattern, key) in _ENTRIES:
            yield from (f"{key}.{'.'.join(name)}" for e in each.value if (name := identity(e, (*pattern, key))))
        elif isinstance(each.value, dict):
            yield from (f"{key}.{name}" for name in each.value)


def _taken(base: Node, name: str, pattern: Pattern) -> Node | None:
    """The table without what is named; None when it is not there."""
    key, _, rest = name.partition(".")
    inner = base.at(key)
    if inner is None:
        return None
    value = dict(base.value)
    if not rest:
        del value[key]
        return Node(value, base.place)
    if isinstance(inner.value, dict) and rest in inner.value:
        value[key] = Node({k: each for k, each in inner.value.items() if k != rest}, inner.place)
        return Node(value, base.place)
    below = (*pattern, key)
    if below in _ENTRIES and isinstance(inner.value, list):
        at = _index(inner.value, tuple(rest.split(".")), below)
        if at is not None:
            value[key] = Node([*inner.value[:at], *inner.value[at + 1 :]], inner.place)
            if below == ("steps",):
                value[key] = _due_later(inner.value, at)
            return Node(value, base.place)
    return None


def _due_later(steps: list[Node], at: int) -> Node:
    """The steps without number `at`; what fell due before it falls due before the step that followed it."""
    gone = steps[at].get("id")
    following = steps[at + 1].get("id") if at + 1 < len(steps) else "end"

    def carried(step: Node) -> Node:
        value = {k: each for k, each in step.value.items() if not (k == "joins" and each.value == gone)}
        if "ticks" in value and isinstance(value["ticks"].value, list):
            ticks = [
                Node(tick.value | {"due": Node(following, tick.place)}, tick.place)
                if tick.get("due") == gone
                else tick
                for tick in value["ticks"].value
            ]
            value["ticks"] = Node(ticks, value["ticks"].place)
        return Node(value, step.place)

    rest = [*steps[:at], *steps[at + 1 :]]
    return Node([carried(step) if isinstance(step.value, dict) else step for step in rest], steps[0].place)


def _unnamed(base: Node, name: str) -> Node:
    """What named a solution, vessel, gear item or caution that was left out goes with it."""
    kind, _, id_ = name.partition(".")
    if kind == "solutions":
        for step in base.entries("steps"):
            if step.get("solution") == id_:
                base = _taken(base, f"steps.{step.get('id')}", ()) or base
        for vessel, each in base.table("vessels").items():
            if each.get("dedicated_to") == id_:
                base = _unnamed(_taken(base, f"vessels.{vessel}", ()) or base, f"vessels.{vessel}")
        value = dict(base.value)
        if "residue" in value:
            kept = [r for r in base.entries("residue") if id_ not in (r.get("residue"), r.get("solution"))]
            value["residue"] = Node(kept, value["residue"].place)
        base = Node(value, base.place)
    if kind not in ("solutions", "vessels", "gear", "cautions"):
        return base
    value = dict(base.value)
    for table in ("steps", "solutions"):
        if table in value and (table == "steps" or kind == "cautions"):
            value[table] = _scrubbed(value[table], kind, id_)
    return Node(value, base.place)


_NAMING: Final = {
    "solutions": ("of", "closes"),
    "vessels": ("clears", "rinses", "touches"),
    "gear": ("list_gear",),
    "cautions": ("cautions", "needs_caution"),
}


def _scrubbed(of: Node, kind: str, id_: str) -> Node:
    """The tree without what names what is gone: list items, and readings and ticks of a solution whole."""
    match of.value:
        case dict():
            value = {}
            for key, each in of.value.items():
                if key in _NAMING[kind] and isinstance(each.value, list):
                    value[key] = Node([item for item in each.value if item.value != id_], each.place)
                else:
                    value[key] = _scrubbed(each, kind, id_) if isinstance(each.value, dict | list) else each
            return Node(value, of.place)
        case list():
            kept = [
                item
                for item in of.value
                if not (kind == "solutions" and any(item.get(key) == id_ for key in _NAMING[kind]))
            ]
            return Node([_scrubbed(item, kind, id_) for item in kept], of.place)
    return of
