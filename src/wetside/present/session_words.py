"""Words the messages of a session: refusals, shut gates, doubts about a reading, and calls.

Each code of `domain/session` has one sentence: what the first screen may need in `TEMPLATES`, the rest in
`refusals.toml`. A format spec such as `clock` is one of `present/sentences.py`, or of `_SPECS`.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from wetside.domain.messages import Message, Text
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import TemperatureUnit, Units
from wetside.domain.session.cues import Call, Cue
from wetside.domain.session.events import GateOverridden
from wetside.domain.session.state import State
from wetside.present.sentences import COMMON, Specs, word_table, worded_by
from wetside.present.step_texts import said

TEMPLATES: Final[dict[str, str]] = {
    **COMMON,
    # what keeps a gate shut
    "line open": "{text:text}",
    # The large digits show the time left; the same number in a sentence would be outdated a second later.
    "minimum not reached": "{bath} has not had its time, which is a minimum.",
    # A forecast from its last reading, which stands beside it.
    "too warm to leave": "{bottle} will be above {limit_c:degrees} by now: lift it out, let it cool, and read it"
    " again before you load.",
    "too warm soon": "{bottle} may pass {limit_c:degrees} in {in_s:span}, unseen while you load: stir cold water"
    " into the bath, then read the bath again.",
    "gate shut": "Not yet: {gate:words}{more:and more}",
    "residue": "{thing} still carries {residue}: {rule}",
    "not read": "{title}: not read yet.",
    "read too long ago": "{title}: read {ago_s:clock} ago; read it again.",
    "out of range": "{title}: {read_c:degrees} read, {wanted_c:range} wanted.",
    "still works": "{bath} still works. To end it early: key e, or the menu.",
    # calls
    "loading goes on": "{for_s:clock} of loading have passed.",
    "agitate": "{how:text}",
    "agitate first": "Agitate for {for_s:.0f} s. {how:text}",
    "agitate without a pause": "Agitate without a pause until it is time to pour. {how:text}",
    "change the water": "Pour the water away and fill again: water {number} of {fills}.",
    "get ready to pour": "Get ready to pour {bath:the} out{next:then}.{lines:to confirm}",
    "pour out": "Pour {bath:the} out now.",
    "may pour out": "You may pour {bath:the} out now.",
    "over its time": "{bath:The} is over its time: pour it out.",
    "time is up": "{step}: {end_s:clock} is up.",
}


_SPECS: Final[Specs] = {
    "words": lambda value, units: words(value, units.temperature),
    "mishap": lambda value, _: word_table("mishap_answers")["titles"][value],
    "text": lambda value, units: said(value, units),
    "and more": lambda value, _: f" (and {value} more)" if value else "",
    "or nothing": lambda value, _: value or "nothing",
    "then": lambda value, _: f", then {value}" if value else "",
    "to confirm": lambda value, _: f" First confirm {value} line{'s' if value > 1 else ''}." if value else "",
}


def words(message: Message, unit: TemperatureUnit = "°C") -> str:
    """The sentence of a message, in the person's unit."""
    templates = TEMPLATES if message.code in TEMPLATES else word_table("refusals")["session"]
    return worded_by(templates, message, Units(unit), _SPECS)


def text_words(text: Text) -> str:
    """What a person typed, as it is, or what was chosen in words."""
    return text if isinstance(text, str) else words(text)


def unit_of(state: State) -> TemperatureUnit:
    """The person's unit of temperature; °C before a session has begun."""
    return state.plan.unit


def gate_words(plan: Plan, event: GateOverridden) -> str:
    """Why the gate was shut that was passed against the rule."""
    return words(event.why, plan.unit)


class Announcement(Struct, frozen=True):
    """A call with its words on the screen. at: session seconds. ahead_s: how long before the act it calls for."""

    step: str
    call: Call
    at: float
    text: str
    ahead_s: float = 0.0

    @property
    def spoken(self) -> str:
        """The words for output without the large digits."""
        return f"{self.text} In {self.ahead_s:.0f} s." if self.ahead_s else self.text


def announced(cue: Cue) -> Announcement:
    """A cue as an announcement with its words."""
    text = words(cue.about) if cue.about is not None else ""
    return Announcement(cue.step, cue.call, cue.at, text, cue.ahead_s)
