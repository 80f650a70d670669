"""Labels as plain text: of a bottle, narrow and ASCII for any printer, and of a roll's sleeve. Pure."""

from __future__ import annotations

import re
import textwrap
from datetime import date, timedelta
from typing import Final

from wetside.domain.archive.sleeve import CutPlan
from wetside.domain.planning.setup import Roll, SolutionFigures
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
    figures: SolutionFigures, kit: str, mixed_on: str, best_before: str | None, rolls: float, id_: str = ""
) -> tuple[str, ...]:
    """Name, kit, date, best before, rolls so far and hazards of a bottle. Days are ISO dates; rolls are of 135-36.

    best_before: None where no life is known. id_: the bottle's id on the shelf, "" before it has one.
    """
    best = f"Best before {best_before}" if best_before is not None else "Best before: see the kit's sheet"
    use = f"Rolls of 135-36 so far: {trimmed(rolls, 1)}"
    return (
        figures.title.upper(),
        kit,
        f"Mixed {mixed_on}",
        best,
        "For one use: pour it away after it" if figures.storage == "one-shot" else use,
        *([figures.signal] if figures.signal is not None else []),
        *([_SURENESS.sub("", each) for each in figures.hazards] or [NO_HAZARDS_KNOWN]),
        *([f"No. {id_}"] if id_ else []),
    )


def label_of(report: BottleReport) -> tuple[str, ...]:
    """The lines of the label of a bottle on the shelf, with its use so far."""
    of = report.bottle
    words = label_words(of.figures, report.kit.name, of.mixed_on, report.best_before, of.rolls, of.id)
    return tuple(part for line in words for part in textwrap.wrap(in_ascii(printable(line)), LABEL_CELLS))


def fresh_until(figures: SolutionFigures, mixed_on: str) -> str | None:
    """The last good day (ISO date) of a full bottle mixed on `mixed_on`; that day itself for a one-shot solution.

    None where no life is known.
    """
    days = figures.life_full_days
    if days is None:
        return mixed_on if figures.storage == "one-shot" else None
    return (date.fromisoformat(mixed_on) + timedelta(days=int(days))).isoformat()


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
