"""The label of a roll's sleeve, where to cut, and what its scans are called, as plain text. Pure."""

from __future__ import annotations

from wetside.domain.archive.sleeve import CutPlan
from wetside.domain.planning.setup import Roll
from wetside.sanitize import coded


def sleeve_lines(
    number: str, developed_on: str, film: Roll, process: str, cut: CutPlan, scans: tuple[str, str]
) -> tuple[str, ...]:
    """The label's one line first. scans: the names of the first and the last scan, without their ending."""
    exposed = f"EI {film.exposure_index}" if film.exposure_index is not None else ""
    push = f"push {film.push:+g}" if film.push else ""
    parts = (number, developed_on, film.label, film.stock or film.format, exposed, push, film.camera, process)
    rows = tuple(f"  {n:>2}: {_frames(*strip)}" for n, strip in enumerate(cut.strips, 1))
    short = f", the last one {cut.last_short} short" if cut.last_short else ""
    return (
        " · ".join(coded(part) for part in parts if part),
        "",
        f"Cut {cut.frames} frames into {len(cut.strips)} strips{short}:",
        *rows,
        "Count the frames first: many cameras give one or two more. Cut between frames, never through one.",
        "",
        f"Scans: {coded(scans[0])} to {coded(scans[1])}",
    )


def _frames(first: int, last: int) -> str:
    return f"frames {first} to {last}" if last > first else f"frame {first}"
