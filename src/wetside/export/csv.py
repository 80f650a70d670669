"""The session log as CSV (RFC 4180): one row for each planned step, for a table program.

One job: fill the cells. A cell of text never starts a formula: one that begins with = + - @, a tab or a line break
gets an apostrophe in front. Acting letters are written out, so a label cannot disturb the cells beside it.
"""

from __future__ import annotations

import csv
import io

from wetside.export.log_entries import ReadingLog, StepLog
from wetside.export.session_log import SessionLog
from wetside.export.wall_times import WallTime
from wetside.sanitize import coded

COLUMNS = (
    "session",
    "standing",
    "outcome",
    "profile",
    "profile_sha256",
    "step",
    "title",
    "stage",
    "kind",
    "batch",
    "roll",
    "roll_label",
    "solution",
    "ends",
    "planned_s",
    "last_planned_s",
    "due_s",
    "actual_s",
    "difference_s",
    "verdict",
    "planned_start",
    "first_marked",
    "started",
    "started_sure",
    "planned_end",
    "ended",
    "ended_sure",
    "left",
    "readings",
    "deviations",
)
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
    return [
        text_cell(log.session),
        text_cell(log.standing),
        text_cell(log.outcome),
        text_cell(log.profile_id),
        text_cell(log.profile_sha256),
        text_cell(step.id),
        text_cell(step.title),
        text_cell(step.stage),
        text_cell(step.kind),
        "" if step.batch is None else str(step.batch),
        "" if step.roll is None else str(step.roll),
        text_cell(step.roll_label),
        text_cell(step.solution or ""),
        text_cell(step.ends),
        _number(step.planned_s),
        _number(step.last_planned_s),
        _number(step.due_s),
        _number(step.actual_s),
        _number(step.difference_s),
        text_cell(step.verdict),
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


def _moment(moment: WallTime | None) -> str:
    return "" if moment is None else moment.wall.isoformat(timespec="milliseconds")


def _reading(reading: ReadingLog) -> str:
    typed = f" (typed {reading.text})" if reading.text else ""
    return f"{reading.title} {reading.value:.2f} {reading.unit}{typed}, {reading.verdict}"


def _said(text: str, reason: str) -> str:
    return f"{text} ({reason})" if reason else text
