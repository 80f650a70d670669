"""Events to journal entries and back, strictly: what was written is what is read, or it is refused.

One job: turn one event of a union of frozen dataclasses into `(kind, version, data)`, where `data` is one line
of ASCII JSON, and back. Unknown kinds, newer versions, missing or unknown keys and values of a wrong type stop
with a sentence, at every depth. It must not know a file, a table or what an event means.

The readers and writers are worked out from the type hints, one class at a time, when a kind is first met.
A validation library was measured at 83 ms before the first event could be read (54 ms to import, 29 ms to build
the union's schema); this reads the first event, plan included, after about 10 ms, so `resume` paints at once.

A change of an event's shape, or of anything inside it, takes three steps: raise the kind's number in its version
table, add the one function `(kind, old version) -> data` that lifts old data by one version, and keep a
journal of the old shape in the tests.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from enum import Enum
from functools import cache
from math import isfinite
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from wetside.errors import JournalUnusable
from wetside.storage.upcasters import UPCASTERS, Data, Upcaster

if TYPE_CHECKING:
    from wetside.domain.session.events import Event

E = TypeVar("E")
_Read = Callable[[Any], Any]

VERSIONS: Mapping[str, int] = {
    "session_began": 11,
    "session_resumed": 1,
    "clock_jumped": 1,
    "step_opened": 1,
    "tick_made": 1,
    "tick_undone": 1,
    "gate_overridden": 1,
    "reading_taken": 2,
    "clock_started": 1,
    "clock_corrected": 1,
    "end_moved": 1,
    "pause_began": 1,
    "pause_ended": 1,
    "drain_began": 1,
    "drain_taken_back": 1,
    "step_ended": 1,
    "cue_given": 1,
    "cue_missed": 1,
    "cue_answered": 1,
    "hold_began": 1,
    "hold_ended": 1,
    "note_added": 1,
    "mishap_happened": 1,
    "session_closed": 1,
}
"""The version each kind of session event is written in today."""


class _Misfit(Exception):
    """A value is not of its field's type. `path` grows outward as it is passed up."""

    def __init__(self, why: str, path: str = "") -> None:
        super().__init__(why)
        self.why = why
        self.path = path

    def inside(self, name: str) -> _Misfit:
        """The same misfit seen from the field or place `name` around it."""
        separator = "" if not self.path or self.path.startswith("[") else "."
        return _Misfit(self.why, f"{name}{separator}{self.path}")

    def __str__(self) -> str:
        return f"{self.path or 'the entry'} {self.why}"


