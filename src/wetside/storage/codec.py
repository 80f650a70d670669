"""Events to journal entries and back, strictly: an entry that reads is one that would be written as it stands.

An event is a frozen dataclass with a `kind` literal. It is kept as (kind, version, data), where `data` is one line
of ASCII JSON with the fields in their declared order. Unknown kinds, newer versions, missing or unknown keys and
values of a wrong type are refused at every depth, with the place.

msgspec converts between JSON and the dataclasses by their type hints. It fills a missing key with the field's
default and drops an unknown key; so what it made is written again and compared with what was given.

To change the shape of an event, or of anything inside it: raise the kind's number in its table of versions, add
one function (kind, old version) -> data that lifts old data by one version, and keep a journal of the old shape in
the tests.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from math import isfinite
from typing import TYPE_CHECKING, Any, Final, Generic, TypeVar, get_args

from wetside.errors import JournalUnusable

if TYPE_CHECKING:
    import msgspec

    from wetside.domain.session.events import Event

E = TypeVar("E")
Data = dict[str, Any]
"""One event's fields as JSON values."""
Upcaster = Callable[[Data], Data]
"""Lifts the data of one kind by one version; pure, may return the same mapping changed or another."""

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
"""The version in which each kind of session event is written today."""


def _plan_in_millilitres(data: Data) -> Data:
    """session_began 1 → 2: a plan named no unit of volume; everything was shown in ml."""
    return {**data, "plan": {**data["plan"], "volume_unit": "ml"}}


def _bottles_in_the_bath_unnamed(data: Data) -> Data:
    """session_began 2 → 3: a plan did not list the bottles that stand in the warm bath."""
    plan = data["plan"]
    if plan.get("tempering") is None:
        return data
    return {**data, "plan": {**plan, "tempering": {**plan["tempering"], "bottles": []}}}


def _baths_without_their_work(data: Data) -> Data:
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


def _rolls_of_135_36(data: Data) -> Data:
    """session_began 4 → 5: the shelf counted in rolls of 80 in² (516.128 cm²); a 135-36 has 572 cm².

    A figure that a person typed stays: it was a number of rolls.
    """
    setup = data["plan"]["setup"]
    bottles = [
        {**each, "used_rolls": each["used_rolls"] * 516.128 / 572.0} if each["shelf_id"] is not None else each
        for each in setup["bottles"]
    ]
    return {**data, "plan": {**data["plan"], "setup": {**setup, "bottles": bottles}}}


def _water_changed_uncalled(data: Data) -> Data:
    """session_began 5 → 6: no wash had calls for its changes of water."""
    plan = data["plan"]
    return {**data, "plan": {**plan, "steps": [{**step, "water_every_s": None} for step in plan["steps"]]}}


def _moved_as_the_process_says(data: Data) -> Data:
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


def _loaded_after_warming(data: Data) -> Data:
    """session_began 7 → 8: film was always loaded after the bottles were warm."""
    plan = data["plan"]
    return {**data, "plan": {**plan, "setup": {**plan["setup"], "loading": "after warming"}, "loading": None}}


def _film_unsaid(data: Data) -> Data:
    """session_began 8 → 9: a roll had no stock, exposure or camera, and a bath no list of its sources.

    A bath's figures may come from any source of the process, so all are listed.
    """
    plan = data["plan"]
    setup, sources = plan["setup"], [source[0] for source in plan["sources"]]
    steps = [{**step, "sources": sources if step["solution"] is not None else []} for step in plan["steps"]]
    unsaid = {"stock": "", "exposure_index": None, "camera": "", "shot_at": "", "shot_on": None}
    rolls = [{**roll, **unsaid} for roll in setup["rolls"]]
    return {**data, "plan": {**plan, "steps": steps, "setup": {**setup, "rolls": rolls}}}


def _film_was_developed(data: Data) -> Data:
    """session_began 9 → 10: no session mixed a kit."""
    return {**data, "plan": {**data["plan"], "kit": None}}


def _price_uncounted(data: Data) -> Data:
    """session_began 10 → 11: a plan had no price, and its warming forecast was one moment."""
    plan = data["plan"]
    tempering = plan["tempering"]
    span = None if tempering is None else {**tempering, "ready_span_s": None}
    return {**data, "plan": {**plan, "tempering": span, "cost": None}}


def _read_by_a_person(data: Data) -> Data:
    """reading_taken 1 → 2: every temperature was typed."""
    return {**data, "by": "person"}


UPCASTERS: Mapping[tuple[str, int], Upcaster] = {
    ("session_began", 1): _plan_in_millilitres,
    ("session_began", 2): _bottles_in_the_bath_unnamed,
    ("session_began", 3): _baths_without_their_work,
    ("session_began", 4): _rolls_of_135_36,
    ("session_began", 5): _water_changed_uncalled,
    ("session_began", 6): _moved_as_the_process_says,
    ("session_began", 7): _loaded_after_warming,
    ("session_began", 8): _film_unsaid,
    ("session_began", 9): _film_was_developed,
    ("session_began", 10): _price_uncounted,
    ("reading_taken", 1): _read_by_a_person,
}
"""(kind, version it lifts from) -> function, for session events."""


