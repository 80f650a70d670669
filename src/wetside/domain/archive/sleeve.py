"""Strips of a roll and the names of its scans.

A roll of 135 has the frames of its name. Those of a roll of 120 depend on the camera: 12 of 6 × 6 cm by default
(common practice, no source).
"""

from __future__ import annotations

from msgspec import Struct

STRIP_FRAMES = 6
"""Frames in a strip (common practice, no source)."""
STRIP_FRAMES_120 = 3
"""Frames in a strip of 120 or 220, of about the same length (common practice, no source)."""
MOST_FRAMES = 99

_FRAMES = {"135-36": 36, "135-24": 24, "135-12": 12, "120": 12, "220": 24}


class CutPlan(Struct, frozen=True):
    """Strips as (first frame, last frame). last_short: frames by which the last strip is shorter."""

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
    """The frames cut into strips of `strip`, from frame 1."""
    strips = tuple((first, min(first + strip - 1, frames)) for first in range(1, frames + 1, strip))
    return CutPlan(frames, strips, -frames % strip)


def scan_name(number: str, frame: int) -> str:
    """The file name of a frame's scan, without suffix; names sort in the order of the frames."""
    return f"{number.replace(' ', '_')}_{frame:02}"
