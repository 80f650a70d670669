"""The shelf as rows and columns: one line for each bottle, details of the marked one, its whole record. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from wetside.domain.planning.setup import SolutionFigures, VolumeUnit
from wetside.domain.shelf.report import BottleReport
from wetside.present.alert_text import alert_text
from wetside.present.labels import label_of
from wetside.present.shelf_text import result_lines, status_text
from wetside.present.wording import volume
from wetside.tui.rows import RowList, StyledText, TextLayout, width
from wetside.tui.table import Column

MIX: Final = "Mix a kit, or write one down"

_WIDE: Final = 64
"""The least columns at which the condition of each bottle stands in the table."""


def bottle_columns(bottles: Sequence[BottleReport], cells: int, unit: VolumeUnit) -> tuple[Column, ...]:
    """One row for mixing a kit, then one for each bottle: its label, its condition, what is in it, since when."""
    warned = [bottle.status not in ("good", "discarded") for bottle in bottles]
    if cells < _WIDE:
        marked = (f"{'! ' if warns else ''}{each.label}" for each, warns in zip(bottles, warned, strict=True))
        return (Column("Bottle", (MIX, *marked), cells),)
    labels = tuple(each.label for each in bottles)
    least = min(cells // 2 - 6, max(map(width, (MIX, *labels))) + 2)
    states = (f"{'! ' if warns else ''}{status_text(each)}" for each, warns in zip(bottles, warned, strict=True))
    held = ("" if each.status in ("empty", "discarded") else volume(each.volume_ml, unit) for each in bottles)
    return (
        Column("Bottle", (MIX, *labels), least),
        Column("Condition", ("", *states)),
        Column("Holds", ("", *held)),
        Column("Mixed on", ("", *(each.mixed_on for each in bottles))),
    )


def about_rows(bottle: BottleReport, layout: TextLayout, cells: int, unit: VolumeUnit) -> RowList:
    """The marked bottle: its condition if the table has no room for that, its warnings, then its figures."""
    rows: RowList = layout.lines(f"{status_text(bottle)}.", cells, "strong") if cells < _WIDE else []
    rows += [
        (StyledText(line, "strong"),) for alert in bottle.alerts for line in layout.wrap(alert_text(alert), cells)
    ]
    return [*rows, *layout.paragraphs(figures(bottle, unit), cells)]


def figures(bottle: BottleReport, unit: VolumeUnit) -> tuple[str, ...]:
    """A bottle's figures, in a few sentences."""
    full = "full" if bottle.full else "part-full"
    until = f", best before {bottle.best_before}" if bottle.best_before is not None else ""
    holds = volume(bottle.volume_ml, unit)
    kit = f"{bottle.kit} ({bottle.process})"
    lines = [f"{bottle.title} of {kit}, {holds}, {full}; mixed on {bottle.mixed_on}{until}."]
    through = f"{bottle.rolls:.1f} rolls (of 135-36) have gone through it"
    if bottle.used_before > 0:
        through += f" ({bottle.used_before:.1f} before it was written down)"
    if bottle.capacity_rolls is not None:
        through += f", its capacity is {bottle.capacity_rolls:.1f}"
        if bottle.stretch_left_rolls is not None:
            stretch = max(0.0, bottle.stretch_left_rolls - max(0.0, bottle.left_rolls or 0.0))
            through += f"; a stretch of {stretch:.1f} more needs a reason"
    lines.append(f"{through}.")
    if bottle.price is not None:
        so_far = f"{bottle.cost_so_far:.2f} a roll so far" if bottle.cost_so_far is not None else "no roll yet"
        at_end = f", {bottle.cost_at_capacity:.2f} at capacity" if bottle.cost_at_capacity is not None else ""
        lines.append(f"Its set cost {bottle.price:.2f}: {so_far}{at_end}.")
    if bottle.order_by is not None:
        pace = f"; used up about {bottle.used_up_on} at its pace so far" if bottle.used_up_on is not None else ""
        lines.append(f"Order again by {bottle.order_by}{pace}.")
    lines.append(f"Its id, for a setup or a command: {bottle.id}.")
    return tuple(lines)


def record_lines(bottle: BottleReport, of: SolutionFigures, unit: VolumeUnit) -> tuple[str, ...]:
    """Everything about a bottle: unindented headings, indented lines."""
    lines = [bottle.label, f"  {status_text(bottle)}", *(f"  ! {alert_text(alert)}" for alert in bottle.alerts)]
    lines += [f"  {words}" for words in figures(bottle, unit)]
    parts = (
        ("Tests", result_lines(bottle)),
        ("Notes", bottle.notes),
        ("Sessions", bottle.sessions),
        ("Still good, it looks like this", (of.looks_healthy,) if of.looks_healthy else ()),
        ("Spent, it looks like this", (of.looks_spent,) if of.looks_spent else ()),
        ("Where it goes when it is spent", (of.disposal,) if of.disposal else ()),
        ("Its label", label_of(bottle, of)),
    )
    for title, said in parts:
        if said:
            lines += ["", title, *(f"  {words}" for words in said)]
    return tuple(lines)