class _Misfit(Exception):
    """A value does not fit its field. `place`: path of the value, empty for the whole entry."""

    def __init__(self, why: str, place: str = "") -> None:
        super().__init__(f"{place.removeprefix('.') or 'the entry'} {why}")


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
            # read as an entry would be, so that nothing is kept that could not be read back
            text = _text(_checked(type(event), _values(event)))
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
        if version == self.versions[kind]:
            try:
                event: E = _decoder(cls).decode(data)  # type: ignore[arg-type]  # classes are hashable
                if _text(event) == data:
                    return event
            except (ValueError, RecursionError):
                pass  # looked at value by value below, where the place of what is wrong is found
        try:
            return _checked(cls, self._lift(kind, version, _parse(data)))
        except _Misfit as misfit:
            raise JournalUnusable(
                f'{place} ("{kind}") is damaged: {misfit}; bring back a copy from the folder copies.'
            ) from misfit

    def _lift(self, kind: str, version: int, data: Data) -> Data:
        if version < 1:
            raise _Misfit(f"has version {version}, and versions begin at 1")
        for old in range(version, self.versions[kind]):
            try:
                data = self.upcasters[kind, old](data)
            except (KeyError, TypeError, ValueError, AttributeError) as error:
                raise _Misfit(f"does not have the shape of version {old}") from error
        return data


def _kind_of(cls: type[Any]) -> str:
    part = cls.__dataclass_fields__.get("kind")
    if part is None or not isinstance(part.default, str):
        raise ValueError(f"{cls.__name__} has no kind")
    return part.default


# msgspec is imported by the functions that use it: a home screen without a session reads and writes no event


@cache
def _decoder(cls: type[Any]) -> msgspec.json.Decoder[Any]:
    import msgspec

    return msgspec.json.Decoder(cls)


def _values(event: object) -> Data:
    """The event's fields as JSON values (rows are tuples)."""
    import msgspec

    try:
        values: Data = msgspec.to_builtins(event)
    except (TypeError, ValueError) as problem:
        raise _Misfit(f"holds what cannot be kept ({problem})") from problem
    return values


_ENCODER: Final = json.JSONEncoder(separators=(",", ":"), allow_nan=False)


def _text(event: object) -> str:
    """The event as its line in the journal. The standard library writes it: it alone escapes to ASCII."""
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


# made once: `json.loads` makes one for every text when it is told of hooks
_DECODER: Final = json.JSONDecoder(parse_constant=_no_constant, object_pairs_hook=_no_repeats)


def _checked(cls: type[E], data: Data) -> E:
    """The event that these JSON values are, all of them and no more. Raises _Misfit."""
    import msgspec

    try:
        event = msgspec.convert(data, cls)
    except ValueError as problem:
        raise _misfit(problem, data) from problem
    _compare(data, _values(event))
    return event


def _compare(given: Any, kept: Any, place: str = "") -> None:
    """Refuse what `convert` lets pass: a missing key that has a default, an unknown key, a number like NaN."""
    if isinstance(given, dict):
        if given.keys() != kept.keys():
            missing, unknown = sorted(kept.keys() - given.keys()), sorted(given.keys() - kept.keys())
            raise _Misfit(f"lacks {missing[0]}" if missing else f"has an unknown key {unknown[0]!r}", place)
        for name, value in given.items():
            _compare(value, kept[name], f"{place}.{name}")
    elif isinstance(given, list | tuple):
        for number, pair in enumerate(zip(given, kept, strict=True)):
            _compare(*pair, f"{place}[{number}]")
    elif isinstance(given, float) and not isfinite(given):
        raise _Misfit("is not a finite number", place)


_TYPES: Final = {
    "float": "a number",
    "int": "a whole number",
    "str": "text",
    "bool": "true or false",
    "array": "a row of values",
    "object": "a set of named values",
}
"""How msgspec names a JSON type, and the words for it here."""
_EXPECTED: Final = re.compile(rf"Expected `({'|'.join(_TYPES)})(?: \| null)?`(?: of length (\d+), got (\d+))?")


def _misfit(problem: ValueError, data: Data) -> _Misfit:
    """The complaint of msgspec in the words of this program, with the value that is meant.

    msgspec gives place and expected type in its message only; one that is not known is handed on as it is.
    """
    told, separator, place = str(problem).rpartition(" - at `$")
    told, place = (told, place.removesuffix("`")) if separator else (place, "")
    value: Any = data
    for name, number in re.findall(r"\.(\w+)|\[(\d+)\]", place):
        value = value[name or int(number)]
    if told.startswith("Object missing required field"):
        return _Misfit(f"lacks {told.split('`')[1]}", place)
    if told.startswith("Invalid enum value"):
        return _Misfit(f"is {_named(value)}, which is none of its choices", place)
    if told == "Number out of range":
        return _Misfit("is too large a number", place)
    expected = _EXPECTED.match(told)
    if expected is None:
        return _Misfit(f"does not fit ({told})", place)
    if expected[2]:
        return _Misfit(f"has {expected[3]} values, not {expected[2]}", place)
    return _Misfit(f"is {_named(value)}, not {_TYPES[expected[1]]}", place)


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
            return _TYPES["array"]
        case dict():
            return _TYPES["object"]
        case _:
            return type(value).__name__


@cache
def session_codec() -> Codec[Event]:
    """The codec of session events; made on first use, since a list of past sessions reads none."""
    from wetside.domain.session.events import Event

    return Codec(get_args(Event), VERSIONS, UPCASTERS)


def encode(event: Event) -> tuple[str, int, str]:
    """A session event as (kind, version, data). JournalUnusable when a value does not fit its field."""
    return session_codec().encode(event)


def decode(kind: str, version: int, data: str, where: str = "") -> Event:
    """A session event from its entry. JournalUnusable, in a sentence, when it cannot be read."""
    return session_codec().decode(kind, version, data, where)
