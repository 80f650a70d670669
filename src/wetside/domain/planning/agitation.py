"""How the tank is moved tonight: what the process asks, or the pace and the way that the person chose. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from wetside.domain.planning.setup import AgitationPace, Setup
from wetside.domain.profile.model import Agitation

LONGEST_S: Final = 7200.0
"""Longer than any bath: the first stretch of a bath that is moved without a pause."""

PACES: Final[dict[AgitationPace, tuple[float, float]]] = {
    "continuous": (LONGEST_S, 0.0),
    "each half minute": (30.0, 30.0),
    "each minute": (30.0, 60.0),
}
"""(first, every) in seconds: 30 s at first (US Army SS0514, read), later moves as is common practice."""

TURNING: Final = "Turn the reels by the stick, or the capped tank on rollers, both ways."


def agitated(own: Agitation | None, setup: Setup) -> Agitation | None:
    """A bath's agitation tonight; the process's own where it is fixed or the person chose nothing."""
    if own is None or own.fixed:
        return own
    words = own.words if setup.agitated_by == "inversion" else TURNING
    if setup.agitation == "as the process":
        return replace(own, words=words)
    return Agitation(*PACES[setup.agitation], own.for_s, words)
