"""Words the texts of a planned step: those of its profile as they are, and what the program has to say of it."""

from __future__ import annotations

from typing import Any, Final

from wetside.domain.messages import AS_WRITTEN, Message, Text
from wetside.domain.planning.plan import PlannedCaution
from wetside.domain.planning.setup import METRIC, Units
from wetside.domain.profile.model import Caution
from wetside.present.refusal_text import refusal_text, templates
from wetside.present.sentences import Specs, worded_by
from wetside.present.wording import is_one, percent
from wetside.structs import made_of

_TOUCH: Final = "Leave it alone, then touch the edge of the film before you trust it."
_AIR: Final = "in air of {room_c:degrees} and {percent:.0f} %"

TEMPLATES: Final[dict[str, str]] = {
    # why a developer's time is what it is, and each reason with its factor
    "developer time": "{sheet_s:clock} on the sheet → {time_s:clock}: {reasons:reasons}",
    "developer time, unchanged": "{time_s:clock}, as on the sheet",
    "developer at": "developer at {at_c:degrees} {factor:percent}",
    "rolls before": "{rolls_per_l:rolls} per litre before {factor:percent}",
    "push of": "{factor:way} of {stops:stops} {factor:percent}",
    # drying
    "drying guessed": f"Dry in about {{guess_s:hours}} {_AIR}: a guess from the room's air. {_TOUCH}",
    "drying longer than least": f"The process asks for {{least_s:hours}}; {_AIR} it likely takes about"
    f" {{guess_s:hours}}, a guess. {_TOUCH}",
    "drying as least": f"{{least_s:hours}} is the least, and {_AIR} likely enough: the guess is {{guess_s:hours}}."
    f" {_TOUCH}",
    # agitation
    "rotated": "Turn the reels by the stick, or the capped tank on rollers, both ways.",
}
"""The sentence of each code. A format spec is one of `present/sentences.py`, or of `_SPECS`."""


def _hours(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{minutes} min" if not hours else f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"


def _count(number: float, thing: str) -> str:
    count = f"{number:g}"
    return f"{count} {thing if count == '1' else f'{thing}s'}"


_SPECS: Final[Specs] = {
    "reasons": lambda value, units: ", ".join(said(each, units) for each in value),
    "percent": lambda value, _: percent(value),
    "rolls": lambda value, _: _count(round(value, 1), "roll"),
    "stops": lambda value, _: _count(abs(value), "stop"),
    "way": lambda value, _: "pull" if value < 1.0 else "push",
    "hours": lambda value, _: _hours(value),
}


def said(text: Text, units: Units = METRIC) -> str:
    """A text in words, in the person's units."""
    if isinstance(text, str):
        return text
    if text.code == "developer time":
        text = _with_the_reasons_that_count(text)
    if text.code in TEMPLATES or text.code == AS_WRITTEN:
        return worded_by(TEMPLATES, text, units, _SPECS)
    if text.code in templates():
        return refusal_text(text, units)
    from wetside.present.mixing_words import mixing_text  # an evening that mixes a kit needs it alone

    return mixing_text(text, units)


def said_caution(of: PlannedCaution, units: Units) -> Caution:
    """A caution with its texts in words."""
    texts = {name: said(getattr(of, name), units) for name in ("hazard", "consequence", "avoid")}
    return made_of(of, Caution, **texts)


def about_step(about: Message | None, units: Units) -> str:
    """What is told of a step's time; "" for nothing."""
    return "" if about is None else said(about, units)


def _with_the_reasons_that_count(time: Message) -> Message:
    values: dict[str, Any] = dict(time.values)
    values["reasons"] = tuple(each for each in values["reasons"] if not is_one(dict(each.values)["factor"]))
    variant = {} if values["reasons"] else {"variant": "unchanged"}
    return Message(time.code, tuple({**values, **variant}.items()))
