"""Events to journal entries and back, strictly: only an entry that would be written the same way can be read.

An event is a frozen dataclass with a `kind` literal. It is kept as (kind, version, data), where `data` is one line
of ASCII JSON with the fields in their declared order. Unknown kinds, newer versions, missing or unknown keys and
values of a wrong type are refused at every depth, naming the place.

msgspec converts between JSON and the dataclasses by their type hints. It fills a missing key with the field's
default and drops an unknown key; so the decoded event is encoded again and compared with the text. A text that
differs (an older version, other spaces, damage) is checked value by value.

To change the shape of an event, or of anything inside it: append a function to the upcasters of its kind that
converts the previous shape to the new one, and keep a journal of the old shape in the tests.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from types import MappingProxyType, NoneType, UnionType
from typing import (
    TYPE_CHECKING,
    Any,
    Final,
    Generic,
    Literal,
    TypeVar,
    Union,
    get_args,
    get_origin,
    get_type_hints,
)

from wetside.errors import JournalUnusable
from wetside.storage.store import Entry, Envelope

if TYPE_CHECKING:
    import msgspec

    from wetside.domain.session.events import Event

E = TypeVar("E")
Data = dict[str, Any]
"""One event's fields as JSON values."""
Upcaster = Callable[[Data], Data]
"""Converts the data of one kind to the next version. It may change its argument or return another mapping."""


def _add_volume_unit(data: Data) -> Data:
    """session_began 1 → 2: a plan named no unit of volume; everything was shown in ml."""
    return {**data, "plan": {**data["plan"], "volume_unit": "ml"}}


def _add_tempered_bottles(data: Data) -> Data:
    """session_began 2 → 3: a plan did not list the bottles that stand in the warm bath."""
    plan = data["plan"]
    if plan.get("tempering") is None:
        return data
    return {**data, "plan": {**plan, "tempering": {**plan["tempering"], "bottles": []}}}


def _add_bath_roles(data: Data) -> Data:
    """session_began 3 → 4: a plan named neither its yield, nor the baths that bleach, nor its push rows.

    They are taken from the ids of the shipped profiles; without push rows no overrun is given in stops.
    """
    plan = data["plan"]
    steps = [{**s, "bleaches": s["solution"] in ("bleach", "bleach-fix"), "push": []} for s in plan["steps"]]
    reversal = any(step["solution"] == "reversal" for step in steps)
    bottles = [{**bottle, "suspect": "", "tested": None} for bottle in plan["setup"]["bottles"]]
    setup = {**plan["setup"], "bottles": bottles}
    yields = "positive" if reversal else "negative"
    return {**data, "plan": {**plan, "steps": steps, "setup": setup, "yields": yields}}


def _convert_to_rolls_of_135_36(data: Data) -> Data:
    """session_began 4 → 5: the shelf counted in rolls of 80 in² (516.128 cm²); a 135-36 has 572 cm².

    A figure that a person typed stays: it was a number of rolls.
    """
    setup = data["plan"]["setup"]
    bottles = [
        {**each, "used_rolls": each["used_rolls"] * 516.128 / 572.0} if each["shelf_id"] is not None else each
        for each in setup["bottles"]
    ]
    return {**data, "plan": {**data["plan"], "setup": {**setup, "bottles": bottles}}}


def _add_water_changes(data: Data) -> Data:
    """session_began 5 → 6: no wash had calls for its changes of water."""
    plan = data["plan"]
    return {**data, "plan": {**plan, "steps": [{**step, "water_every_s": None} for step in plan["steps"]]}}


def _add_agitation_and_backing(data: Data) -> Data:
    """session_began 6 → 7: agitation was not chosen, and neither bottles nor fills recorded a film's backing."""
    plan = data["plan"]
    steps = [
        {
            **step,
            "drift_table": [],
            "agitation": None if step["agitation"] is None else {**step["agitation"], "fixed": False},
        }
        for step in plan["steps"]
    ]
    bottles = [{**bottle, "backed_rolls": 0.0} for bottle in plan["setup"]["bottles"]]
    setup = {**plan["setup"], "bottles": bottles, "agitation": "as the process", "agitated_by": "inversion"}
    batches = [{**batch, "backing_on": False} for batch in plan["batches"]]
    return {**data, "plan": {**plan, "steps": steps, "setup": setup, "batches": batches}}


def _add_loading_order(data: Data) -> Data:
    """session_began 7 → 8: film was always loaded after the bottles were warm."""
    plan = data["plan"]
    return {**data, "plan": {**plan, "setup": {**plan["setup"], "loading": "after warming"}, "loading": None}}


