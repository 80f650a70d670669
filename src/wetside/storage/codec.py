"""Events to journal entries and back, strictly: only an entry that would be written the same way can be read.

An event is a frozen struct with a `kind` literal. It is kept as (kind, version, data), where `data` is one line
of ASCII JSON with the fields in their declared order. Unknown kinds, newer versions, missing or unknown keys and
values of a wrong type are refused at every depth, naming the place.

msgspec converts between JSON and the structs by their type hints. It fills a missing key with the field's
default and drops an unknown key; so the decoded event is encoded again and compared with the text. A text that
differs (an older version, other spaces, damage) is checked value by value.

To change the shape of an event, or of anything inside it: append a function to the upcasters of its kind that
converts the previous shape to the new one, and keep a journal of the old shape in the tests.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, Generic, TypeVar, get_args

import msgspec

from wetside.errors import JournalUnusable
from wetside.storage.store import Entry, Envelope
from wetside.storage.upcasters import UPCASTERS, Data, Upcaster

if TYPE_CHECKING:
    from wetside.domain.session.events import Event

E = TypeVar("E")
_LONGEST: Final = 120
"""The most characters of a reason that may repeat a damaged text."""


class _Misfit(Exception):
    """An entry does not fit its class."""


class Codec(Generic[E]):
    """Reads and writes the events of one union.

    classes: the union's members, each a struct with a `kind: Literal[...]` default. upcasters: by kind, one
    function for each change of its shape, the oldest first. A kind is written in the version after the last of
    them, so a kind that never changed is in version 1.
    """

    def __init__(
        self, classes: Iterable[type[E]], upcasters: Mapping[str, tuple[Upcaster, ...]] = MappingProxyType({})
    ) -> None:
        """Raises ValueError for an upcaster of a kind that no class has."""
        self._classes = {kind_of(cls): cls for cls in classes}
        self._upcasters = upcasters
        if unknown := set(upcasters) - set(self._classes):
            raise ValueError(f"upcasters of kinds that no class has: {unknown}")

    def version(self, kind: str) -> int:
        """The version in which this kind is written today."""
        return len(self._upcasters.get(kind, ())) + 1

    def encode(self, event: E) -> Entry:
        """The event as a journal entry. Raises JournalUnusable when a value does not fit its field."""
        kind = kind_of(type(event))
        if self._classes.get(kind) is not type(event):
            raise JournalUnusable(f'"{kind}" does not belong in this part of the journal.')
        try:
            text = _text(event)
            if _as_written(type(event), text) is None:
                # such as a whole number for a float: stored as it will be read
                text = _text(_checked(type(event), _values(event)))
        except _Misfit as misfit:
            raise JournalUnusable(f'"{kind}" cannot be kept: {misfit}.') from misfit
        return Entry(kind, self.version(kind), text)

    def entries(self, events: Iterable[E]) -> tuple[Entry, ...]:
        """The events as journal entries. Raises as `encode`."""
        return tuple(map(self.encode, events))

    def event(self, row: Envelope) -> E:
        """The event of one row. Raises JournalUnusable when it cannot be read."""
        return self.decode(row.kind, row.version, row.data, f"{row.stream} {row.seq}")

    def decode(self, kind: str, version: int, data: str, where: str = "") -> E:
        """The event. Raises JournalUnusable, whose sentence names `where` (stream and number)."""
        place = f"Journal entry {where}" if where else "A journal entry"
        cls, now = self._classes.get(kind), self.version(kind)
        if cls is None:
            raise JournalUnusable(f'{place} is of a kind this Wetside does not know ("{kind}"): update Wetside.')
        if version > now:
            raise JournalUnusable(
                f'{place} ("{kind}") is written in version {version}, and this Wetside reads up to version '
                f"{now}: update Wetside."
            )
        try:
            if version == now and (event := _as_written(cls, data)) is not None:
                return event
            return _checked(cls, self._lifted(kind, version, _parse(data)))
        except (_Misfit, RecursionError) as misfit:
            raise JournalUnusable(
                f'{place} ("{kind}") is damaged: {misfit}; bring back a copy from the folder copies.'
            ) from misfit

    def _lifted(self, kind: str, version: int, data: Data) -> Data:
        if version < 1:
            raise _Misfit(f"the entry has version {version}, and versions begin at 1")
        for old, upcaster in enumerate(self._upcasters.get(kind, ())[version - 1 :], version):
            try:
                data = upcaster(data)
            except (KeyError, TypeError, ValueError, AttributeError) as error:
                raise _Misfit(f"the entry does not have the shape of version {old}") from error
        return data


def kind_of(cls: type[Any]) -> str:
    """The kind of the events of this class. Raises ValueError where it has none."""
    defaults = zip(reversed(cls.__struct_fields__), reversed(cls.__struct_defaults__), strict=False)
    kind = dict(defaults).get("kind")
    if not isinstance(kind, str):
        raise ValueError(f"{cls.__name__} has no kind")
    return kind


@cache
def _decoder(cls: type[Any]) -> msgspec.json.Decoder[Any]:
    return msgspec.json.Decoder(cls)


def _as_written(cls: type[E], text: str) -> E | None:
    """The event, where `text` is exactly what would be written for it; None for any other text."""
    try:
        event: E = _decoder(cls).decode(text)  # type: ignore[arg-type]  # classes are hashable
    except (msgspec.MsgspecError, ValueError):
        return None
    return event if _text(event) == text else None


def _values(event: object) -> Data:
    """The event's fields as JSON values (rows are tuples)."""
    try:
        values: Data = msgspec.to_builtins(event)
    except (TypeError, ValueError) as problem:
        raise _Misfit(f"the entry holds what cannot be kept ({problem})") from problem
    return values


