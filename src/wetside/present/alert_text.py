"""Words the alerts of a plan and about bottles: `alerts.toml` has the sentence of each code."""

from __future__ import annotations

from typing import Final

from wetside.domain.calc.water import Boiled
from wetside.domain.messages import Message
from wetside.domain.planning.setup import METRIC, Units
from wetside.present.film_faults import look_text
from wetside.present.refusal_text import refusal_text
from wetside.present.sentences import CHECKS, Specs, word_table, worded_by
from wetside.present.session_words import words
from wetside.present.water_text import boiled_words
from wetside.present.wording import counted, temperature

COVER_FIRST: Final = "Top it up or mix more, or plan fewer rolls."
"""The remedy for an alert in `STOPPING`."""

REASON_FIRST: Final = 'To use it all the same, say why in the setup: reason = "..." under its [[bottles]].'
"""The remedy for an alert in `WANTS_REASON`, where the setup is a file."""

_SPECS: Final[Specs] = {
    "ago": lambda value, _: "today" if value < 1 else f"{counted(int(value), 'day')} ago",
    "Check": lambda value, _: f"{CHECKS[value][0].upper()}{CHECKS[value][1:]}",
    "said": lambda value, units: refusal_text(value, units),
    "alert": lambda value, units: alert_text(value, units),
    "judged": lambda value, _: judged_text(value),
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
    return worded_by(word_table("alerts"), alert, units, _SPECS)


def judged_text(why: Message | None) -> str:
    """Why a bottle is spent or suspect: a test, a suspicion of the shelf, or the mishap itself; "" for None."""
    if why is None:
        return ""
    if why.code in word_table("alerts"):
        return alert_text(why)
    if why.code == "suspected":
        return worded_by(word_table("refusals")["shelf"], why, METRIC, {"mishap": lambda value, _: words(value)})
    return words(why)
