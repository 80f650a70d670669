"""What the three large keys do now, as the bottom line says it."""

from __future__ import annotations

from wetside.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Keys:
    """What SPACE, ENTER and BACKSPACE do now. "" where a key does nothing."""

    space: str
    enter: str
    backspace: str