def _add_film_details_and_sources(data: Data) -> Data:
    """session_began 8 → 9: a roll had no stock, exposure or camera, and a bath no list of its sources.

    A bath's figures may come from any source of the process, so all are listed.
    """
    plan = data["plan"]
    setup, sources = plan["setup"], [source[0] for source in plan["sources"]]
    steps = [{**step, "sources": sources if step["solution"] is not None else []} for step in plan["steps"]]
    details = {"stock": "", "exposure_index": None, "camera": "", "shot_at": "", "shot_on": None}
    rolls = [{**roll, **details} for roll in setup["rolls"]]
    return {**data, "plan": {**plan, "steps": steps, "setup": {**setup, "rolls": rolls}}}


def _add_kit(data: Data) -> Data:
    """session_began 9 → 10: no session mixed a kit."""
    return {**data, "plan": {**data["plan"], "kit": None}}


def _add_cost_and_ready_span(data: Data) -> Data:
    """session_began 10 → 11: a plan had no price, and its warming forecast was one moment."""
    plan = data["plan"]
    tempering = plan["tempering"]
    span = None if tempering is None else {**tempering, "ready_span_s": None}
    return {**data, "plan": {**plan, "tempering": span, "cost": None}}


def _add_reader(data: Data) -> Data:
    """reading_taken 1 → 2: every temperature was typed."""
    return {**data, "by": "person"}


def _look_as_code(data: Data) -> Data:
    """note_added 1 → 2: a look was a sentence, "Thin all over; edge numbers weak"; one in other words stays."""
    look = None
    if data["about"] == "look":
        words, _, edge = data["text"].rpartition("; edge numbers ")
        if not words or edge not in ("normal", "weak", "dense", "missing", "fogged"):
            words, edge = data["text"], ""
        yields, fault = _looks_of_version_1().get(words, ("negative", "own words"))
        if fault != "own words" or edge:
            look = {"fault": fault, "edge": edge, "yields": yields}
            data = {**data, "text": words if fault == "own words" else ""}
    return {**data, "look": look}


@cache
def _looks_of_version_1() -> dict[str, tuple[str, str]]:
    """By its words: whose table a fault is in, and its id."""
    import tomllib  # old journals only

    table = tomllib.loads(Path(__file__).with_name("looks_of_version_1.toml").read_text("utf-8"))
    return {words: (yields, id_) for yields, ids in table.items() for id_, words in ids.items()}


UPCASTERS: Mapping[str, tuple[Upcaster, ...]] = {
    "session_began": (
        _add_volume_unit,
        _add_tempered_bottles,
        _add_bath_roles,
        _convert_to_rolls_of_135_36,
        _add_water_changes,
        _add_agitation_and_backing,
        _add_loading_order,
        _add_film_details_and_sources,
        _add_kit,
        _add_cost_and_ready_span,
    ),
    "reading_taken": (_add_reader,),
    "note_added": (_look_as_code,),
}
"""For each kind of session event whose shape has changed: a function for each change, the oldest first."""


class _Misfit(Exception):
    """A value does not fit its field. `place`: path of the value, empty for the whole entry."""

    def __init__(self, why: str, place: str = "") -> None:
        super().__init__(f"{place.removeprefix('.') or 'the entry'} {why}")


class Codec(Generic[E]):
    """Reads and writes the events of one union.

    classes: the union's members, each a dataclass with a `kind: Literal[...]` default. upcasters: by kind, one
    function for each change of its shape, the oldest first. A kind is written in the version after the last of
    them, so a kind that never changed is in version 1.
    """

    def __init__(
        self, classes: Iterable[type[E]], upcasters: Mapping[str, tuple[Upcaster, ...]] = MappingProxyType({})
    ) -> None:
        """Raises ValueError for an upcaster of a kind that no class has."""
        self._classes = {_kind_of(cls): cls for cls in classes}
        self._upcasters = upcasters
        if unknown := set(upcasters) - set(self._classes):
            raise ValueError(f"upcasters of kinds that no class has: {unknown}")

    def version(self, kind: str) -> int:
        """The version in which this kind is written today."""
        return len(self._upcasters.get(kind, ())) + 1

    def encode(self, event: E) -> Entry:
        """The event as a journal entry. Raises JournalUnusable when a value does not fit its field."""
        kind = _kind_of(type(event))
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
        if version == now and (event := _as_written(cls, data)) is not None:
            return event
        try:
            return _checked(cls, self._lifted(kind, version, _parse(data)))
        except _Misfit as misfit:
            raise JournalUnusable(
                f'{place} ("{kind}") is damaged: {misfit}; bring back a copy from the folder copies.'
            ) from misfit

    def _lifted(self, kind: str, version: int, data: Data) -> Data:
        if version < 1:
            raise _Misfit(f"has version {version}, and versions begin at 1")
        for old, upcaster in enumerate(self._upcasters.get(kind, ())[version - 1 :], version):
            try:
                data = upcaster(data)
            except (KeyError, TypeError, ValueError, AttributeError) as error:
                raise _Misfit(f"does not have the shape of version {old}") from error
        return data


