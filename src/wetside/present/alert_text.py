"""The sentence of each alert of `domain/planning/alerts.py`, in the person's units."""

from __future__ import annotations

from typing import Final

from wetside.domain.calc.water import Boiled
from wetside.domain.messages import Message
from wetside.domain.planning.setup import METRIC, Units
from wetside.present.film_faults import look_text
from wetside.present.refusal_text import refusal_text
from wetside.present.sentences import CHECKS, Specs, worded_by
from wetside.present.water_text import boiled_words
from wetside.present.wording import counted, temperature

_BY_PRINT: Final = " ({source}; {sure}). Compare it with your kit's sheet."

TEMPLATES: Final[dict[str, str]] = {
    # the time of a bath
    "short-time": "{bath} comes to {time_s:clock}, shorter than {shortest_s:clock}: pouring then takes too large"
    " a share. Develop cooler.",
    "thermometer": "The thermometer's own error of ±{error_c:kelvin} is worth ±{worth_s:.0f} s of the"
    " {time_s:clock} in {bath:the}.",
    "drain-lead": "{bath}: pouring out is to begin {lead_s:clock} before its end, more than a quarter of its"
    " {time_s:clock}. Write a smaller drain_lead_s into the settings (`wetside settings` says where).",
    "drain-lead, learned": "Pouring out took you {lead_s:clock} the last times, too long for tonight's shortest"
    " bath: the call comes {most_s:clock} before the end, a quarter of that bath.",
    "handwork-late": "{rolls:list}: in the last bath only more than {latest_h:g} h after the handwork begins, and"
    " wet film softens. Plan fewer rolls in a tank fill.",
    # a bottle
    "expired": "{bottle} is {late_days:days} past its date ({age_days:days} old): {test:check}, or mix fresh.",
    "expired, no test": "{bottle} is {late_days:days} past its date ({age_days:days} old). First {test:check}; or"
    " mix fresh.",
    "expired, long past": "Mix fresh: {bottle} is {late_days:days} past its date, older than twice its life"
    " ({age_days:days} old). If it must serve all the same, first {test:check}.",
    "tested": "{bottle} is {late_days:days} past its date, but passed its test {tested_days:ago}: it works; for"
    " how many rolls, no test says.",
    "age-unknown": "{bottle}: nobody wrote down when it was mixed. {test:Check}.",
    "age-unknown, future": "{bottle}: The bottle's mixing date lies in the future: check the date.",
    "too-little": "{bottle}: batch {batch:.0f} needs {needed_ml:volume}, the bottle has {have_ml:volume}:"
    " {short_ml:volume} short.",
    "stretch": "{bottle} would go {over:.1f} rolls beyond its capacity: that is a stretch; give a reason to do"
    " it.",
    "stretch, done": "{bottle} has done {over:.1f} rolls beyond its capacity: each further one is a stretch.",
    "beyond-capacity": "{bottle} would go {over:.1f} rolls beyond its capacity, further than it stretches: plan"
    " fewer rolls or mix fresh.",
    "beyond-capacity, done": "{bottle} has done {over:.1f} rolls more than even its stretch: mix fresh.",
    "spent": "{bottle}: {why}",
    "suspect": "{bottle} is suspect. {why}",
    "used-all-the-same": "{alert:open}. Used all the same: {reason}",
    "second-bottle": "{bottle}: only the first bottle of {solution} is used.",
    "backing-in-bottle": "{bottle}: {rolls:.1f} rolls went through it with their backing on. Grey or with sludge"
    " it is spent; else let it settle, and try a leader in it first.",
    "backing-in-bottle, on the shelf": "{bottle}: {rolls:.1f} rolls went through it with their backing on. Grey"
    " or with sludge it is spent; film without a backing can get specks in it.",
    "empty": "{bottle} is empty: discard it, or fill it and say so.",
    "developer-dead": "The leader stayed pale: the developer is dead; mix fresh before any film goes in.",
    "bleach-spent": "The blackened leader stayed dark: the {solution} bleaches no more; mix fresh before film"
    " goes in.",
    "clearing-spent": "The leader cleared in {ratio:.1f} times the fresh time: the {solution} is spent; mix"
    " fresh.",
    "clearing-spent, bleach-fix": "The leader cleared in {ratio:.1f} times the fresh time: the {solution} fixes"
    " too slowly, by the rule for fixers (no print says it of a bleach-fix); mix fresh.",
    # film and process
    "slide": "Slide film comes out as a negative with colours nobody can promise: take pictures you can lose.",
    "backing-on": "Backed film goes through the baths with its backing on, by itself and last: some of it stays"
    " in the bottles, can spoil the developer for good and settles on rolls developed in it"
    " later.{instead:instead}",
    "from-memory": "{baths:list}: the times are from memory. Compare them with your kit's own sheet first.",
    "looked-before": "{day}, {roll} (same {same:list}): {look:look}.",
    "looked-before, the session": "{day} (same {same:list}): {look:look}.",
    "note-on-profile, base changed": "{base} has changed since {file} was written: look at what it takes over with"
    ' `wetside profiles --whole`, then write {key} = "{digest}".',
    "note-on-profile, shortest time": "{title}: {value:clock}; the shortest published time is {low:clock}"
    + _BY_PRINT,
    "note-on-profile, time": "{title}: {value:clock} at {at:celsius}; published times come to {low:clock} to"
    " {high:clock} there" + _BY_PRINT,
    "note-on-profile, temperature": "{title}: {value:celsius}; published are {low:celsius} to {high:celsius}"
    + _BY_PRINT,
    "note-on-profile, push": "{title}: x {value:g} for {at:stops}; published factors come to {low:.2f} to"
    " {high:.2f}" + _BY_PRINT,
    "note-on-profile, capacity": "{title}: {value:g} rolls per litre; known are up to {high:g}" + _BY_PRINT,
    "note-on-profile, life": "{title}: it keeps {value:.0f} days; known are up to {high:.0f}" + _BY_PRINT,
    "other-process": "{bottle} was mixed for {mixed_for}, not for {process}: is it the same solution?",
    "still-invented": "The setup says invented = true, as the example it was copied from does, and its record will"
    " say so too: take that line out for film of your own.",
    "time-suggested": "{of}. {advice:alert}",
    "time-suggested, next time": "Next time: about {add_s:off} than planned (± {uncertainty_s:.0f} s, 95 %, from"
    " {fills:.0f} of your fills). Nothing is changed by it: the time is yours to set.",
    # the warm bath
    "never-ready": "The bottles are not all in range together within two hours.",
    "never-ready, apart": "The bottles are not all in range together within two hours. {cooler}"
    " ({cooler_c:range}) and {warmer} ({warmer_c:range}) never meet: give each a bath of its own, or choose a"
    " developer temperature within the other's range.",
    "hot-bath": "The warm bath starts at {bath_c:degrees}, which scalds. With more water in it, it starts cooler.",
    "bath-too-small": "{why:said}",
    "taps-too-cold": "The warm bath is to start at {bath_c:degrees} and the hot tap gives {tap_c:degrees}:"
    " boiling water does not make it either. Take a larger bath.",
    "taps-too-cold, boiling": "The warm bath is to start at {bath_c:degrees} and the hot tap gives"
    " {tap_c:degrees}: {boiled:boiled}",
    "taps-too-warm": "The warm bath is to start at {bath_c:degrees} and the cold tap gives {tap_c:degrees}: about"
    " {ice_kg:.1f} kg of ice in it make up for that.",
}
"""The sentence of each alert code, or code and variant. A format spec such as `clock` is one of
`present/sentences.py`, or of `_SPECS`."""