_ENCODER: Final = json.JSONEncoder(separators=(",", ":"))


def _text(event: object) -> str:
    """The event's JSON text. Written by the standard library, as msgspec does not escape to ASCII."""
    return _ENCODER.encode(_values(event))


def _parse(text: str) -> Data:
    try:
        data = _DECODER.decode(text)
    except ValueError as error:
        raise _Misfit("its text is cut short or garbled") from error
    if not isinstance(data, dict):
        raise _Misfit("the entry is not a set of named values")
    return data


def _no_constant(name: str) -> float:
    raise _Misfit(f"the entry holds {name}, which is no number")


def _no_repeats(pairs: list[tuple[str, Any]]) -> Data:
    data = dict(pairs)
    if len(data) != len(pairs):
        raise _Misfit("the entry names a key twice")
    return data


# made once, as `json.loads` with hooks makes a decoder for every text
_DECODER: Final = json.JSONDecoder(parse_constant=_no_constant, object_pairs_hook=_no_repeats)


def _checked(cls: type[E], data: Data) -> E:
    """The event of exactly these JSON values. Raises _Misfit."""
    try:
        event = msgspec.convert(data, cls)
    except msgspec.ValidationError as problem:
        # it ends with the place, after the library's own words
        place = str(problem).rpartition(" - at `$")[2].strip(".`") or "the entry"
        raise _Misfit(f"the value of {place[-_LONGEST:]} cannot be right") from problem
    _refuse_difference(data, _values(event))
    return event


def _refuse_difference(found: Any, read: Any, place: str = "") -> None:
    """Raises _Misfit, with the place, where values are not exactly those that were read of them.

    msgspec fills a missing key with the field's default, drops an unknown one, and takes NaN for a number.
    """
    if isinstance(read, dict):
        missing, unknown = sorted(read.keys() - found.keys()), sorted(found.keys() - read.keys())
        if missing or unknown:
            what = f"lacks {missing[0]}" if missing else f"has an unknown key {unknown[0][:40]!r}"
            raise _Misfit(f"{place.removeprefix('.') or 'the entry'} {what}")
        for name, value in read.items():
            _refuse_difference(found[name], value, f"{place}.{name}")
    elif isinstance(read, list | tuple):
        for number, value in enumerate(read):
            _refuse_difference(found[number], value, f"{place}[{number}]")
    elif isinstance(read, float) and not math.isfinite(read):
        raise _Misfit(f"{place.removeprefix('.')} is not a finite number")


@cache
def session_codec() -> Codec[Event]:
    """The codec of session events; made on first use, since a list of past sessions reads none."""
    from wetside.domain.session.events import Event

    return Codec(get_args(Event), UPCASTERS)


def encode(event: Event) -> Entry:
    """A session event as a journal entry. Raises JournalUnusable when a value does not fit its field."""
    return session_codec().encode(event)


def event_of(row: Envelope) -> Event:
    """A session event from its row. Raises JournalUnusable when it cannot be read."""
    return session_codec().event(row)
