"""How the tank is moved tonight: what the process asks, or the pace and the way that the person chose. Pure.

What more or less movement does is common practice, no source; the kit's sheet decides.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from wetside.profile.model import Agitation
from wetside.session.setup import AgitationPace, AgitationWay, Setup

LONGEST_S: Final = 7200.0
"""Longer than any bath: the first stretch of a bath that is moved without a pause."""

PACES: Final[dict[AgitationPace, tuple[float, float]]] = {
    "continuous": (LONGEST_S, 0.0),
    "each half minute": (30.0, 30.0),
    "each minute": (30.0, 60.0),
}
"""(first, every) in seconds: 30 s at first (US Army SS0514, read), later moves as is common practice."""

TURNING: Final = "Turn the reels by the stick, or the capped tank on rollers, both ways."

EFFECT: Final = "More moving gives more density and contrast; less gives less, and streaks. Your sheet decides."
DIRECTION: Final = "Rotation changes its direction, or it leaves streaks."

_EFFECTS: Final[dict[AgitationPace, str]] = {
    "as the process": "",
    "continuous": "more density and contrast than a time made for pauses gives, and more even",
    "each half minute": "what most sheets for small tanks mean",
    "each minute": "less density and contrast, and streaks in a bath as short as a colour developer",
}


def agitated(own: Agitation | None, setup: Setup) -> Agitation | None:
    """A bath's agitation tonight; the process's own where it is fixed or the person chose nothing."""
    if own is None or own.fixed:
        return own
    words = own.words if setup.agitated_by == "inversion" else TURNING
    if setup.agitation == "as the process":
        return replace(own, words=words)
    return Agitation(*PACES[setup.agitation], own.for_s, words)


def agitation_words(setup: Setup) -> str:
    """Tonight's choice and its effect, in a sentence."""
    effect = _EFFECTS[setup.agitation]
    said = f"{setup.agitation}, by {setup.agitated_by}"
    said += f": {effect} (common practice); your sheet decides" if effect else ""
    turning = f" {DIRECTION}" if setup.agitated_by == "rotation" else ""
    return f"{said}.{turning}" if turning else said


def agitation_effect(pace: AgitationPace, way: AgitationWay) -> str:
    """What this choice does, by itself; "" where the process's own is kept and the tank is turned over."""
    return "; ".join(words for words in (_EFFECTS[pace], DIRECTION if way == "rotation" else "") if words)
