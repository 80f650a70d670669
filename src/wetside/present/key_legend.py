"""What the three large keys do now, as the bottom line says it."""

from __future__ import annotations

from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Keys:
    """What SPACE, ENTER and BACKSPACE do now, and the arrow keys up and down. "" where a key does nothing."""

    space: str
    enter: str
    backspace: str
    arrows: str = ""


BOTH_WAYS = "both ways"
"""What the arrow keys do in a list; SPACE alone goes round it one way."""
