"""The session log as a Markdown page to keep with the negatives.

One job: say on one page what was developed, how each step went against the plan, and what differed. Everything
somebody typed is escaped, so that it is read as the text it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from wetside.craft.words import celsius, minutes_seconds
from wetside.letters import coded
from wetside.record.entries import StepLog
from wetside.record.log import SessionLog
from wetside.record.moments import Moment

# what CommonMark and its table, strike-through and address extensions act on inside a line
_SIGNS = re.compile(r"[\\`*_{}\[\]<>#|~&!@$]|(?<=www)\.|:(?=//|[a-z+-][\w+-]*:)", re.IGNORECASE)


def export_markdown(log: SessionLog) -> str:
    """The page; equal logs give equal text."""
    parts = [
        _head(log),
        _rolls(log),
        _steps(log),
        _readings(log),
        _deviations(log),
        _ticks(log),
        _cues(log),
        _interruptions(log),
        _notes(log),
        _debits(log),
        _sources(log),
    ]
    return "\n".join(part for part in parts if part)


def escaped(text: str) -> str:
    """`text` as Markdown that reads as that text, on one line, inside a table or out of it."""
    return _SIGNS.sub(lambda found: "\\" + found[0], coded(text)).strip()


def _head(log: SessionLog) -> str:
    setup = log.plan.setup
    title = escaped(setup.title) or "Session"
    lines = [f"# {'PRACTICE · ' if log.practice else ''}{title}", "", f"This is {escaped(log.standing)}.", ""]
    closed = log.closed.text if log.closed is not None else "not closed"
    rows = [
        ("Outcome", log.outcome),
        ("Reason", log.reason),
        ("Began", log.began.text),
        ("Closed", closed),
        ("Who", setup.who),
        ("Process", f"{log.profile_title} ({log.profile_id})"),
        ("Profile SHA-256", log.profile_sha256),
        ("Loaded in", setup.place),
        ("Thermometer", f"±{setup.thermometer_error_c:.2g} °C"),
        ("Session", log.session),
        ("Wetside", log.tool_version),
        ("Remark", setup.note),
    ]
    lines += _table(("", ""), [(name, escaped(value)) for name, value in rows if value])
    return "\n".join(lines) + "\n"


def _rolls(log: SessionLog) -> str:
    batch_of = {roll: batch.number for batch in log.plan.batches for roll in batch.rolls}
    rows = []
    for number, roll in enumerate(log.plan.setup.rolls):
        batch = str(batch_of[number]) if number in batch_of else "none"
        rows.append((escaped(roll.label), escaped(roll.kind), escaped(roll.format), f"{roll.push:+g}", batch))
    return _section("Rolls", _table(("Roll", "Film", "Format", "Push (stops)", "Batch"), rows) if rows else [])


def _steps(log: SessionLog) -> str:
    heads = ("Step", "Planned", "Actual", "Difference", "Started", "Ended", "Verdict")
    said = [
        "A bath ends here when pouring out begins: “out at” is when that was due, where draining counts as time",
        "in the bath. “stated” marks a moment that somebody told instead of the clock.",
        "",
    ]
    return _section("Steps", [*said, *_table(heads, [_step(step) for step in log.steps])])


def _step(step: StepLog) -> tuple[str, ...]:
    planned = _duration(step.planned_s)
    if step.last_planned_s is not None and step.last_planned_s != step.planned_s:
        planned = f"{planned}, moved to {_duration(step.last_planned_s)}"
    if step.due_s is not None and step.due_s != step.last_planned_s:
        planned = f"{planned}, out at {_duration(step.due_s)}"
    name = f"{step.title} · {step.roll_label}" if step.roll_label else step.title
    if step.batch is not None:
        name = f"{name} (batch {step.batch})"
    started = _when(step.started, step.started_sure)
    if step.corrections:
        started = f"{started}, first marked {_when(step.first_marked)}"
    difference = "" if step.difference_s is None else _signed(step.difference_s)
    return (
        escaped(name),
        planned,
        _duration(step.actual_s),
        difference,
        started,
        _when(step.ended, step.ended_sure),
        escaped(step.verdict),
    )


def _readings(log: SessionLog) -> str:
    titles = {step.id: step.title for step in log.steps}
    rows = []
    for reading in log.readings:
        wanted = "" if reading.wanted is None else " to ".join(celsius(limit) for limit in reading.wanted)
        rows.append(
            (
                _when(reading.when),
                escaped(titles.get(reading.step, reading.step)),
                escaped(reading.title),
                escaped(reading.text),
                f"{reading.value:.2f} {reading.unit}",
                wanted,
                reading.verdict,
            )
        )
    heads = ("When", "During", "Of", "As typed", "Value", "Wanted", "Verdict")
    return _section("Readings", _table(heads, rows) if rows else [])


def _deviations(log: SessionLog) -> str:
    titles = {step.id: step.title for step in log.steps}
    rows = [
        (
            _when(row.when),
            escaped(titles.get(row.step, row.step)),
            row.what,
            escaped(row.text),
            escaped(row.reason),
        )
        for row in log.deviations
    ]
    heads = ("When", "Step", "What", "In words", "Reason")
    return _section(f"Deviations ({log.deviation_count})", _table(heads, rows) if rows else ["None."])


def _ticks(log: SessionLog) -> str:
    lines = []
    for tick in log.ticks:
        back = f", taken back {_when(tick.taken_back)}" if tick.taken_back is not None else ""
        typed = f" (typed “{escaped(tick.typed)}”)" if tick.typed else ""
        lines.append(f"- {_when(tick.when)} · {escaped(tick.text)}{typed} · {tick.sure}{back}")
    return _section("Confirmed", lines)


def _cues(log: SessionLog) -> str:
    given = sum(cue.given is not None for cue in log.cues)
    missed = [cue for cue in log.cues if cue.missed is not None]
    lines = [f"{given} given, {len(missed)} missed.", ""] if log.cues else []
    titles = {step.id: step.title for step in log.steps}
    for cue in missed:
        call = f"{escaped(cue.call)} of {escaped(titles.get(cue.step, cue.step))}, planned {_when(cue.planned)}"
        lines.append(f"- missed: {call}: {escaped(cue.why_missed)}")
    return _section("Calls", lines)


def _interruptions(log: SessionLog) -> str:
    found = [(jump.when, f"{escaped(jump.what)} of {_signed(jump.seconds)}") for jump in log.jumps]
    for resume in log.resumes:
        over = ", taken over from another terminal" if resume.took_over else ""
        found.append((resume.when, f"opened again after {_duration(resume.gap_s)} ({escaped(resume.how)}){over}"))
    for hold in log.holds:
        until = _when(hold.ended) if hold.ended is not None else "the end of the record"
        found.append((hold.began, f"guide on hold until {until}"))
    found.sort(key=lambda row: row[0].at)
    return _section("Interruptions", [f"- {_when(when)} · {words}" for when, words in found])


def _notes(log: SessionLog) -> str:
    lines = []
    for note in log.notes:
        about = f"{note.about}, {note.roll_label}" if note.roll_label else note.about
        lines.append(f"- {_when(note.when)} · {escaped(about)} · {escaped(note.text)}")
    return _section("Notes", lines)


def _debits(log: SessionLog) -> str:
    rows = [(escaped(d.bottle), escaped(d.solution), f"{d.rolls:g}", escaped(d.text)) for d in log.debits]
    return _section("Taken from the shelf", _table(("Bottle", "Solution", "Rolls", ""), rows) if rows else [])


def _sources(log: SessionLog) -> str:
    lines = [f"- {' · '.join(escaped(part) for part in source)}" for source in log.plan.sources]
    return _section("Sources of the figures", lines)


def _section(title: str, lines: Sequence[str]) -> str:
    return "\n".join((f"## {title}", "", *lines, "")) if lines else ""


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    line = " | ".join(heads)
    rule = "|".join("---" for _ in heads)
    return [f"| {line} |", f"|{rule}|", *(f"| {' | '.join(row)} |" for row in rows)]


def _when(moment: Moment | None, sure: str | None = None) -> str:
    if moment is None:
        return ""
    return moment.text if sure in (None, "measured") else f"{moment.text} ({sure})"


def _duration(seconds: float | None) -> str:
    return "" if seconds is None else minutes_seconds(seconds)


def _signed(seconds: float) -> str:
    words = minutes_seconds(seconds)
    return words if words.startswith("−") or words == "0:00" else f"+{words}"
