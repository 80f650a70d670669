"""The session log as tables of unescaped text: the content of a page in its order."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from wetside.domain.planning.baths import LONGEST_S
from wetside.domain.planning.plan import PlannedStep
from wetside.domain.planning.setup import Roll, Units
from wetside.domain.profile.model import Kind
from wetside.domain.session.events import BY_EYE
from wetside.export.session_log import LOOKS, NoteLog, SessionLog, TickLog
from wetside.export.step_logs import StepLog, shown_difference_s
from wetside.export.wall_times import WallTime
from wetside.present.message_words import in_words
from wetside.present.wording import counted, minutes_seconds, temperature, temperatures, trimmed, volume

Row = tuple[str, ...]


class Section(Struct, frozen=True):
    """One table under its title. heads: empty where a row is a name and its value; said: a sentence above it.

    charted: the charts stand below it, on a page that has charts.
    """

    title: str
    heads: Row
    rows: tuple[Row, ...]
    said: str = ""
    charted: bool = False


def title(log: SessionLog) -> str:
    return f"{'PRACTICE · ' if log.practice else ''}{log.plan.setup.title.strip() or 'Session'}"


def standing(log: SessionLog) -> str:
    """A sentence for practice, an invented session or one without film; empty for any other."""
    told = log.practice or log.plan.setup.invented or log.plan.kit is not None
    return f"This is {log.standing}." if told else ""


def sections(log: SessionLog, ticks: bool = False) -> tuple[Section, ...]:
    """The non-empty tables of the page, the most lasting facts first; with `ticks`, the confirmed ticks last."""
    found = (
        Section("", (), _head(log)),
        _rolls(log),
        Section("Bottles", ("Bath", "Volume", "Filled"), _filled(log)),
        Section("Baths", ("Bath", "Time", "Kept", "Temperature", "Why", "Agitation"), _baths(log), charted=True),
        _deviations(log),
        Section("Notes", ("When", "About", "In words"), tuple(_notes(log))),
        _timed(log),
        Section(
            "Temperatures", ("When", "During", "Of", "As typed", "Value", "Wanted", ""), tuple(_readings(log))
        ),
        Section("Interruptions", ("When", "What"), _interruptions(log)),
        Section("Calls missed", ("Planned", "Step", "Call", "Why"), _calls(log)),
        Section(
            "Taken from the shelf",
            ("Bottle", "Solution", "Rolls", ""),
            tuple((each.bottle, each.solution, trimmed(each.rolls, 2), each.text) for each in log.debits),
        ),
        Section("Step by step", ("When", "Step", "What"), _ticks(log) if ticks else ()),
        Section("Sources of the figures", ("Source", "How sure"), _sources(log)),
        Section(
            "This record",
            (),
            _named(
                ("Session", log.session),
                ("Profile SHA-256", log.plan.profile_sha256),
                ("Wetside", log.tool_version),
            ),
        ),
    )
    return tuple(section for section in found if section.rows)


def step_name(log: SessionLog, step: StepLog) -> str:
    """The step's title, with its roll, and its tank fill where there are several."""
    name = f"{step.title} · {step.roll_label}" if step.roll_label else step.title
    return name if step.batch is None or len(log.plan.batches) < 2 else f"{name} (fill {step.batch})"


def is_bath(step: StepLog) -> bool:
    """Whether the step is one of the baths of the first table: poured, with a time of its own."""
    return Kind(step.kind).traits.wets and step.planned_s is not None


def bath_temperature(log: SessionLog, step: StepLog) -> str:
    """The readings of a bath before and in it, beside its target; "" where neither is known."""
    unit, target_c = log.plan.unit, log.plan.step(step.id).target_c
    words = [] if step.read_before_c is None else [f"{temperature(step.read_before_c, unit)} before"]
    if step.read_within_c:
        words.append(f"{', '.join(temperature(each, unit) for each in step.read_within_c)} in it")
    if target_c is not None:
        words += [f"target {temperature(target_c, unit)}", *(() if words else ("not read",))]
    return "; ".join(words)


