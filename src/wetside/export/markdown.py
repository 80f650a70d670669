"""The session log as a Markdown page to keep with the negatives.

One job: say on one page what was developed, how each step went against the plan, and what differed. Everything
somebody typed is escaped, so that it is read as the text it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from wetside.domain.calc.wording import minutes_seconds, temperature
from wetside.domain.session.events import BY_EYE
from wetside.export.log_entries import NoteLog, StepLog, TickLog
from wetside.export.past_evenings import LOOKS
from wetside.export.session_log import SessionLog
from wetside.export.wall_times import WallTime
from wetside.sanitize import coded

# what CommonMark and its table, strike-through and address extensions act on inside a line
_SIGNS = re.compile(r"[\\`*_{}\[\]<>#|~&!@$]|(?<=www)\.|:(?=//|[a-z+-][\w+-]*:)", re.IGNORECASE)


def export_markdown(log: SessionLog) -> str:
    """The page, what matters years later first; equal logs give equal text."""
    parts = [
        _head(log),
        _rolls(log),
        _deviations(log),
        _timed(log),
        _readings(log),
        _notes(log),
        _calls(log),
        _interruptions(log),
        _debits(log),
        _confirmed(log),
        _sources(log),
        _made_by(log),
    ]
    return "\n".join(part for part in parts if part)


def escaped(text: str) -> str:
    """`text` as Markdown that reads as that text, on one line, inside a table or out of it."""
    return _SIGNS.sub(lambda found: "\\" + found[0], coded(text)).strip()


def _head(log: SessionLog) -> str:
    setup = log.plan.setup
    title = escaped(setup.title) or "Session"
    lines = [f"# {'PRACTICE · ' if log.practice else ''}{title}", "", f"This is {escaped(log.standing)}.", ""]
    rows = [
        ("Outcome", log.outcome),
        ("Reason", log.reason),
        ("Began", f"{log.began.wall.date()} {_when(log, log.began)} ({log.began.offset})"),
        ("Closed", _when(log, log.closed) or "not closed"),
        ("Who", setup.who),
        ("Process", f"{log.profile_title} ({log.profile_id})"),
        ("Loaded in", setup.place),
        ("Thermometer", f"±{setup.thermometer_error_c:.2g} °C"),
        ("Remark", setup.note),
    ]
    return "\n".join([*lines, *_named(rows)]) + "\n"


def _made_by(log: SessionLog) -> str:
    rows = [("Session", log.session), ("Profile SHA-256", log.profile_sha256), ("Wetside", log.tool_version)]
    return _section("This record", _named(rows))


def _named(rows: Iterable[tuple[str, str]]) -> list[str]:
    return _table(("", ""), [(name, escaped(value)) for name, value in rows if value])


def _rolls(log: SessionLog) -> str:
    batch_of = {roll: batch.number for batch in log.plan.batches for roll in batch.rolls}
    rows = []
    for number, roll in enumerate(log.plan.setup.rolls):
        batch = str(batch_of[number]) if number in batch_of else "none"
        seen = "; ".join(escaped(note.text) for note in log.notes if _of_a_roll(note) and note.roll == number)
        rows.append(
            (escaped(roll.label), escaped(roll.kind), escaped(roll.format), f"{roll.push:+g}", batch, seen)
        )
    heads = ("Roll", "Film", "Format", "Push (stops)", "Batch", "How it came out")
    return _section("Rolls", _table(heads, rows) if rows else [])


def _timed(log: SessionLog) -> str:
    heads = ("Step", "Planned", "Actual", "Difference", "Started", "Ended", "Verdict")
    said = (
        "A bath ends here when pouring out begins: “out at” is when that was due, where draining counts as time in"
        " the bath. “stated” marks a moment that somebody told instead of the clock."
    )
    rows = [_timed_step(log, step) for step in log.steps if _is_timed(step)]
    return _section("Baths and other timed steps", [said, "", *_table(heads, rows)] if rows else [])


def _is_timed(step: StepLog) -> bool:
    return step.planned_s is not None or step.first_marked is not None


def _timed_step(log: SessionLog, step: StepLog) -> tuple[str, ...]:
    planned = _duration(step.planned_s)
    if step.last_planned_s is not None and step.last_planned_s != step.planned_s:
        planned = f"{planned}, moved to {_duration(step.last_planned_s)}"
    if step.due_s is not None and step.due_s != step.last_planned_s:
        planned = f"{planned}, out at {_duration(step.due_s)}"
    started = _when(log, step.started, step.started_sure)
    if step.corrections:
        started = f"{started}, first marked {_when(log, step.first_marked)}"
    difference = "" if step.difference_s is None else _signed(step.difference_s)
    return (
        _name(log, step),
        planned,
        _duration(step.actual_s),
        difference,
        started,
        _when(log, step.ended, step.ended_sure),
        escaped(step.verdict),
    )


def _name(log: SessionLog, step: StepLog) -> str:
    name = f"{step.title} · {step.roll_label}" if step.roll_label else step.title
    return escaped(name if step.batch is None or len(log.plan.batches) < 2 else f"{name} (batch {step.batch})")


def _names(log: SessionLog) -> dict[str, str]:
    """The name of each step, by its id; as it stands on the page."""
    return {step.id: _name(log, step) for step in log.steps}


def _readings(log: SessionLog) -> str:
    names = _names(log)
    rows = []
    for reading in log.readings:
        wanted = "" if reading.wanted is None else " to ".join(temperature(limit) for limit in reading.wanted)
        rows.append(
            (
                _when(log, reading.when),
                names.get(reading.step, escaped(reading.step)),
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
    names = _names(log)
    rows = [
        (
            _when(log, row.when),
            names.get(row.step, escaped(row.step)),
            row.what,
            escaped(row.text),
            escaped(row.reason),
        )
        for row in log.deviations
    ]
    heads = ("When", "Step", "What", "In words", "Reason")
    return _section(f"Deviations ({log.deviation_count})", _table(heads, rows) if rows else ["None."])


def _confirmed(log: SessionLog) -> str:
    """Every step that was reached, with the statements confirmed for it, whenever that was."""
    ticks: dict[str, list[TickLog]] = {}
    for tick in log.ticks:
        ticks.setdefault(tick.step, []).append(tick)
    blocks = []
    for step in log.steps:
        mine = ticks.pop(step.id, [])
        # A timed step without any has its row in the table above.
        if mine or (step.opened is not None and not _is_timed(step)):
            blocks.append([f"### {_name(log, step)}{_open_from_to(log, step)}", *_ticks(log, mine)])
    blocks += [_ticks(log, others) for others in ticks.values()]
    unreached = [_name(log, step) for step in log.steps if step.opened is None]
    if unreached:
        blocks.append([f"Not reached: {', '.join(unreached)}."])
    return _section("Step by step", [line for block in blocks for line in (*block, "")][:-1])


def _open_from_to(log: SessionLog, step: StepLog) -> str:
    if step.opened is None:
        return ""
    until = f", {step.verdict}" if step.left is None else f" to {_when(log, step.left)}"
    return f", {_when(log, step.opened)}{until}"


def _ticks(log: SessionLog, ticks: Sequence[TickLog]) -> list[str]:
    return ["", *(_tick(log, tick) for tick in ticks)] if ticks else []


def _tick(log: SessionLog, tick: TickLog) -> str:
    typed = f" (typed “{escaped(tick.typed)}”)" if tick.typed else ""
    if tick.typed == BY_EYE:
        typed = ": no bell; the screen was watched instead"
    # That somebody said so is what a confirmation is.
    sure = "" if tick.sure == "stated" else f" · {tick.sure}"
    back = f", taken back {_when(log, tick.taken_back)}" if tick.taken_back is not None else ""
    return f"- {_when(log, tick.when)} · {escaped(tick.text)}{typed}{sure}{back}"


def _calls(log: SessionLog) -> str:
    given = sum(cue.given is not None for cue in log.cues)
    missed = [cue for cue in log.cues if cue.missed is not None]
    lines = [f"{given} given, {len(missed)} missed.", ""] if log.cues else []
    names = _names(log)
    for cue in missed:
        of = names.get(cue.step, escaped(cue.step))
        call = f"{escaped(cue.call)} of {of}, planned {_when(log, cue.planned)}"
        lines.append(f"- missed: {call}: {escaped(cue.why_missed)}")
    return _section("Calls", lines)


def _interruptions(log: SessionLog) -> str:
    found = [(jump.when, f"{escaped(jump.what)} of {_signed(jump.seconds)}") for jump in log.jumps]
    for resume in log.resumes:
        over = ", taken over from another terminal" if resume.took_over else ""
        known = f"{_duration(resume.gap_s)} ({escaped(resume.how)})"
        after = "an unknown time" if resume.how == "not known" else known
        found.append((resume.when, f"opened again after {after}{over}"))
    for hold in log.holds:
        until = _when(log, hold.ended) if hold.ended is not None else "the end of the record"
        found.append((hold.began, f"guide on hold until {until}"))
    found.sort(key=lambda row: row[0].at)
    return _section("Interruptions", [f"- {_when(log, when)} · {words}" for when, words in found])


def _notes(log: SessionLog) -> str:
    lines = []
    for note in log.notes:
        if _of_a_roll(note):
            continue  # it stands beside its roll
        about = f"{note.about}, {note.roll_label}" if note.roll_label else note.about
        lines.append(f"- {_when(log, note.when)} · {escaped(about)} · {escaped(note.text)}")
    return _section("Notes", lines)


def _of_a_roll(note: NoteLog) -> bool:
    return note.about == LOOKS and note.roll is not None


def _debits(log: SessionLog) -> str:
    rows = [
        (escaped(d.bottle), escaped(d.solution), f"{d.rolls:.2f}".rstrip("0").rstrip("."), escaped(d.text))
        for d in log.debits
    ]
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


def _when(log: SessionLog, moment: WallTime | None, sure: str | None = None) -> str:
    """The time of day; with the date where that is not the one of the beginning. Empty for none."""
    if moment is None:
        return ""
    text = moment.beside(log.began)
    return text if sure in (None, "measured") else f"{text} ({sure})"


def _duration(seconds: float | None) -> str:
    return "" if seconds is None else minutes_seconds(seconds)


def _signed(seconds: float) -> str:
    words = minutes_seconds(seconds)
    return words if words.startswith("−") or words == "0:00" else f"+{words}"
