"""Labels as plain text: of a bottle, narrow and ASCII for any printer, and of a roll's sleeve. Pure."""

from __future__ import annotations

import re
import textwrap
from typing import Final

from wetside.domain.archive.sleeve import CutPlan
from wetside.domain.planning.setup import Roll
from wetside.domain.profile.model import Sure
from wetside.domain.shelf.report import BottleReport
from wetside.present.wording import trimmed
from wetside.sanitize import escape_controls, in_ascii, printable

LABEL_CELLS: Final = 36
"""Characters in a line of a bottle's label: at 10 to the inch it is 9 cm wide (our own number)."""

NO_HAZARDS_KNOWN: Final = "Hazards: see the kit's own data sheet."

_SURENESS: Final = re.compile(f" \\((?:{'|'.join(sure.value for sure in Sure)})\\)")
"""How sure a hazard is, as profiles and stored bottles have it within the text; labels leave it out."""


def label_words(
    title: str,
    kit: str,
    mixed_on: str,
    best_before: str | None,
    rolls: float,
    *,
    storage: str = "bottle",
    signal: str = "",
    hazards: tuple[str, ...] = (),
    id_: str = "",
) -> tuple[str, ...]:
    """Name, kit, date, best before, rolls so far and hazards of a bottle. Days are ISO dates; rolls are of 135-36.

    best_before: None where no life is known. signal, id_ (of the bottle on the shelf): "" where it has none.
    """
    best = f"Best before {best_before}" if best_before is not None else "Best before: see the kit's sheet"
    use = f"Rolls of 135-36 so far: {trimmed(rolls, 1)}"
    return (
        title.upper(),
        kit,
        f"Mixed {mixed_on}",
        best,
        "For one use: pour it away after it" if storage == "one-shot" else use,
        *([signal] if signal else []),
        *([_SURENESS.sub("", each) for each in hazards] or [NO_HAZARDS_KNOWN]),
        *([f"No. {id_}"] if id_ else []),
    )


def label_of(report: BottleReport) -> tuple[str, ...]:
    """The lines of the label of a bottle on the shelf, with its use so far."""
    of = report.bottle
    words = label_words(
        of.figures.title,
        report.kit.name,
        of.mixed_on,
        report.best_before,
        of.rolls,
        storage=of.figures.storage,
        signal=of.figures.signal or "",
        hazards=of.figures.hazards,
        id_=of.id,
    )
    return tuple(part for line in words for part in textwrap.wrap(in_ascii(printable(line)), LABEL_CELLS))


def sleeve_lines(
    number: str, developed_on: str, film: Roll, process: str, cut: CutPlan, scans: tuple[str, str]
) -> tuple[str, ...]:
    """A sleeve's label on one line, where to cut the film, and the names of its scans.

    scans: the names of the first and the last scan, without their ending.
    """
    exposed = f"EI {film.exposure_index}" if film.exposure_index is not None else ""
    push = f"push {film.push:+g}" if film.push else ""
    parts = (number, developed_on, film.label, film.stock or film.format, exposed, push, film.camera, process)
    strips = (f"frames {first} to {last}" if last > first else f"frame {first}" for first, last in cut.strips)
    short = f", the last one {cut.last_short} short" if cut.last_short else ""
    return (
        " · ".join(escape_controls(part) for part in parts if part),
        "",
        f"Cut {cut.frames} frames into {len(cut.strips)} strips{short}:",
        *(f"  {strip:>2}: {frames}" for strip, frames in enumerate(strips, 1)),
        "Count the frames first: many cameras give one or two more. Cut between frames, never through one.",
        "",
        f"Scans: {escape_controls(scans[0])} to {escape_controls(scans[1])}",
    )