def _kind_of(cls: type[Any]) -> str:
    part = cls.__dataclass_fields__.get("kind")
    if part is None or not isinstance(part.default, str):
        raise ValueError(f"{cls.__name__} has no kind")
    return part.default


# msgspec is imported by the functions that use it, as a home screen without a session needs none of them


@cache
def _decoder(cls: type[Any]) -> msgspec.json.Decoder[Any]:
    import msgspec

    return msgspec.json.Decoder(cls)


def _as_written(cls: type[E], text: str) -> E | None:
    """The event, where `text` is exactly what would be written for it; None for any other text."""
    import msgspec

    try:
        event: E = _decoder(cls).decode(text)  # type: ignore[arg-type]  # classes are hashable
    except (msgspec.MsgspecError, ValueError, RecursionError):
        return None
    return event if _text(event) == text else None


def _values(event: object) -> Data:
    """The event's fields as JSON values (rows are tuples)."""
    import msgspec

    try:
        values: Data = msgspec.to_builtins(event)
    except (TypeError, ValueError) as problem:
        raise _Misfit(f"holds what cannot be kept ({problem})") from problem
    return values


_ENCODER: Final = json.JSONEncoder(separators=(",", ":"))


def _text(event: object) -> str:
    """The event's JSON text. Written by the standard library, as msgspec does not escape to ASCII."""
    return _ENCODER.encode(_values(event))


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


# made once, as `json.loads` with hooks makes a decoder for every text
_DECODER: Final = json.JSONDecoder(parse_constant=_no_constant, object_pairs_hook=_no_repeats)


def _checked(cls: type[E], data: Data) -> E:
    """The event of exactly these JSON values. Raises _Misfit."""
    import msgspec

    _refuse_misfit(cls, data)
    return msgspec.convert(data, cls)


def _refuse_misfit(hint: Any, value: Any, place: str = "") -> None:
    """Raises _Misfit, with the place, where a JSON value is not exactly of this type.

    msgspec accepts a missing key with a default, an unknown key and a number like NaN, and gives the place of
    other misfits in its message only.
    """
    if get_origin(hint) in (Union, UnionType):
        if value is None:
            return
        (hint,) = (choice for choice in get_args(hint) if choice is not NoneType)
    args = get_args(hint)
    if is_dataclass(hint):
        if type(value) is not dict:
            raise _Misfit(f"is {_named(value)}, not a set of named values", place)
        hints = _hints(hint)  # type: ignore[arg-type]  # classes are hashable
        missing, unknown = sorted(hints.keys() - value.keys()), sorted(value.keys() - hints.keys())
        if missing or unknown:
            raise _Misfit(f"lacks {missing[0]}" if missing else f"has an unknown key {unknown[0]!r}", place)
        for name, inner in hints.items():
            _refuse_misfit(inner, value[name], f"{place}.{name}")
    elif get_origin(hint) is tuple:
        if not isinstance(value, list | tuple):
            raise _Misfit(f"is {_named(value)}, not a row of values", place)
        inners = args[:1] * len(value) if args[-1] is Ellipsis else args
        if len(value) != len(inners):
            raise _Misfit(f"has {len(value)} values, not {len(inners)}", place)
        for number, inner in enumerate(inners):
            _refuse_misfit(inner, value[number], f"{place}[{number}]")
    elif get_origin(hint) is Literal or issubclass(hint, Enum):
        if not any(type(value) is type(each) and value == each for each in args or [m.value for m in hint]):
            raise _Misfit(f"is {_named(value)}, which is none of its choices", place)
    elif type(value) is not hint and (hint is not float or type(value) is not int):
        raise _Misfit(f"is {_named(value)}, not {_TYPES[hint]}", place)
    elif hint is float and not -_LARGEST <= value <= _LARGEST:
        raise _Misfit("is too large a number" if type(value) is int else "is not a finite number", place)


@cache
def _hints(cls: Any) -> dict[str, Any]:
    return get_type_hints(cls)


_LARGEST: Final = sys.float_info.max
_TYPES: Final = {float: "a number", int: "a whole number", str: "text", bool: "true or false"}


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
    """The codec of session events; made on first use, since a list of past sessions reads none."""
    from wetside.domain.session.events import Event

    return Codec(get_args(Event), UPCASTERS)


def encode(event: Event) -> Entry:
    """A session event as a journal entry. Raises JournalUnusable when a value does not fit its field."""
    return session_codec().encode(event)


def event_of(row: Envelope) -> Event:
    """A session event from its row. Raises JournalUnusable when it cannot be read."""
    return session_codec().event(row)