def time_and_why(step: StepLog, planned: PlannedStep, units: Units) -> tuple[str, str]:
    """A bath's time as last planned, and the reason for it."""
    reasons = [
        in_words(planned.about, units)
        or ("the sheet's time" if planned.ends == "on time" else "the sheet's least time")
    ]
    if step.end_moves:
        last = step.end_moves[-1]
        reasons.append(f"{last.why}{f' ± {last.uncertainty_s:.0f} s' if last.uncertainty_s else ''}")
    for each in step.corrections:
        side = "late" if each.by_s > 0 else "early"
        reasons.append(f"its clock was marked {abs(each.by_s):.0f} s {side}, and set right")
    return duration(step.last_planned_s), "; ".join(reasons)


def when(log: SessionLog, moment: WallTime | None, sure: str | None = None) -> str:
    """The time of day, with the date where it is not that of the beginning; "" for None."""
    if moment is None:
        return ""
    text = moment.beside(log.began)
    return text if sure in (None, "measured") else f"{text} ({sure})"


def duration(seconds: float | None) -> str:
    """A time in s as "3:30"; empty for none."""
    return "" if seconds is None else minutes_seconds(seconds)


def signed(seconds: float | None) -> str:
    """A difference in s with its sign, rounded to the second: "+0:02"; empty for none."""
    return "" if seconds is None else f"{'+' if seconds >= 0.5 else ''}{minutes_seconds(seconds)}"


def _difference(step: StepLog) -> str:
    """By how much a step's time differs from the one that was due, as both are shown."""
    return signed(shown_difference_s(step.due_s, step.actual_s))


def percent_of_plan(share: float) -> str:
    """A share of the work a developer was to do: "98.7 %"."""
    return f"{share * 100.0:.1f} %"


def exposed(roll: Roll) -> str:
    """Exposure index, camera, place and date of a roll, as far as they are given."""
    index = "" if roll.exposure_index is None else f"EI {roll.exposure_index}"
    return ", ".join(words for words in (index, roll.camera, roll.shot_at, roll.shot_on or "") if words)


def _named(*rows: tuple[str, str]) -> tuple[Row, ...]:
    return tuple(row for row in rows if row[1])


def _head(log: SessionLog) -> tuple[Row, ...]:
    setup = log.plan.setup
    until = f" to {when(log, log.closed)}" if log.closed is not None else ", not closed"
    fills = (f"fill {b.number} {volume(b.volume_ml, log.plan.volume_unit)}" for b in log.plan.batches)
    tank = f"{setup.tank.material}, {setup.tank.places} reels; {', '.join(fills)}; loaded in a {setup.place}"
    developed = log.plan.kit is None
    began = f"{log.began.wall.date()} {when(log, log.began)}{until} ({log.began.offset})"
    return _named(
        ("Developed" if developed else "Mixed", began),
        ("By", setup.who),
        ("Outcome", f"{log.outcome}: {log.reason}" if log.reason else log.outcome),
        ("Process", f"{log.plan.profile_title} ({log.plan.profile_id})"),
        *(("Kit", words) for words in _kit(log)),
        ("Tank", tank if developed else ""),
        ("Thermometer", f"±{setup.thermometer_error_c:.2g} °C"),
        ("Remark", setup.note),
    )


def _filled(log: SessionLog) -> tuple[Row, ...]:
    """The bottles of a kit that was mixed, and when each was full, capped and labelled."""
    if log.plan.kit is None:
        return ()
    left = {step.id: step.left for step in log.steps}
    return tuple(
        (each.figures.title, volume(each.volume_ml, log.plan.volume_unit), when(log, left[each.step]) or "no")
        for each in log.plan.kit.bottles
    )


