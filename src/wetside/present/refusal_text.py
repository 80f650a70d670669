"""Words what the shelf and the planner refuse: one sentence for each code, in the person's units.

A refusal inside a session is worded by `session_words.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from wetside.domain.messages import Message, Refusal, Unfit
from wetside.domain.planning.setup import METRIC, Units
from wetside.errors import CheckFailed, Refused
from wetside.present.sentences import COMMON, Specs, filled
from wetside.present.wording import degrees, temperatures, trimmed

SHELF: Final[dict[str, str]] = {
    # a bottle
    "no bottle": 'There is no bottle "{id}" on the shelf: there are {known:list}.',
    "no bottle but one near": 'There is no bottle "{id}" on the shelf: the nearest is {near}.',
    "no bottle at all": 'There is no bottle "{id}" on the shelf: it is empty; mix a kit first.',
    "discarded": "{label} ({id}) was discarded on {on}.",
    "before its mixing": "{label} was mixed on {mixed_on}: {on} is before that; check the date.",
    "no day": '"{text}" is no day: write it like 2026-05-01.',
    "no bottle holds it": "A bottle holds more than 0 ml and at most 25 l (6.6 US gal): check the volume.",
    "not soft": "{label} is no soft bottle: only a soft one can be squeezed; top it up.",
    "holds less": "{label} cannot hold {level_ml:g} ml of it: {put_in_ml:g} ml in all were put in. Fresh solution"
    " that was added is a top-up.",
    "empty note": "The note is empty.",
    "no reason to discard": "Say why the bottle is discarded: spent, past its date, spoilt.",
    "disposal unread": "Read first where it goes: {where:or the sheet}",
    # a kit
    "kit from the future": "{on} lies in the future: give the day the kit was mixed.",
    "no bottle filled": "A kit fills at least one bottle: name a solution and its volume.",
    "too many bottles": "A kit of {count} bottles is not meant: mix {most} at most at once.",
    "not bottled": '{process} keeps no "{id}" in a bottle: it has {kept:list}{near:nearest}.',
    "kit bottle too small": "No kit fills a bottle with {ml:g} ml: give the volume with its unit, as 1 l or 500"
    " ml.",
    "price of a kit": "The price of the set is a number from 0 to 1,000,000.",
    "rolls of a kit": "The rolls already developed in a kit are a number from 0 to 1000.",
    "nothing poured back": "Nothing of this kit is poured back into its bottles: leave its rolls out.",
    "no kit name": "The kit needs a name: your own words will do.",
    "label too long": '"{start}…" has {length} characters; keep a label to {most}.',
    "kit in use": "{label} was used in session {session}: a kit that film went through stands. Discard its bottles"
    " instead.",
    "no reason to take back": "Say why it is taken back: a slip, the wrong process, the wrong volume.",
    # use, tests, suspicions
    "session taken": "Session {session} has been taken from {label} already.",
    "other test": "{tried:tried} {solution}: {test:check}.",
    "clearing time": "Clearing times are more than 0 seconds and less than a day.",
    "no fresh time": "{label} has been used and has no fresh clearing time: give the seconds fresh solution"
    " takes.",
    "marked already": "{label} is marked for this already.",
    "no mishap": "Say what happened to it.",
    "not suspect": "{label} is not suspect: there is nothing to set aside.",
    "no proof": "Say why it is good after all: what was looked at or tested.",
    # a bottle of a setup
    "named twice": "Bottle {id} is named twice in the setup.",
    "other solution": "{label} ({id}) holds {holds}, not {wanted}: choose another.",
    "gone": "{label} ({id}) was discarded on {on} ({reason}): choose another, or mix fresh.",
    "emptied": "{label} ({id}) is empty: choose another, or mix fresh.",
}
"""What the shelf refuses."""

PLANNING: Final[dict[str, str]] = {
    # the setup and its process
    "no roll": "The setup has no roll: add one under [[rolls]].",
    "film not taken": "{roll}: {process} does not take {kind} film; it takes {takes:list}.",
    "unknown solution": '{bottle}: {process} has no "{solution}"; a bottle holds one of {known:list}.',
    "no bottle of it": "There is no bottle of {solution} tonight: add one under [[bottles]].",
    "tank too small": 'Roll "{roll}" ({format}) takes {needed} places and the tank has {places}: choose a'
    " larger tank.",
    # the time of a bath
    "bath refused": "{bath}: {why:said}",
    "developer outside sheet": "{title} at {at_c:degrees}: the sheet gives times from {sheet_c:range} only;"
    " choose a temperature in there.",
    "no developer time": "No developer time for {at_c:degrees}: the table serves {served:served}. Bring the"
    " developer into that range.",
    "reading outside table": "The reading {read_c:degrees} at {at_s:clock} lies outside the table, which serves"
    " {served:served}: measure again, or bring the developer back into it.",
    "used beyond reason": "{rolls_per_l:g} rolls per litre is more than any developer survives: check it.",
    "no push table": "No time for a push of {stops:g} stops: the profile has no push table, plan 0.",
    "push outside table": "No time for a push of {stops:g} stops: the table runs from {least:g} to {most:g}.",
    "air not for film": "Air at {room_c:degrees} is outside what film is hung in, {range_c:range}: warmer air"
    " hardens the surface before the film is dry.",
    "air too damp": "At {percent:.0f} % relative humidity film hardly dries: warm the room or let drier air in.",
    # the warm bath
    "bath too small to warm": "A bath of this size cannot bring the bottles to {aim_c:degrees}: take more water.",
    "bath too small to cool": "A bath of this size cannot cool the bottles to {aim_c:degrees}: take more water.",
    "tap not hot enough": "Hotter water than {tap_c:degrees} is needed to bring the bottles to {aim_c:degrees}:"
    " heat some of it and measure it again.",
    "tap not cold enough": "Colder water than {tap_c:degrees} is needed to bring the bottles to {aim_c:degrees}:"
    " cool some of it with ice and measure it again.",
    "hot tap too weak": "Hotter water than {tap_c:degrees} is needed: three baths of it would not bring the"
    " bottles to {aim_c:degrees}.",
    "cold tap too weak": "Colder water than {tap_c:degrees} is needed: three baths of it would not bring the"
    " bottles to {aim_c:degrees}.",
}
"""What the planner and the calculations refuse."""

TEMPLATES: Final = COMMON | SHELF | PLANNING

_TRIED: Final = {
    "leader": "A leader does not go dark in",
    "clearing": "An undeveloped leader does not clear in",
    "bleach": "A blackened leader does not clear in",
}
_SPECS: Final[Specs] = {
    "said": lambda value, units: refusal_text(value, units),
    "served": lambda value, units: _served(units, *value),
    "nearest": lambda value, _: f"; the nearest is {value}" if value else "",
    "tried": lambda value, _: _TRIED[value],
    "or the sheet": lambda value, _: value or "Follow the kit's own data sheet and local rules.",
}


def _served(units: Units, coolest_c: float, warmest_c: float, tolerance_k: float) -> str:
    """The range as a sheet states it: "29.4 to 38.9 °C", or "37.8 ± 0.15 °C" for a single row."""
    unit = units.temperature
    if coolest_c < warmest_c:
        return temperatures((coolest_c, warmest_c), unit)
    half = trimmed(tolerance_k if unit == "°C" else tolerance_k * 1.8, 2)
    return f"{degrees(coolest_c, unit)} ± {half} {unit}"


def refusal_text(why: Message, units: Units = METRIC) -> str:
    """The sentence of a refusal."""
    return filled(TEMPLATES[why.code], dict(why.values), units, _SPECS)


@contextmanager
def worded(units: Units = METRIC) -> Iterator[None]:
    """A context, or a decorator, in which refusals by code become `Refused` and `CheckFailed` with sentences."""
    try:
        yield
    except Refusal as refusal:
        raise Refused(refusal_text(refusal.why, units)) from refusal
    except Unfit as unfit:
        raise CheckFailed(tuple(refusal_text(why, units) for why in unfit.findings)) from unfit
