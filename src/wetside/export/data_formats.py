"""The session log for programs: TOML (the whole record), CSV (a row for each step), JSON lines (the events).

Nothing names the machine or a terminal. Control characters are escaped in each, so that no text of the record can
control a terminal or a spreadsheet. Equal logs give equal text.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from enum import Enum
from statistics import fmean
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import asdict, replace

from wetside.domain.planning.setup import Bottle
from wetside.domain.session.events import Event, SessionBegan, SessionResumed
from wetside.export.session_log import ReadingLog, SessionLog
from wetside.export.step_logs import StepLog
from wetside.export.wall_times import WallTime, dated_events
from wetside.present.message_words import in_words
from wetside.present.plan_json import plan_in_words
from wetside.sanitize import CONTROLS, encodable, escape_controls

COLUMNS: Final = (
    "format", "session", "standing", "outcome", "profile", "profile_sha256", "step", "title", "stage", "kind",
    "batch", "roll", "roll_label", "solution", "volume_ml", "ends", "planned_s", "last_planned_s", "due_s",
    "actual_s", "difference_s", "verdict", "target_c", "range_low_c", "range_high_c", "read_before_c",
    "read_within_c", "factor_temperature", "factor_use", "factor_push", "dose", "planned_start",
    "first_marked", "started", "started_sure", "planned_end", "ended", "ended_sure", "left", "readings",
    "deviations", "roll_numbers",
)  # fmt: skip
"""The columns in their order; `commands/help/export.txt` says what each holds."""
_SIX_PLACES = ("factor_temperature", "factor_use", "factor_push", "dose")
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
JSONL_FORMAT: Final = 2
"""The first value of every JSON line; it rises when a reader of an older format would be misled."""


def export_csv(log: SessionLog) -> str:
    """A header and one row a step (RFC 4180)."""
    columns = [name for name in COLUMNS if name != "roll_numbers" or log.roll_numbers]
    values = (_values(log, step) for step in log.steps)
    return csv_text(columns, ([_cell(name, row[name]) for name in columns] for row in values))


def csv_text(columns: Iterable[str], rows: Iterable[Sequence[str]]) -> str:
    """A header and these rows of cells (RFC 4180), with CRLF line ends."""
    out = io.StringIO(newline="")
    table = csv.writer(out, dialect="excel", lineterminator="\r\n")
    table.writerow(columns)
    table.writerows(rows)
    return out.getvalue()


def text_cell(text: str) -> str:
    """`text` as a cell, with an apostrophe in front where a spreadsheet would take it for a formula."""
    # checked before and after escaping, so that a leading tab gets its apostrophe too
    safe = escape_controls(text)
    return f"'{safe}" if text.startswith(_FORMULA) or safe.startswith(_FORMULA) else safe


def _values(log: SessionLog, step: StepLog) -> dict[str, object]:
    """The values of one row by column, with further fields of the step."""
    planned = log.plan.step(step.id)
    rolls = [batch.rolls for batch in log.plan.batches if batch.number == step.batch]
    mine = (step.roll,) if step.roll is not None else rolls[0] if rolls else ()
    factors = planned.factors if step.planned_s is not None else None
    low_c, high_c = planned.range_c or (None, None)
    return asdict(step) | {
        "format": log.format,
        "session": log.session,
        "standing": log.standing,
        "outcome": log.outcome,
        "profile": log.plan.profile_id,
        "profile_sha256": log.plan.profile_sha256,
        "step": step.id,
        "batch": step.batch or 0,
        "roll": 0 if step.roll is None else step.roll + 1,
        "volume_ml": planned.volume_ml,
        "target_c": planned.target_c,
        "range_low_c": low_c,
        "range_high_c": high_c,
        "read_within_c": fmean(step.read_within_c) if step.read_within_c else None,
        **{f"factor_{name}": getattr(factors, name, None) for name in ("temperature", "use", "push")},
        "dose": step.doses[-1][1] if step.doses else None,
        "readings": "; ".join(_reading(reading) for reading in log.readings if reading.step == step.id),
        "deviations": "; ".join(
            f"{row.text} ({row.reason})" if row.reason else row.text
            for row in log.deviations
            if row.step == step.id
        ),
        "roll_numbers": "; ".join(log.roll_numbers[roll] for roll in mine if roll < len(log.roll_numbers)),
    }


def _cell(name: str, value: object) -> str:
    match value:
        case WallTime():
            return value.wall.isoformat(timespec="milliseconds")
        case float():
            # a leading minus is a sign here, not the start of a formula
            return f"{value:.{6 if name in _SIX_PLACES else 3}f}"
        case None:
            return ""
        case _:
            return text_cell(str(value))


def _reading(reading: ReadingLog) -> str:
    typed = f" ({'typed' if reading.by == 'person' else 'probe'} {reading.text})" if reading.text else ""
    return f"{reading.title} {reading.value:.2f} {reading.unit}{typed}, {reading.verdict}"


def export_jsonl(events: Sequence[Event]) -> str:
    """One line an event: format, number, practice, wall (RFC 3339), kind, version, data as in the journal.

    ASCII only. Raises JournalUnusable when the events do not start with the session's beginning.
    """
    from wetside.storage.codec import encode

    began, rows = dated_events(events)
    lines = []
    for number, row in enumerate(rows, start=1):
        kind, version, data = encode(nameless(row.event))
        head = {
            "format": JSONL_FORMAT,
            "number": number,
            "practice": began.practice,
            "wall": row.moment.wall.isoformat(timespec="milliseconds"),
            "kind": kind,
            "version": version,
        }
        # inserted as encoded, so that it is byte for byte the data of the journal
        lines.append(f'{json.dumps(head, separators=(",", ":"))[:-1]},"data":{data}}}\n')
    return "".join(lines)


def nameless(event: Event) -> Event:
    """The event without what identifies this machine and its terminals."""
    if isinstance(event, SessionBegan | SessionResumed):
        return replace(event, boot_id="", boot_s=0.0, terminal="")
    return event


_ROWS = ("steps", "readings", "ticks", "deviations", "cues", "jumps", "resumes", "holds", "notes", "debits")
# TOML allows these characters raw inside a string, where they would control a terminal that shows the file.
# The writer puts text into basic strings only, so there they may be escaped; it escapes C0 controls itself.
_CONTROL_CHARACTERS = re.compile(f"(?![\x00-\x1f])[{CONTROLS}]")


def export_toml(log: SessionLog) -> str:
    """Every value of the log under its field's name: seconds and °C as in the journal, moments with their offset.

    None is left out, as TOML has no null. The profile's text is not in it (its SHA-256 is); the JSON lines have
    the text.
    """
    import tomli_w

    head = f"# Wetside session log, {log.standing}.\n# Seconds (_s), °C (_c) and millilitres (_ml).\n\n"
    session = ("practice", "speed", "began", "closed", "outcome", "deviation_count", "reason")
    data = {
        "format": log.format,
        "standing": log.standing,
        "tool": {"name": "wetside", "version": log.tool_version},
        "session": {
            "id": log.session,
            **{name: getattr(log, name) for name in session},
            "roll_numbers": log.roll_numbers or None,
        },
        "profile": {"id": log.plan.profile_id, "title": log.plan.profile_title, "sha256": log.plan.profile_sha256},
        "setup": asdict(log.plan.setup) | {"bottles": tuple(map(_bottle, log.plan.setup.bottles))},
        **{name: getattr(log, name) for name in _ROWS},
        "plan": plan_in_words(log.plan) | {"setup": None},
    }
    return head + _CONTROL_CHARACTERS.sub(lambda found: f"\\u{ord(found[0]):04x}", tomli_w.dumps(_plain(data)))


def _bottle(bottle: Bottle) -> dict[str, Any]:
    return asdict(bottle) | {"spent": in_words(bottle.spent), "suspect": in_words(bottle.suspect)}


class _Written(datetime):
    """A date-time that the TOML writer writes with a T and always three decimals."""

    def __str__(self) -> str:
        return self.isoformat(timespec="milliseconds")


def _plain(value: Any) -> Any:
    """Tables, arrays, texts, numbers and date-times; a None inside a table is left out."""
    if isinstance(value, WallTime):
        return _Written.combine(value.wall.date(), value.wall.timetz())
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Struct):
        value = asdict(value)
    if isinstance(value, dict):
        return {name: _plain(inner) for name, inner in value.items() if inner is not None}
    if isinstance(value, tuple):
        return [_plain(inner) for inner in value]
    return encodable(value) if isinstance(value, str) else value