def _kit(log: SessionLog) -> list[str]:
    """The bottles, those of one day and one use together: "mixed 2031-03-01, 14 days old, 4 rolls before: …"."""
    together: dict[str, list[str]] = {}
    for bottle in log.plan.setup.bottles:
        mixed = "mixed nobody knows when"
        if bottle.mixed_on is not None:
            days = (log.began.wall.date() - date.fromisoformat(bottle.mixed_on)).days
            mixed = f"mixed {bottle.mixed_on}, {counted(days, 'day')} old"
        words = f"{mixed}, {trimmed(bottle.used_rolls, 1)} rolls of 135-36 before"
        if bottle.reason:
            words += f", used all the same ({bottle.reason})"
        together.setdefault(words, []).append(bottle.label or bottle.solution)
    return [f"{'; '.join(labels)}: {words}" for words, labels in together.items()]


def _rolls(log: SessionLog) -> Section:
    """One row for each roll, with its number in the archive where that is kept."""
    fill_of = {roll: batch.number for batch in log.plan.batches for roll in batch.rolls}
    rows = []
    for number, roll in enumerate(log.plan.setup.rolls):
        film = ", ".join(words for words in (roll.stock, roll.kind, roll.format) if words)
        push = "as exposed" if not roll.push else f"{'push' if roll.push > 0 else 'pull'} {roll.push:+g}"
        fill = f", fill {fill_of[number]}" if number in fill_of else ", in no fill"
        seen = "; ".join(note.text for note in log.notes if _of_a_roll(note) and note.roll == number)
        numbered = log.roll_numbers[number : number + 1]
        rows.append((*numbered, roll.label, film, exposed(roll), push + fill, seen or "not noted"))
    heads = ("Roll", "Film", "Exposed", "Developed", "How it came out")
    return Section("Rolls", ("Number", *heads) if log.roll_numbers else heads, tuple(rows))


def _baths(log: SessionLog) -> tuple[Row, ...]:
    """One row for each bath; rolls that went through it one by one with equal values share a row."""
    rows: dict[Row, list[tuple[Row, StepLog]]] = {}
    for step in filter(is_bath, log.steps):
        planned = log.plan.step(step.id)
        dose = f"dose {percent_of_plan(step.doses[-1][1])}" if step.doses else ""
        kept = ", ".join(words for words in (_difference(step), dose, step.verdict) if words)
        time, why = time_and_why(step, planned, log.plan.units)
        row = (time, kept, bath_temperature(log, step), why, _agitation(log, planned))
        one_by_one = str(step.batch) if step.roll is not None else step.id
        rows.setdefault((planned.of, one_by_one, *row[2:]), []).append((row, step))
    return tuple(_one_row(log, alike) for alike in rows.values())


def _one_row(log: SessionLog, alike: list[tuple[Row, StepLog]]) -> Row:
    row, step = alike[0]
    named = step if len(alike) == 1 else replace(step, roll_label=f"{len(alike)} rolls one by one")
    time, kept = ("; ".join(dict.fromkeys(each[column] for each, _ in alike)) for column in (0, 1))
    return (step_name(log, named), time, kept, *row[2:])


def _agitation(log: SessionLog, planned: PlannedStep) -> str:
    moved = planned.agitation
    if moved is None:
        return ""
    if moved.first_s >= LONGEST_S:
        return f"continuous, {log.plan.setup.agitated_by}"
    return f"{moved.first_s:g} s, then {moved.for_s:g} s every {moved.every_s:g} s, {log.plan.setup.agitated_by}"


def _names(log: SessionLog) -> dict[str, str]:
    return {step.id: step_name(log, step) for step in log.steps}


def _deviations(log: SessionLog) -> Section:
    names = _names(log)
    rows = tuple(
        (when(log, row.when), names.get(row.step, row.step), row.what, row.text, row.reason)
        for row in log.deviations
    )
    named = f"What differed ({log.deviation_count})"
    return Section(named, ("When", "Step", "What", "In words", "Reason"), rows or (("", "", "", "Nothing", ""),))


def _timed(log: SessionLog) -> Section:
    said = (
        "A bath ends here when pouring out begins: “out at” is when that was due, where draining counts as time in"
        " the bath. “stated” marks a moment that somebody told instead of the clock."
    )
    heads = ("Step", "Planned", "Actual", "Difference", "Started", "Ended", "Verdict")
    timed = (step for step in log.steps if step.planned_s is not None or step.first_marked is not None)
    return Section("Baths and other timed steps", heads, tuple(_timed_step(log, step) for step in timed), said)


