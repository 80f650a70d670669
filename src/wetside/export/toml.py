"""The session log as TOML: the whole record, for people and programs.

One job: write every value of the log, names as in `entries.py`, seconds and °C as in the journal, moments as TOML
date-times with offset. A value that is not there is left out, as TOML has no word for nothing. Nothing names the
machine or a terminal. The profile's text is not in it (the SHA-256 names it); the events export holds that too.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import Any

import tomli_w

from wetside.export.session_log import SessionLog
from wetside.export.wall_times import WallTime
from wetside.sanitize import ACTING, whole

# TOML allows these letters raw inside a string, where they would still act on a terminal that shows the file.
# The writer puts text into basic strings only, so there they may be escaped; it escapes C0 controls itself.
_ACTING = re.compile(f"(?![\x00-\x1f])[{ACTING}]")


def export_toml(log: SessionLog) -> str:
    """The log as one TOML document; equal logs give equal text."""
    head = f"# Wetside session log, {log.standing}.\n# Seconds (_s), °C (_c) and millilitres (_ml).\n\n"
    data = {
        "format": log.format,
        "standing": log.standing,
        "tool": {"name": "wetside", "version": log.tool_version},
        "session": _session(log),
        "profile": {"id": log.profile_id, "title": log.profile_title, "sha256": log.profile_sha256},
        "setup": log.plan.setup,
        **{name: getattr(log, name) for name in _ROWS},
        "plan": {part.name: getattr(log.plan, part.name) for part in fields(log.plan) if part.name != "setup"},
    }
    return head + _ACTING.sub(lambda found: f"\\u{ord(found[0]):04x}", tomli_w.dumps(_plain(data)))


class _Written(datetime):
    """A date-time that the TOML writer writes with a T and always three decimals."""

    @classmethod
    def of(cls, wall: datetime) -> _Written:
        """The same moment."""
        return cls.combine(wall.date(), wall.timetz())

    def __str__(self) -> str:
        return self.isoformat(timespec="milliseconds")


_ROWS = (
    "steps",
    "readings",
    "ticks",
    "deviations",
    "cues",
    "jumps",
    "resumes",
    "holds",
    "notes",
    "debits",
)


def _session(log: SessionLog) -> dict[str, object]:
    return {
        "id": log.session,
        "practice": log.practice,
        "speed": log.speed,
        "began": log.began,
        "closed": log.closed,
        "outcome": log.outcome,
        "deviation_count": log.deviation_count,
        "reason": log.reason,
    }


def _plain(value: Any) -> Any:
    """Tables, arrays, texts, numbers and date-times; a None inside a table is left out."""
    if isinstance(value, WallTime):
        return _Written.of(value.wall)
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value):
        value = {part.name: getattr(value, part.name) for part in fields(value)}
    if isinstance(value, dict):
        return {name: _plain(inner) for name, inner in value.items() if inner is not None}
    if isinstance(value, tuple):
        return [_plain(inner) for inner in value]
    return whole(value) if isinstance(value, str) else value
