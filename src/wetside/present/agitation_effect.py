"""What the chosen agitation does, in words: common practice, no source; the kit's sheet decides. Pure."""

from __future__ import annotations

from typing import Final

from wetside.domain.planning.setup import AgitationPace, AgitationWay, Setup

MOVED: Final = "How the tank is moved"
"""Over tonight's choice in a review."""

EFFECT: Final = "More moving gives more density and contrast; less gives less, and streaks. Your sheet decides."
DIRECTION: Final = "Rotation changes its direction, or it leaves streaks."

_EFFECTS: Final[dict[AgitationPace, str]] = {
    "as the process": "",
    "continuous": "more density and contrast than a time made for pauses gives, and more even",
    "each half minute": "what most sheets for small tanks mean",
    "each minute": "less density and contrast, and streaks in a bath as short as a colour developer",
}


def agitation_words(setup: Setup) -> str:
    """Tonight's choice and its effect, in a sentence."""
    effect = _EFFECTS[setup.agitation]
    said = f"{setup.agitation}, by {setup.agitated_by}"
    said += f": {effect} (common practice); your sheet decides" if effect else ""
    return f"{said}. {DIRECTION.rstrip('.')}" if setup.agitated_by == "rotation" else said


def agitation_effect(pace: AgitationPace, way: AgitationWay) -> str:
    """What this choice does, by itself; "" where the process's own is kept and the tank is turned over."""
    return "; ".join(words for words in (_EFFECTS[pace], DIRECTION if way == "rotation" else "") if words)
