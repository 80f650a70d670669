"""The plan in short as rows, beside the list it is made from; or why there is none. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from wetside.domain.planning.plan import Plan
from wetside.domain.shelf.setup_bottles import KitLeft
from wetside.present.plan_text import LABEL, short_lines
from wetside.present.shelf_text import kit_left_in_short
from wetside.tui.frame import text_rows
from wetside.tui.rows import Form, StyledText, TextLayout


def in_short_rows(
    plan: Plan, starts_at: datetime | None, after: Sequence[KitLeft], pen: TextLayout, cells: int, rows: int
) -> Form:
    """At most `rows` rows: the answers a person wants, then what is left in the kits (`after`)."""
    lines = short_lines(plan, cells, not pen.utf8, starts_at)
    drawn: Form = [pen.row("Tonight in short", cells, "strong")]
    drawn += [pen.row(line, cells, "strong" if line.startswith("!") else "") for line in lines]
    kits = text_rows(tuple(f"  {'Kit left':<{LABEL}} {kit_left_in_short(left)}" for left in after), pen, cells)
    room = rows - len(kits)
    if len(drawn) > room:
        drawn[room - 1 :] = [pen.row("  More stands in: Whole plan", cells, "faint")]
    return [*drawn, *kits]


def why_not(findings: Sequence[str], pen: TextLayout, cells: int) -> Form:
    """Why there is no plan, in whole sentences."""
    rows: Form = [pen.row("There is no plan yet", cells, "strong")]
    return [*rows, *((StyledText(line),) for finding in findings for line in pen.wrap(finding, cells))]
