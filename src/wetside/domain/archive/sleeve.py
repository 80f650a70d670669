"""Cutting a roll into strips, the label of its sleeve, and the names of its scans. Pure.

Frames to a roll of 135 are those of its name. How many a roll of 120 holds depends on the camera: 12 of 6 × 6 cm
are taken where nobody says otherwise (common practice, no source).
"""

from __future__ import annotations

from wetside.errors import Refused
from wetside.frozen import dataclass

STRIP_FRAMES = 6
"""Frames in a strip (common practice, no source)."""
STRIP_FRAMES_120 = 3
"""The same of a roll of 120 or 220, which is cut to about the same length (common practice, no source)."""
MOST_FRAMES = 99

_FRAMES = {"135-36": 36, "135-24": 24, "135-12": 12, "120": 12, "220": 24}


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Strips as (first frame, last frame). last_short: frames that the last strip lacks."""

    frames: int
    strips: tuple[tuple[int, int], ...]
    last_short: int


def frames_of(film_format: str) -> int:
    """The frames of a whole roll of this format; one for a sheet."""
    return _FRAMES.get(film_format, 1)


def strip_frames_of(film_format: str, for_135: int = STRIP_FRAMES) -> int:
    """Frames in a strip of this format."""
    return STRIP_FRAMES_120 if film_format in ("120", "220") else for_135


def cut_plan(frames: int, strip: int) -> CutPlan:
    """Cut so many frames into strips of `strip`, from frame 1. Refused outside 1 to `MOST_FRAMES`."""
    if not (1 <= frames <= MOST_FRAMES and 1 <= strip <= MOST_FRAMES):
        raise Refused(
            f"A roll has 1 to {MOST_FRAMES} frames, and a strip as many: not {frames} in strips of {strip}."
        )
    strips = tuple((first, min(first + strip - 1, frames)) for first in range(1, frames + 1, strip))
    return CutPlan(frames, strips, -frames % strip)


def scan_name(number: str, frame: int) -> str:
    """The name of a frame's scan, without its ending: sorts in the order of the frames."""
    return f"{number.replace(' ', '_')}_{frame:02}"
