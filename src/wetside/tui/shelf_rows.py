"""The shelf as rows and columns: one line for each bottle, details of the marked one, its whole record. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from operator import add
from typing import Final

from wetside.domain.planning.setup import VolumeUnit
from wetside.domain.shelf.report import BottleReport
from wetside.present.labels import label_of
from wetside.present.message_words import in_words
from wetside.present.shelf_text import note_lines, result_lines, status_text
from wetside.present.wording import volume
from wetside.tui.rows import RowList, StyledText, TextLayout, width
from wetside.tui.table import Column

MIX: Final = "Mix a kit, or write one down"

_WIDE: Final = 64
"""The least columns at which the condition of each bottle stands in the table."""


def bottle_columns(reports: Sequence[BottleReport], cells: int, unit: VolumeUnit) -> tuple[Column, ...]:
    """One row for mixing a kit, then one for each bottle: its label, its condition, what is in it, since when."""
    labels = [each.bottle.label for each in reports]
    marks = ["" if each.status in ("good", "discarded") else "! " for each in reports]
    if cells < _WIDE:
        return (Column("Bottle", (MIX, *map(add, marks, labels)), cells),)
    least = min(cells // 2 - 6, max(map(width, (MIX, *labels))) + 2)
    held = (
        "" if each.status in ("empty", "discarded") else volume(each.bottle.volume_ml, unit) for each in reports
    )
    return (
        Column("Bottle", (MIX, *labels), least),
        Column("Condition", ("", *map(add, marks, map(status_text, reports)))),
        Column("Holds", ("", *held)),
        Column("Mixed on", ("", *(each.bottle.mixed_on for each in reports))),
    )


def about_rows(report: BottleReport, layout: TextLayout, cells: int, unit: VolumeUnit) -> RowList:
    """The marked bottle: its condition if the table has no room for that, its warnings, then its figures."""
    rows: RowList = layout.lines(f"{status_text(report)}.", cells, "strong") if cells < _WIDE else []
    rows += [
        (StyledText(line, "strong"),) for alert in report.alerts for line in layout.wrap(in_words(alert), cells)
    ]
    return [*rows, *layout.paragraphs(figures(report, unit), cells)]


def figures(report: BottleReport, unit: VolumeUnit) -> tuple[str, ...]:
    """A bottle's figures, in a few sentences."""
    bottle, kit = report.bottle, report.kit
    full = "full" if bottle.full else "part-full"
    until = f", best before {report.best_before}" if report.best_before is not None else ""
    of_kit = f"{bottle.figures.title} of {kit.name} ({kit.profile_title})"
    lines = [f"{of_kit}, {volume(bottle.volume_ml, unit)}, {full}; mixed on {bottle.mixed_on}{until}."]
    through = f"{bottle.rolls:.1f} rolls (of 135-36) have gone through it"
    if bottle.used_before > 0:
        through += f" ({bottle.used_before:.1f} before it was written down)"
    if report.capacity_rolls is not None:
        through += f", its capacity is {report.capacity_rolls:.1f}"
        if report.stretch_left_rolls is not None:
            stretch = max(0.0, report.stretch_left_rolls - max(0.0, report.left_rolls or 0.0))
            through += f"; a stretch of {stretch:.1f} more needs a reason"
    lines.append(f"{through}.")
    if kit.price is not None:
        so_far = f"{report.cost_so_far:.2f} a roll so far" if report.cost_so_far is not None else "no roll yet"
        at_end = f", {report.cost_at_capacity:.2f} at capacity" if report.cost_at_capacity is not None else ""
        lines.append(f"Its set cost {kit.price:.2f}: {so_far}{at_end}.")
    if report.order_by is not None:
        pace = f"; used up about {report.used_up_on} at its pace so far" if report.used_up_on is not None else ""
        lines.append(f"Order again by {report.order_by}{pace}.")
    lines.append(f"Its id, for a setup or a command: {bottle.id}.")
    return tuple(lines)


def record_lines(report: BottleReport, unit: VolumeUnit) -> tuple[str, ...]:
    """Everything about a bottle: unindented headings, indented lines."""
    bottle, of = report.bottle, report.bottle.figures
    lines = [bottle.label, f"  {status_text(report)}", *(f"  ! {in_words(alert)}" for alert in report.alerts)]
    lines += [f"  {words}" for words in figures(report, unit)]
    parts = (
        ("Tests", result_lines(bottle)),
        ("Notes", note_lines(bottle)),
        ("Sessions", tuple(use.session for use in bottle.uses)),
        ("Still good, it looks like this", (of.looks_healthy,) if of.looks_healthy else ()),
        ("Spent, it looks like this", (of.looks_spent,) if of.looks_spent else ()),
        ("Where it goes when it is spent", (of.disposal,) if of.disposal else ()),
        ("Its label", label_of(report)),
    )
    for title, said in parts:
        if said:
            lines += ["", title, *(f"  {words}" for words in said)]
    return tuple(lines)