@dataclass(frozen=True, slots=True)
class Codec(Generic[E]):
    """Reads and writes the events of one union.

    classes: the union's members, each a dataclass with a `kind: Literal[...]` default. versions: today's
    version per kind. upcasters: one step each. ValueError when the tables do not fit the classes.
    """

    classes: tuple[type[E], ...]
    versions: Mapping[str, int]
    upcasters: Mapping[tuple[str, int], Upcaster] = field(default_factory=dict)
    _by_kind: dict[str, type[E]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_kind = {_kind_of(cls): cls for cls in self.classes}
        if set(by_kind) != set(self.versions):
            raise ValueError(f"classes and versions differ in {set(by_kind) ^ set(self.versions)}")
        needed = {(kind, old) for kind, now in self.versions.items() for old in range(1, now)}
        if needed != set(self.upcasters):
            raise ValueError(f"upcasters differ from the versions in {needed ^ set(self.upcasters)}")
        object.__setattr__(self, "_by_kind", by_kind)

    def encode(self, event: E) -> tuple[str, int, str]:
        """The event as (kind, version, one line of ASCII JSON); JournalUnusable when a value does not fit."""
        kind = _kind_of(type(event))
        if self._by_kind.get(kind) is not type(event):
            raise JournalUnusable(f'"{kind}" does not belong in this part of the journal.')
        try:
            data = _writer(type(event))(event)
            text = json.dumps(data, separators=(",", ":"), allow_nan=False)
        except _Misfit as misfit:
            raise JournalUnusable(f'"{kind}" cannot be kept: {misfit}.') from misfit
        return kind, self.versions[kind], text

    def decode(self, kind: str, version: int, data: str, where: str = "") -> E:
        """The event. `where` (stream and number) is named in the sentence of a JournalUnusable."""
        place = f"Journal entry {where}" if where else "A journal entry"
        cls = self._by_kind.get(kind)
        if cls is None:
            raise JournalUnusable(f'{place} is of a kind this Wetside does not know ("{kind}"): update Wetside.')
        if version > self.versions[kind]:
            raise JournalUnusable(
                f'{place} ("{kind}") is written in version {version}, and this Wetside reads up to version '
                f"{self.versions[kind]}: update Wetside."
            )
        try:
            fresh: E = _reader(cls)(self._lift(kind, version, _parse(data)))
        except _Misfit as misfit:
            raise JournalUnusable(
                f'{place} ("{kind}") is damaged: {misfit}; bring back a copy from the folder copies.'
            ) from misfit
        return fresh

    def _lift(self, kind: str, version: int, data: Data) -> Data:
        if version < 1:
            raise _Misfit(f"has version {version}, and versions begin at 1")
        for old in range(version, self.versions[kind]):
            try:
                data = self.upcasters[kind, old](data)
            except (KeyError, TypeError, ValueError, AttributeError) as error:
                raise _Misfit(f"does not have the shape of version {old}") from error
        return data


def _parse(text: str) -> Data:
    try:
        data = _DECODER.decode(text)
    except (ValueError, RecursionError) as error:
        raise _Misfit("is not JSON") from error
    if not isinstance(data, dict):
        raise _Misfit("is not a set of named values")
    return data


def _no_constant(name: str) -> float:
    raise _Misfit(f"holds {name}, which is no number")


def _no_repeats(pairs: list[tuple[str, Any]]) -> Data:
    data = dict(pairs)
    if len(data) != len(pairs):
        raise _Misfit("names a key twice")
    return data


# made once: `json.loads` makes one for every text when it is told of hooks
_DECODER = json.JSONDecoder(parse_constant=_no_constant, object_pairs_hook=_no_repeats)


def _kind_of(cls: type[Any]) -> str:
    for part in fields(cls):
        if part.name == "kind" and isinstance(part.default, str):
            return part.default
    raise ValueError(f"{cls.__name__} has no kind")


# One reader and one writer per dataclass, made when first needed. Both tables only ever gain entries that depend
# on the class alone, so sharing them between codecs and threads is harmless.
_readers: dict[type[Any], _Read] = {}
_writers: dict[type[Any], _Read] = {}


def _reader(cls: type[Any]) -> _Read:
    if cls not in _readers:
        _readers[cls] = _dataclass_reader(cls)
    return _readers[cls]


def _writer(cls: type[Any]) -> _Read:
    if cls not in _writers:
        _writers[cls] = _dataclass_writer(cls)
    return _writers[cls]


def _dataclass_reader(cls: type[Any]) -> _Read:
    hints = get_type_hints(cls)
    parts = tuple((part.name, _value_reader(hints[part.name])) for part in fields(cls))
    names = frozenset(name for name, _ in parts)

    def read(value: Any) -> Any:
        if type(value) is not dict:
            raise _Misfit(f"is {_named(value)}, not a set of named values")
        if value.keys() != names:
            missing, unknown = sorted(names - value.keys()), sorted(value.keys() - names)
            raise _Misfit(f"lacks {missing[0]}" if missing else f"has an unknown key {unknown[0]!r}")
        try:
            return cls(*[reads(value[name]) for name, reads in parts])
        except _Misfit:
            raise _named_misfit(value, parts) from None

    return read


def _named_misfit(value: Data, parts: tuple[tuple[str, _Read], ...]) -> _Misfit:
    """Which field does not fit. Looked for only then: keeping count of them all costs every entry."""
    for name, reads in parts:
        try:
            reads(value[name])
        except _Misfit as misfit:
            return misfit.inside(name)
    raise AssertionError("a value that did not fit now does")


def _dataclass_writer(cls: type[Any]) -> _Read:
    hints = get_type_hints(cls)
    parts = tuple((part.name, _value_writer(hints[part.name])) for part in fields(cls))

    def write(value: Any) -> Any:
        if type(value) is not cls:
            raise _Misfit(f"is {_named(value)}, not {cls.__name__}")
        kept = {}
        for name, writes in parts:
            try:
                kept[name] = writes(getattr(value, name))
            except _Misfit as misfit:
                raise misfit.inside(name) from None
        return kept

    return write


def _value_reader(hint: Any) -> _Read:
    if is_dataclass(hint) and isinstance(hint, type):
        return _reader(hint)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _chosen({member.value: member for member in hint})
    if get_origin(hint) is tuple:
        return _tuple_of(get_args(hint), _value_reader, list, tuple)
    return _scalar(hint, _value_reader)


def _value_writer(hint: Any) -> _Read:
    if is_dataclass(hint) and isinstance(hint, type):
        return _writer(hint)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _chosen({member: member.value for member in hint})
    if get_origin(hint) is tuple:
        return _tuple_of(get_args(hint), _value_writer, tuple, list)
    return _scalar(hint, _value_writer)


def _scalar(hint: Any, inner: Callable[[Any], _Read]) -> _Read:
    """The kinds of value that look the same in an event and in JSON, and unions with None."""
    if hint in _PLAIN:
        return _PLAIN[hint]
    if get_origin(hint) is Literal:
        return _chosen({choice: choice for choice in get_args(hint)})
    if get_origin(hint) in (Union, UnionType) and NoneType in get_args(hint) and len(get_args(hint)) == 2:
        (some,) = (choice for choice in get_args(hint) if choice is not NoneType)
        present = inner(some)
        return lambda value: None if value is None else present(value)
    raise TypeError(f"events cannot hold {hint!r}")


def _chosen(choices: Mapping[Any, Any]) -> _Read:
    kinds = {type(choice) for choice in choices}

    def choose(value: Any) -> Any:
        if type(value) not in kinds or value not in choices:
            raise _Misfit(f"is {_named(value)}, which is none of its choices")
        return choices[value]

    return choose


def _tuple_of(
    args: tuple[Any, ...], inner: Callable[[Any], _Read], given: type[Any], made: Callable[[list[Any]], Any]
) -> _Read:
    repeated = len(args) == 2 and args[1] is Ellipsis
    each = (inner(args[0]),) if repeated else tuple(inner(arg) for arg in args)

    def convert(value: Any) -> Any:
        if type(value) is not given:
            raise _Misfit(f"is {_named(value)}, not a row of values")
        if not repeated and len(value) != len(each):
            raise _Misfit(f"has {len(value)} values, not {len(each)}")
        kept = []
        for number, item in enumerate(value):
            try:
                kept.append(each[0 if repeated else number](item))
            except _Misfit as misfit:
                raise misfit.inside(f"[{number}]") from None
        return made(kept)

    return convert


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise _Misfit(f"is {_named(value)}, not text")
    return value if type(value) is str else str.__str__(value)


def _number(value: Any) -> float:
    # a whole number is a number: callers may say at=0, and it is kept as 0.0
    if type(value) is not float and type(value) is not int:
        raise _Misfit(f"is {_named(value)}, not a number")
    try:
        number = float(value)
    except OverflowError:
        raise _Misfit("is too large a number") from None
    if not isfinite(number):
        raise _Misfit("is not a finite number")
    return number


def _whole(value: Any) -> int:
    if type(value) is not int:
        raise _Misfit(f"is {_named(value)}, not a whole number")
    return value


def _yes_or_no(value: Any) -> bool:
    if type(value) is not bool:
        raise _Misfit(f"is {_named(value)}, not true or false")
    return value


_PLAIN: dict[Any, _Read] = {str: _text, float: _number, int: _whole, bool: _yes_or_no}


def _named(value: Any) -> str:
    """A short name for a wrong value, safe to show: never its whole text."""
    match value:
        case None:
            return "nothing"
        case str():
            return repr(value) if len(value) <= 40 else f"a text of {len(value)} characters"
        case bool() | int() | float():
            return repr(value)[:40]
        case list() | tuple():
            return "a row of values"
        case dict():
            return "a set of named values"
        case _:
            return type(value).__name__


@cache
def session_codec() -> Codec[Event]:
    """The codec of session events; made when the first is read, since a list of past evenings reads none."""
    from wetside.domain.session.events import Event

    return Codec(get_args(Event), VERSIONS, UPCASTERS)


def encode(event: Event) -> tuple[str, int, str]:
    """A session event as (kind, version, data). JournalUnusable when a value does not fit its field."""
    return session_codec().encode(event)


def decode(kind: str, version: int, data: str, where: str = "") -> Event:
    """A session event from its entry. JournalUnusable, in a sentence, when it cannot be read."""
    return session_codec().decode(kind, version, data, where)
