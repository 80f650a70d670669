"""The label of a bottle as plain text: ASCII alone and narrow, for any printer or a pen. Pure."""

from __future__ import annotations

import re
import textwrap
from datetime import date, timedelta

from wetside.domain.planning.setup import SolutionFigures
from wetside.domain.profile.model import Sure
from wetside.domain.shelf.report import BottleReport
from wetside.sanitize import in_ascii, seen

LABEL_CELLS = 36
"""Characters in a line: 10 to the inch make it 9 cm wide (our own number)."""

UNTOLD = "Hazards: see the kit's own data sheet."


_SURENESS = re.compile(f" \\((?:{'|'.join(sure.value for sure in Sure)})\\)")


def label_words(
    figures: SolutionFigures, kit: str, mixed_on: str, best_before: str | None, rolls: float, id_: str = ""
) -> tuple[str, ...]:
    """Name, kit, date, best before, rolls so far and hazard words. Days are ISO dates; rolls are of 135-36.

    best_before: None where no life is known. id_: the bottle's id on the shelf, "" before it stands there. How
    well a hazard is known stands on the plan and in the review, not on the bottle.
    """
    best = f"Best before {best_before}" if best_before is not None else "Best before: see the kit's sheet"
    so_far = f"Rolls of 135-36 so far: {rolls:.1f}".removesuffix(".0")
    lines = [figures.title.upper(), kit, f"Mixed {mixed_on}", best]
    lines.append("For one use: pour it away after it" if figures.storage == "one-shot" else so_far)
    if figures.signal is not None:
        lines.append(figures.signal)
    lines += [_SURENESS.sub("", each) for each in figures.hazards] or [UNTOLD]
    lines += [f"No. {id_}"] if id_ else []
    return tuple(lines)


def label_lines(words: tuple[str, ...]) -> tuple[str, ...]:
    """The words of a label as lines of it."""
    return tuple(part for line in words for part in textwrap.wrap(in_ascii(seen(line)), LABEL_CELLS))


def label_of(bottle: BottleReport, figures: SolutionFigures) -> tuple[str, ...]:
    """The lines of the label of a bottle on the shelf, as it stands today."""
    words = label_words(figures, bottle.kit, bottle.mixed_on, bottle.best_before, bottle.rolls, bottle.id)
    return label_lines(words)


def fresh_until(figures: SolutionFigures, mixed_on: str) -> str | None:
    """The last good day (ISO) of a full bottle mixed on that day; of what is used once that day itself."""
    days = figures.life_full_days
    if days is None:
        return mixed_on if figures.storage == "one-shot" else None
    return (date.fromisoformat(mixed_on) + timedelta(days=int(days))).isoformat()