def _timed_step(log: SessionLog, step: StepLog) -> Row:
    planned = duration(step.planned_s)
    if step.last_planned_s is not None and step.last_planned_s != step.planned_s:
        planned = f"{planned}, moved to {duration(step.last_planned_s)}"
    if step.due_s is not None and step.due_s != step.last_planned_s:
        planned = f"{planned}, out at {duration(step.due_s)}"
    started = when(log, step.started, step.started_sure)
    if step.corrections:
        started = f"{started}, first marked {when(log, step.first_marked)}"
    ended = when(log, step.ended, step.ended_sure)
    return step_name(log, step), planned, duration(step.actual_s), _difference(step), started, ended, step.verdict


def _readings(log: SessionLog) -> Iterable[Row]:
    names = _names(log)
    for each in log.readings:
        wanted = "" if each.wanted is None else temperatures(each.wanted)
        during = names.get(each.step, each.step)
        value, text = f"{each.value:.2f} {each.unit}", each.text if each.by == "person" else "by probe"
        yield when(log, each.when), during, each.title, text, value, wanted, each.verdict


def _interruptions(log: SessionLog) -> tuple[Row, ...]:
    found = [(jump.when, f"{jump.what} of {signed(jump.seconds)}") for jump in log.jumps]
    for resume in log.resumes:
        over = ", taken over from another terminal" if resume.took_over else ""
        known = f"{duration(resume.gap_s)} ({resume.how})"
        after = "an unknown time" if resume.how == "not known" else known
        found.append((resume.when, f"opened again after {after}{over}"))
    for hold in log.holds:
        until = when(log, hold.ended) if hold.ended is not None else "the end of the record"
        found.append((hold.began, f"guide on hold until {until}"))
    return tuple((when(log, at), words) for at, words in sorted(found, key=lambda row: row[0].at))


def _calls(log: SessionLog) -> tuple[Row, ...]:
    names = _names(log)
    missed = (cue for cue in log.cues if cue.missed is not None)
    return tuple(
        (when(log, cue.planned), names.get(cue.step, cue.step), cue.call, cue.why_missed) for cue in missed
    )


def _notes(log: SessionLog) -> Iterable[Row]:
    for note in log.notes:
        if not _of_a_roll(note):  # those are shown with their roll
            about = f"{note.about}, {note.roll_label}" if note.roll_label else note.about
            yield when(log, note.when), about, note.text


def _of_a_roll(note: NoteLog) -> bool:
    return note.about == LOOKS and note.roll is not None


def _ticks(log: SessionLog) -> tuple[Row, ...]:
    """Every step that was reached and every item confirmed for it, in the order they happened."""
    names = _names(log)
    found = [(step.opened, step.id, "reached") for step in log.steps if step.opened is not None]
    found += [(tick.when, tick.step, _tick(log, tick)) for tick in log.ticks]
    found.sort(key=lambda row: row[0].at)
    rows = [(when(log, at), names.get(step, step), words) for at, step, words in found]
    return (*rows, *(("", names[step.id], "not reached") for step in log.steps if step.opened is None))


def _tick(log: SessionLog, tick: TickLog) -> str:
    typed = f" (typed “{tick.typed}”)" if tick.typed else ""
    if tick.typed == BY_EYE:
        typed = ": no bell; the screen was watched instead"
    # a confirmation is "stated" by default, so only another sureness is shown
    sure = "" if tick.sure == "stated" else f" · {tick.sure}"
    back = f", taken back {when(log, tick.taken_back)}" if tick.taken_back is not None else ""
    return f"{tick.text}{typed}{sure}{back}"


def _sources(log: SessionLog) -> tuple[Row, ...]:
    """The sources of the figures of this session's baths and other timed steps."""
    timed = [step for step in log.plan.steps if step.planned_s is not None]
    used = {id_ for step in timed for id_ in (step.source, *step.sources)}
    return tuple(source[1:] for source in log.plan.sources if source[0] in used)
