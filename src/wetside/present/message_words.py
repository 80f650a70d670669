"""Words every message of the core, in the person's units: refusals, gates, calls, alerts, texts of a planned step.

Each code has one sentence: what the first screen may need is here, the others are in `refusals.toml`,
`alerts.toml` and `mixing_words.toml`, which are read on first use. A format spec such as `clock` is one of
`present/sentences.py` or of `_SPECS`; those of an evening that mixes a kit are in `mixing_words.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any, Final

from wetside.domain.calc.water import Boiled
from wetside.domain.messages import AS_WRITTEN, Message, Refusal, Text, Unfit
from wetside.domain.planning.plan import PlannedCaution
from wetside.domain.planning.setup import METRIC, Units
from wetside.domain.profile.model import Caution
from wetside.domain.session.events import Look, NoteAdded
from wetside.errors import CheckFailed, Refused
from wetside.present.film_faults import seen_with_edges
from wetside.present.sentences import CHECKS, Specs, filled, word_table
from wetside.present.water_text import boiled_words
from wetside.present.wording import counted, degrees, is_one, percent, temperature, temperatures, trimmed
from wetside.structs import made_of

_TOUCH: Final = "Leave it alone, then touch the edge of the film before you trust it."
_AIR: Final = "in air of {room_c:degrees} and {percent:.0f} %"

COMMON: Final[dict[str, str]] = {
    "too long": "That is {length} characters; keep it to {most}.",
    "not plain": "That text has control characters in it: type plain words.",
}
"""The sentence of each code of `domain/messages.py` itself."""

PLANNING: Final[dict[str, str]] = {
    # why a developer's time is what it is, and each reason with its factor
    "developer time": "{sheet_s:clock} on the sheet → {time_s:clock}: {reasons:reasons}",
    "developer time, unchanged": "{time_s:clock}, as on the sheet",
    "developer at": "developer at {at_c:degrees} {factor:percent}",
    "rolls before": "{rolls_per_l:rolls} per litre before {factor:percent}",
    "push of": "{factor:way} of {stops:size in stops} {factor:percent}",
    # drying
    "drying guessed": f"Dry in about {{guess_s:hours}} {_AIR}: a guess from the room's air. {_TOUCH}",
    "drying longer than least": f"The process asks for {{least_s:hours}}; {_AIR} it likely takes about"
    f" {{guess_s:hours}}, a guess. {_TOUCH}",
    "drying as least": f"{{least_s:hours}} is the least, and {_AIR} likely enough: the guess is {{guess_s:hours}}."
    f" {_TOUCH}",
    # agitation
    "rotated": "Turn the reels by the stick, or the capped tank on rollers, both ways.",
}
"""Of codes of the planner: what is told of a step."""

SESSION: Final[dict[str, str]] = {
    # what keeps a gate shut
    "line open": "{text:words}",
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
    "agitate": "{how:words}",
    "agitate first": "Agitate for {for_s:.0f} s. {how:words}",
    "agitate without a pause": "Agitate without a pause until it is time to pour. {how:words}",
    "change the water": "Pour the water away and fill again: water {number} of {fills}.",
    "get ready to pour": "Get ready to pour {bath:the} out{next:then}.{lines:to confirm}",
    "pour out": "Pour {bath:the} out now.",
    "may pour out": "You may pour {bath:the} out now.",
    "over its time": "{bath:The} is over its time: pour it out.",
    "time is up": "{step}: {end_s:clock} is up.",
}
"""Of codes of a session."""

_FIRST: Final = {**COMMON, **PLANNING, **SESSION}
_TRIED: Final = {
    "leader": "A leader does not go dark in",
    "clearing": "An undeveloped leader does not clear in",
    "bleach": "A blackened leader does not clear in",
}
_SPECS: Final[Specs] = {
    "words": lambda value, units: in_words(value, units),
    "open": lambda value, units: in_words(value, units).rstrip("."),
    "reasons": lambda value, units: ", ".join(in_words(each, units) for each in value),
    # times and numbers
    "hours": lambda value, _: _hours(value),
    "ago": lambda value, _: "today" if value < 1 else f"{counted(int(value), 'day')} ago",
    "off": lambda value, _: f"{abs(value):.0f} s {'more' if value > 0 else 'less'}",
    "percent": lambda value, _: percent(value),
    "rolls": lambda value, _: counted(round(value, 1), "roll"),
    "stops": lambda value, _: counted(value, "stop"),
    "size in stops": lambda value, _: counted(abs(value), "stop"),
    "way": lambda value, _: "pull" if value < 1.0 else "push",
    "celsius": lambda value, _: temperature(value),
    "served": lambda value, units: _served(units, *value),
    "boiled": lambda value, units: boiled_words(Boiled(*value), units.volume),
    # what was tested, chosen or seen
    "Check": lambda value, _: f"{CHECKS[value][0].upper()}{CHECKS[value][1:]}",
    "tried": lambda value, _: _TRIED[value],
    "look": lambda value, _: _look(value),
    "mishap": lambda value, _: word_table("mishap_answers")["titles"][value],
    # what is said only where there is a value
    "nearest": lambda value, _: f"; the nearest is {value}" if value else "",
    "or the sheet": lambda value, _: where_it_goes(value),
    "or nothing": lambda value, _: value or "nothing",
    "instead": lambda value, _: f" The process {value} takes it off before." if value else "",
    "and more": lambda value, _: f" (and {value} more)" if value else "",
    "then": lambda value, _: f", then {value}" if value else "",
    "to confirm": lambda value, _: f" First confirm {counted(value, 'line')}." if value else "",
}


def in_words(text: Text | None, units: Units = METRIC) -> str:
    """A text of a profile or a person as it is, a message in its sentence, "" for None.

    Raises KeyError for an unknown code or a value that is missing.
    """
    if text is None or isinstance(text, str):
        return text or ""
    values: dict[str, Any] = dict(text.values)
    if AS_WRITTEN in values:
        return str(values[AS_WRITTEN])
    if text.code == "developer time":
        values["reasons"] = tuple(each for each in values["reasons"] if not is_one(dict(each.values)["factor"]))
        values["variant"] = "" if values["reasons"] else "unchanged"
    variant, specs = values.pop("variant", ""), _SPECS
    if text.code.startswith("mixing "):
        from wetside.present.mixing_words import SPECS as MIXING  # an evening that mixes a kit needs them alone

        specs = {**_SPECS, **MIXING}
    return filled(_template(f"{text.code}, {variant}" if variant else text.code), values, units, specs)


def _template(key: str) -> str:
    if key in _FIRST:
        return _FIRST[key]
    for name in ("refusals", "alerts"):
        if key in (table := sentences_of(name)):
            return table[key]
    return sentences_of("mixing_words")[key]


@cache
def sentences_of(name: str) -> dict[str, str]:
    """The sentence of each code in `NAME.toml`, of all its parts."""
    sentences: dict[str, str] = {}
    for code, said in word_table(name).items():
        sentences |= said if isinstance(said, dict) else {code: said}
    return sentences


def note_text(note: NoteAdded) -> str:
    """A note in words: as it was typed, or what was seen and how the edge markings looked."""
    return seen_with_edges(note.look, in_words(note.text))


def _look(told: Message) -> str:
    """As `note_text`, of a look that was told to a later plan."""
    values: dict[str, Any] = dict(told.values)
    text = in_words(values.pop("text"))
    return seen_with_edges(Look(**values) if values else None, text)


def _hours(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{minutes} min" if not hours else f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"


def _served(units: Units, coolest_c: float, warmest_c: float, tolerance_k: float) -> str:
    """The range as a sheet states it: "29.4 to 38.9 °C", or "37.8 ± 0.15 °C" for a single row."""
    unit = units.temperature
    if coolest_c < warmest_c:
        return temperatures((coolest_c, warmest_c), unit)
    half = trimmed(tolerance_k if unit == "°C" else tolerance_k * 1.8, 2)
    return f"{degrees(coolest_c, unit)} ± {half} {unit}"


def where_it_goes(disposal: str) -> str:
    """Where a bottle's content is disposed of, by its profile; where that says nothing, what decides."""
    return disposal or "Follow the kit's own data sheet and local rules."


@contextmanager
def worded(units: Units = METRIC) -> Iterator[None]:
    """A context, or a decorator, in which refusals by code become `Refused` and `CheckFailed` with sentences."""
    try:
        yield
    except Refusal as refusal:
        raise Refused(in_words(refusal.why, units)) from refusal
    except Unfit as unfit:
        raise CheckFailed(tuple(in_words(why, units) for why in unfit.findings)) from unfit


def said_caution(of: PlannedCaution, units: Units) -> Caution:
    """A caution with its texts in words."""
    texts = {name: in_words(getattr(of, name), units) for name in ("hazard", "consequence", "avoid")}
    return made_of(of, Caution, **texts)
