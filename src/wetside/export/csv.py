"""The session log as CSV (RFC 4180): one row for each planned step, for a table program.

One job: fill the cells. A cell of text never starts a formula: one that begins with = + - @, a tab or a line break
gets an apostrophe in front. Acting letters are written out, so a label cannot disturb the cells beside it.
"""

from __future__ import annotations

import csv
import io
from statistics import fmean
from typing import Final

from wetside.export.log_entries import ReadingLog, StepLog
from wetside.export.session_log import SessionLog
from wetside.export.wall_times import WallTime
from wetside.sanitize import coded

COLUMNS: Final = {
    "format": "the number of this table's shape",
    "session": "id of the session",
    "standing": "practice, invented, or a session",
    "outcome": "how the session ended",
    "profile": "id of the process",
    "profile_sha256": "of its text",
    "step": "id of the step in the plan",
    "title": "of the step",
    "stage": "part of the evening",
    "kind": "bath, wash, check, measure, wait, hang, dark ...",
    "batch": "tank fill, from 1; 0 for none",
    "roll": "roll, from 1 as in the setup; 0 for none",
    "roll_label": "the person's own words",
    "solution": "id of the bath",
    "volume_ml": "poured into the tank",
    "ends": "on time, not before, or when done",
    "planned_s": "time on the plan",
    "last_planned_s": "after readings moved it",
    "due_s": "from started to planned_end, less pauses",
    "actual_s": "from started to ended, less pauses",
    "difference_s": "actual less due",
    "verdict": "in words",
    "target_c": "temperature planned, °C",
    "range_low_c": "lowest accepted",
    "range_high_c": "highest accepted",
    "read_before_c": "last read within 20 min before the start",
    "read_within_c": "mean of the readings in the bath",
    "factor_temperature": "of the time, for a temperature beside the target",
    "factor_use": "for rolls developed before",
    "factor_push": "for push or pull",
    "dose": "share of its work done, by its readings; 1 is all",
    "planned_start": "by the plan's chart",
    "first_marked": "start as first marked",
    "started": "start as corrected",
    "started_sure": "measured, or stated by the person",
    "planned_end": "moment due",
    "ended": "pouring out began, or the step was left",
    "ended_sure": "measured or stated",
    "left": "the guide went on",
    "readings": "all of them, in words",
    "deviations": "all of them, in words",
}
"""Every column in its order, and what stands in it; spans in s, volumes in ml, moments as RFC 3339."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def export_csv(log: SessionLog) -> str:
    """A header and one row a step, CRLF at each line's end; equal logs give equal text."""
    out = io.StringIO(newline="")
    table = csv.writer(out, dialect="excel", lineterminator="\r\n")
    table.writerow(COLUMNS)
    for step in log.steps:
        table.writerow(_row(log, step))
    return out.getvalue()


def _row(log: SessionLog, step: StepLog) -> list[str]:
    readings = "; ".join(_reading(reading) for reading in log.readings if reading.step == step.id)
    deviations = "; ".join(_said(row.text, row.reason) for row in log.deviations if row.step == step.id)
    planned = log.plan.step(step.id)
    low_c, high_c = planned.range_c or (None, None)
    factors = planned.factors if step.planned_s is not None else None
    return [
        str(log.format),
        text_cell(log.session),
        text_cell(log.standing),
        text_cell(log.outcome),
        text_cell(log.profile_id),
        text_cell(log.profile_sha256),
        text_cell(step.id),
        text_cell(step.title),
        text_cell(step.stage),
        text_cell(step.kind),
        str(step.batch or 0),
        str(0 if step.roll is None else step.roll + 1),
        text_cell(step.roll_label),
        text_cell(step.solution or ""),
        _number(planned.volume_ml),
        text_cell(step.ends),
        _number(step.planned_s),
        _number(step.last_planned_s),
        _number(step.due_s),
        _number(step.actual_s),
        _number(step.difference_s),
        text_cell(step.verdict),
        _number(planned.target_c),
        _number(low_c),
        _number(high_c),
        _number(step.read_before_c),
        _number(fmean(step.read_within_c) if step.read_within_c else None),
        *(_factor(getattr(factors, name, None)) for name in ("temperature", "use", "push")),
        _factor(step.doses[-1][1] if step.doses else None),
        _moment(step.planned_start),
        _moment(step.first_marked),
        _moment(step.started),
        step.started_sure or "",
        _moment(step.planned_end),
        _moment(step.ended),
        step.ended_sure or "",
        _moment(step.left),
        text_cell(readings),
        text_cell(deviations),
    ]


def text_cell(text: str) -> str:
    """`text` as a cell that starts no formula."""
    # looked at before and after acting letters are written out: a tab in front must not lose its apostrophe
    safe = coded(text)
    return f"'{safe}" if text.startswith(_FORMULA) or safe.startswith(_FORMULA) else safe


def _number(value: float | None) -> str:
    # our own number, so a minus in front is a sign and no formula
    return "" if value is None else f"{value:.3f}"


def _factor(value: float | None) -> str:
    return "" if value is None else f"{value:.6f}"


def _moment(moment: WallTime | None) -> str:
    return "" if moment is None else moment.wall.isoformat(timespec="milliseconds")


def _reading(reading: ReadingLog) -> str:
    typed = f" ({'typed' if reading.by == 'person' else 'probe'} {reading.text})" if reading.text else ""
    return f"{reading.title} {reading.value:.2f} {reading.unit}{typed}, {reading.verdict}"


def _said(text: str, reason: str) -> str:
    return f"{text} ({reason})" if reason else text