COVER_FIRST: Final = "Top it up or mix more, or plan fewer rolls."
"""The remedy for an alert in `STOPPING`."""

REASON_FIRST: Final = 'To use it all the same, say why in the setup: reason = "..." under its [[bottles]].'
"""The remedy for an alert in `WANTS_REASON`, where the setup is a file."""

_SPECS: Final[Specs] = {
    "ago": lambda value, _: "today" if value < 1 else f"{counted(int(value), 'day')} ago",
    "Check": lambda value, _: f"{CHECKS[value][0].upper()}{CHECKS[value][1:]}",
    "said": lambda value, units: refusal_text(value, units),
    "alert": lambda value, units: alert_text(value, units),
    "look": lambda value, _: look_text(value),
    "celsius": lambda value, _: temperature(value),
    "stops": lambda value, _: f"{value:g} {'stop' if value == 1 else 'stops'}",
    "off": lambda value, _: f"{abs(value):.0f} s {'more' if value > 0 else 'less'}",
    "open": lambda value, units: alert_text(value, units).rstrip("."),
    "boiled": lambda value, units: boiled_words(Boiled(*value), units.volume),
    "instead": lambda value, _: f" The process {value} takes it off before." if value else "",
}


def alert_text(alert: Message, units: Units = METRIC) -> str:
    """The sentence of an alert, in the person's units."""
    return worded_by(TEMPLATES, alert, units, _SPECS)
