"""Words the messages of a session: refusals, shut gates, doubts about a reading, and calls.

`TEMPLATES` has one sentence for each code of `domain/session`. A format spec such as `clock` is one of
`present/sentences.py`, or of `_SPECS`.
"""

from __future__ import annotations

from typing import Final

from wetside.domain.messages import Message
from wetside.domain.planning.plan import Plan
from wetside.domain.planning.setup import TemperatureUnit, Units
from wetside.domain.session.cues import Call, Cue
from wetside.domain.session.events import GateOverridden
from wetside.domain.session.state import State
from wetside.frozen import dataclass
from wetside.present.sentences import COMMON, Specs, worded_by

TEMPLATES: Final[dict[str, str]] = {
    **COMMON,
    # what keeps a gate shut
    "line open": "{text}",
    # The large digits show the time left; the same number in a sentence would be outdated a second later.
    "minimum not reached": "{bath} has not had its time, which is a minimum.",
    # A forecast from its last reading, which stands beside it.
    "too warm to leave": "{bottle} will be above {limit_c:degrees} by now: lift it out, let it cool, and read it"
    " again before you load.",
    "too warm soon": "{bottle} may pass {limit_c:degrees} in {in_s:span}, unseen while you load: stir cold water"
    " into the bath, then read the bath again.",
    "residue": "{thing} still carries {residue}: {rule}",
    "not read": "{title}: not read yet.",
    "read too long ago": "{title}: read {ago_s:clock} ago; read it again.",
    "out of range": "{title}: {read_c:degrees} read, {wanted_c:range} wanted.",
    # doubts about a reading
    "hotter than the tap": "{read_c:degrees} is hotter than the hot tap, which gives {tap_c:degrees}."
    " Is the thermometer right?",
    "colder than the tap": "{read_c:degrees} is colder than the cold tap and the room, {coldest_c:degrees}."
    " Is the thermometer right?",
    "warmer than its bath": "{read_c:degrees} is warmer than the bath it stands in, which was read"
    " {bath_c:degrees}. Is the thermometer right?",
    "moves the end far": "That moves the end from {old_s:clock} to {new_s:clock}, by more than a third."
    " Is the thermometer right?",
    # refusals: the session as a whole
    "no session": "No session has begun.",
    "begun already": "This session has begun already.",
    "no step planned": "The plan has no step: give the setup at least one roll the profile accepts.",
    "closed": "This session is closed ({outcome}).",
    "on hold": "The guide is on hold: ENTER lets it go on.",
    "not on hold": "The guide is not on hold.",
    "no step open": "No step is open.",
    "other step on screen": "That step is not the one on screen.",
    # refusals: gates
    "gate shut": "Not yet: {gate:words}{more:and more}",
    "nothing shut": "Nothing of that name stands in the way now.",
    "no reason": "A reason is needed to go on against the rule.",
    # refusals: lines to confirm
    "no such line": "There is no such statement in tonight's plan.",
    "confirmed already": "Already confirmed: {line}.",
    "critical by itself": "A statement marked ! is confirmed by itself.",
    "bells miscounted": "You counted {typed:or nothing}, another number was rung: turn the sound up, count again."
    " No sound? Type 0.",
    "first": "First: {gate:words}",
    "line of a later step": "Not yet: that belongs to a later step, {step}.",
    "line before its start": "Not yet: {step} has not started.",
    "nothing confirmed": "There is nothing to take back.",
    "gate passed": "That gate is behind us: add a note about it instead.",
    # refusals: clocks
    "no clock to start": "{step} has no clock to start.",
    "running already": "{step} is running already.",
    "lead-in too long": "A lead-in is 0 to {most:.0f} s long.",
    "not started": "{step} has not started.",
    "clock not started": "The clock has not started yet.",
    "no clock runs": "No clock runs there.",
    "correction of nothing": "Say by how many seconds the clock is off.",
    "correction too large": "A clock is corrected by at most {most_s:clock}.",
    "start in the future": "That would put the start in the future.",
    "corrected too late": "{step} is being poured out already: add a note instead.",
    "no pause": "{step} cannot pause: the chemistry goes on. Hold stops the guide only.",
    "paused already": "{step} is paused already.",
    "not paused": "{step} is not paused.",
    # refusals: pouring out
    "no bath to pour out": "{step} is not poured out here.",
    "poured out already": "{bath} is being poured out already.",
    "no moment of the bath": "That moment is not between the bath's start and now.",
    "still works": "{bath} still works. To end it early: key e, or the menu.",
    "not poured out": "{step} has not been marked as poured out here.",
    "still in the tank": "{bath} is still in the tank: SPACE when you start pouring it out.",
    # refusals: readings
    "not measured": "Nothing called {name} is measured tonight.",
    "no temperature": "{text} is not a temperature of water: type it again.",
    "perhaps fahrenheit": "{text} is not a temperature of water: type it in °C"
    " ({fahrenheit:g} °F is {celsius:.1f} °C).",
    "perhaps celsius": "{text} is not a temperature of water: type it in °F"
    " ({celsius:g} °C is {fahrenheit:.1f} °F).",
    # refusals: calls, notes, mishaps
    "no such call": "That call belongs to no step of tonight's plan.",
    "called already": "That call was made already.",
    "answered already": "That call was answered already.",
    "empty note": "The note is empty.",
    "no such roll": "There is no such roll tonight.",
    "no such mishap": "That has nothing to do with tonight: choose again.",
    # calls
    "loading goes on": "{for_s:clock} of loading have passed.",
    "agitate": "{how}",
    "agitate first": "Agitate for {for_s:.0f} s. {how}",
    "agitate without a pause": "Agitate without a pause until it is time to pour. {how}",
    "change the water": "Pour the water away and fill again: water {number} of {fills}.",
    "get ready to pour": "Get ready to pour {bath:the} out{next:then}.{lines:to confirm}",
    "pour out": "Pour {bath:the} out now.",
    "may pour out": "You may pour {bath:the} out now.",
    "over its time": "{bath:The} is over its time: pour it out.",
    "time is up": "{step}: {end_s:clock} is up.",
}


_SPECS: Final[Specs] = {
    "words": lambda value, units: words(value, units.temperature),
    "and more": lambda value, _: f" (and {value} more)" if value else "",
    "or nothing": lambda value, _: value or "nothing",
    "then": lambda value, _: f", then {value}" if value else "",
    "to confirm": lambda value, _: f" First confirm {value} line{'s' if value > 1 else ''}." if value else "",
}


def words(message: Message, unit: TemperatureUnit = "°C") -> str:
    """The sentence of a message, in the person's unit."""
    return worded_by(TEMPLATES, message, Units(unit), _SPECS)


def unit_of(state: State) -> TemperatureUnit:
    """The person's unit of temperature; °C before a session has begun."""
    return state.plan.unit


def gate_words(plan: Plan, event: GateOverridden) -> str:
    """Why the gate was shut that was passed against the rule."""
    return event.text if event.why is None else words(event.why, plan.unit)


@dataclass(frozen=True, slots=True)
class Announcement:
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
