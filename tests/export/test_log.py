"""The session log: it says what the events say, whatever machine it is made on."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from msgspec.structs import replace

from wetside.domain.planning.plan import Plan
from wetside.domain.session import events as e
from wetside.domain.session.outcome import Outcome
from wetside.domain.session.state import replay
from wetside.errors import JournalUnusable
from wetside.export.data_formats import export_csv, export_jsonl, export_toml
from wetside.export.page_rows import sections
from wetside.export.pages import escaped, export_markdown
from wetside.export.session_log import Debit, session_log
from wetside.export.wall_times import wall_time


def test_a_bath_is_logged_beside_its_plan(evening: tuple[e.Event, ...]) -> None:
    developer = session_log(evening).steps[1]
    # zero first marked at 40 s, corrected to 35 s; its end was moved to 200 s, and 10 s of that are for draining
    assert developer.first_marked is not None
    assert developer.first_marked.at == 40.0
    assert developer.started is not None
    assert developer.started.at == 35.0
    assert developer.started_sure == "stated"
    assert developer.planned_s == 195.0
    assert developer.last_planned_s == 200.0
    assert developer.planned_end is not None
    assert developer.planned_end.at == 225.0
    assert developer.ended is not None
    assert developer.ended.at == 227.0
    assert developer.left is not None
    assert developer.left.at == 236.0
    assert developer.difference_s == 2.0
    assert developer.due_s == 190.0
    assert developer.actual_s == 192.0
    assert developer.verdict == "on time"
    (correction,) = developer.corrections
    assert (correction.marked.at, correction.corrected.at, correction.by_s) == (40.0, 35.0, 5.0)
    assert developer.end_moves[0].why == "colder by 0.4 °C"


def test_a_step_has_a_planned_start_where_the_chart_has_one_bar_for_it(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening)
    planned = {row.id: row.planned_start and row.planned_start.at for row in log.steps}
    # two bars say "Developer" for one span, and two spans say "Wash" for one step
    assert planned == {"temper": None, "b1.developer": 60.0, "b1.fix": None, "b1.wash": None, "b1.r2.hang": None}


def test_a_minimum_time_is_judged_as_a_minimum(evening: tuple[e.Event, ...]) -> None:
    fix = session_log(evening).steps[2]
    # 250 + 390 = 640, poured out at 650, told afterwards
    assert fix.difference_s == 10.0
    assert fix.verdict == "long enough"
    assert fix.ended_sure == "stated"
    cut = tuple(replace(x, at=600.0) if isinstance(x, e.DrainBegan) and x.step == "b1.fix" else x for x in evening)
    assert session_log(cut).steps[2].verdict == "0:40 short of its minimum"


def test_a_minimum_missed_by_less_than_is_shown_is_kept(evening: tuple[e.Event, ...]) -> None:
    """390.4 s were due and 389.7 s it was in: both are shown as 6:30."""
    poured = next(n for n, x in enumerate(evening) if isinstance(x, e.ClockStarted) and x.step == "b1.fix")
    later = e.EndMoved(251.0, "b1.fix", 390.0, 390.4, 0.0)
    moved = tuple(
        replace(x, at=639.7) if isinstance(x, e.DrainBegan) and x.step == "b1.fix" else x
        for x in (*evening[: poured + 1], later, *evening[poured + 1 :])
    )
    fix = session_log(moved).steps[2]
    assert (fix.due_s, fix.actual_s) == (390.4, 389.7)
    assert fix.verdict == "long enough"


def test_a_pause_moves_the_planned_end(evening: tuple[e.Event, ...]) -> None:
    wash = session_log(evening).steps[3]
    assert wash.planned_end is not None
    assert wash.planned_end.at == 675.0 + 30.0 + 180.0
    assert wash.difference_s == 0.0
    assert wash.due_s == wash.actual_s == 180.0
    assert [(span.began.at, span.ended and span.ended.at) for span in wash.pauses] == [(700.0, 730.0)]


@pytest.mark.parametrize(
    ("drained", "verdict"),
    [
        (227.0, "on time"),
        (236.0, "0:11 too long"),
        (214.0, "0:11 too short"),
        (215.0, "on time"),
        (235.0, "on time"),
    ],
)
def test_an_on_time_bath_is_too_long_or_too_short_in_words(
    evening: tuple[e.Event, ...], drained: float, verdict: str
) -> None:
    moved = tuple(
        replace(x, at=drained) if isinstance(x, e.DrainBegan) and x.step == "b1.developer" else x for x in evening
    )
    assert session_log(moved).steps[1].verdict == verdict


def test_a_difference_is_that_of_the_times_beside_it(evening: tuple[e.Event, ...]) -> None:
    """190.4 s were due and 201.9 s it was in: that is 3:10 and 3:22 in whole seconds, and 0:12 apart."""
    for end_s, drained in ((200.4, 236.9), (199.6, 237.3), (200.6, 211.4), (199.4, 210.6), (200.5, 225.2)):
        moved = tuple(
            replace(x, new_s=end_s)
            if isinstance(x, e.EndMoved)
            else replace(x, at=drained)
            if isinstance(x, e.DrainBegan) and x.step == "b1.developer"
            else x
            for x in evening
        )
        log = session_log(moved)
        timed = next(each for each in sections(log) if each.title == "Baths and other timed steps")
        row = next(row for row in timed.rows if row[0] == "Developer")
        due, actual, difference = row[1].rsplit(" ", 1)[1], row[2], row[3]
        assert _seconds(actual) - _seconds(due) == _seconds(difference)
        verdict = log.steps[1].verdict
        assert verdict == "on time" or _seconds(verdict.split()[0]) == abs(_seconds(difference))


def _seconds(shown: str) -> int:
    minutes, seconds = shown.lstrip("+−").split(":")
    return (-1 if shown.startswith("−") else 1) * (int(minutes) * 60 + int(seconds))


def test_steps_that_were_not_reached_say_so(evening: tuple[e.Event, ...]) -> None:
    until = next(n for n, x in enumerate(evening) if isinstance(x, e.DrainBegan))
    log = session_log(evening[:until])
    assert [row.verdict for row in log.steps] == [
        "done",
        "not finished",
        "not reached",
        "not reached",
        "not reached",
    ]
    assert log.outcome == "unknown"
    assert log.closed is None


def test_times_of_day_follow_the_latest_reading_of_the_wall_clock(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening)
    cet = timezone(timedelta(hours=1))
    assert log.began.wall == datetime(2031, 3, 1, 19, 0, 0, 250_000, cet)
    assert log.began.wall.isoformat(timespec="seconds") == "2031-03-01T19:00:00+01:00"
    # the first anchor: 10 s after 19:00:00.250
    assert log.readings[0].when.wall == datetime(2031, 3, 1, 19, 0, 10, 250_000, cet)
    # opened again: the session's 400 s were 19:06:42.250 by the wall clock
    assert log.resumes[0].when.wall.isoformat(timespec="seconds") == "2031-03-01T19:06:42+01:00"
    assert log.jumps[0].when.wall.isoformat(timespec="seconds") == "2031-03-01T19:06:52+01:00"


def test_a_wall_clock_step_and_a_change_of_zone_count_from_their_moment_on(evening: tuple[e.Event, ...]) -> None:
    jumped = (
        *evening,
        e.ClockJumped(3000.0, "wall step", -3600.0),
        e.NoteAdded(3010.0, "an hour back"),
        e.ClockJumped(3020.0, "zone", 3600.0),
        e.NoteAdded(3030.0, "summer"),
    )
    log = session_log(jumped)
    before, stepped, zoned = log.notes[1:]
    assert before.when.wall.isoformat(timespec="seconds") == "2031-03-01T19:35:12+01:00"
    assert stepped.when.wall.isoformat(timespec="seconds") == "2031-03-01T18:50:12+01:00"
    assert zoned.when.wall.isoformat(timespec="seconds") == "2031-03-01T19:50:32+02:00"
    # the screen tells the same time
    state = replay(jumped)
    anchored = wall_time(state.wall, state.offset_s) + timedelta(seconds=state.at - state.anchor_at)
    assert anchored == zoned.when.wall


def test_the_log_has_all_readings_ticks_calls_and_notes(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening)
    (reading,) = log.readings
    assert (reading.text, reading.value, reading.unit, reading.verdict) == ("97.7 °F", 36.5, "°C", "too cold")
    assert reading.wanted == (37.8, 38.2)
    first, second, capped = log.ticks
    assert first.taken_back is not None
    assert first.taken_back.at == 32.0
    assert second.taken_back is None
    assert (capped.sure, capped.during, capped.text) == (
        "inferred",
        "b1.fix",
        "Developer bottle squeezed and capped",
    )
    given, missed = log.cues
    assert given.given is not None
    assert (given.planned.at, given.given.at) == (205.0, 205.1)
    assert given.answered is not None
    assert missed.given is None
    assert missed.why_missed == "the guide was closed"
    assert [(n.about, n.roll_label) for n in log.notes] == [("look", "second"), ("note", "")]
    assert [(h.began.at, h.ended and h.ended.at) for h in log.holds] == [(260.0, 300.0)]


def test_a_reading_in_a_bath_is_compared_with_the_range_of_the_bath(evening: tuple[e.Event, ...]) -> None:
    bath = (*evening[:10], e.ReadingTaken(50.0, "b1.developer", "developer", 38.4, "38.4"))
    other = (*bath, e.ReadingTaken(51.0, "b1.developer", "bath", 38.4, "38.4"))
    *_, developer, basin = session_log(other).readings
    assert (developer.wanted, developer.verdict) == ((37.8, 38.2), "too hot")
    assert (basin.wanted, basin.verdict) == (None, "no range given")


def test_the_log_lists_the_deviations_that_the_state_counts(evening: tuple[e.Event, ...]) -> None:
    for until in range(1, len(evening) + 1):
        log = session_log(evening[:until])
        assert log.deviation_count == replay(evening[:until]).deviations == len(log.deviations)
    early = (*evening[:-3], e.StepEnded(1990.0, "b1.r2.hang", early_s=12.0), *evening[-3:])
    log = session_log(early)
    assert log.deviation_count == 3 == len(log.deviations)
    assert [row.what for row in log.deviations] == ["override", "correction", "early or late"]
    assert log.deviations[2].text == "ended 0:12 early"
    assert log.outcome == "complete with deviations (3)"


@pytest.mark.parametrize(
    ("closed", "words"),
    [
        ("complete", "complete with deviations (2)"),
        ("abandoned", "abandoned"),
        ("unknown", "unknown"),
    ],
)
def test_the_outcome_is_one_of_four(evening: tuple[e.Event, ...], closed: Outcome, words: str) -> None:
    changed = tuple(replace(x, outcome=closed) if isinstance(x, e.SessionClosed) else x for x in evening)
    assert session_log(changed).outcome == words


def test_a_session_as_planned_is_complete(evening: tuple[e.Event, ...]) -> None:
    plain = tuple(x for x in evening if not isinstance(x, e.GateOverridden | e.ClockCorrected))
    assert session_log(plain).outcome == "complete"


def test_each_export_marks_practice(practice: tuple[e.Event, ...], evening: tuple[e.Event, ...]) -> None:
    log = session_log(practice)
    assert "PRACTICE" in export_toml(log)
    assert export_csv(log).count("PRACTICE") == len(log.steps)
    assert "# PRACTICE" in export_markdown(log)
    assert all(json.loads(line)["practice"] is True for line in export_jsonl(practice).splitlines())
    plain = session_log(evening)
    for text in (export_toml(plain), export_csv(plain), export_markdown(plain)):
        assert "PRACTICE" not in text


def test_on_a_narrow_screen_each_row_of_the_page_is_a_line_of_words(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening)
    page = export_markdown(log, listed=True)
    assert "|" not in page
    for section in sections(log):
        for first, *others in section.rows:
            lines = [line for line in page.splitlines() if line.startswith(f"\\- **{escaped(first)}**")]
            assert any(all(escaped(cell) in line for cell in others) for line in lines), (first, others)
    differed = next(line for line in page.splitlines() if "ended" in line and "Developer" in line)
    assert not re.search(r"\b(what|in words|verdict) ", differed)


def test_no_export_claims_success(evening: tuple[e.Event, ...]) -> None:
    log = session_log(evening)
    for text in (export_toml(log), export_csv(log), export_markdown(log), export_jsonl(evening)):
        assert "success" not in text.lower()


@pytest.mark.parametrize("wall", ["", "yesterday", "2031-13-01T00:00:00Z"])
def test_a_wall_time_that_is_none_is_refused(plan: Plan, evening: tuple[e.Event, ...], wall: str) -> None:
    first = evening[0]
    assert isinstance(first, e.SessionBegan)
    with pytest.raises(JournalUnusable, match="no time of day"):
        session_log((replace(first, wall=wall), *evening[1:]))


def test_impossible_numbers_in_a_record_are_refused_in_a_sentence(evening: tuple[e.Event, ...]) -> None:
    with pytest.raises(JournalUnusable, match="off the calendar"):
        session_log((*evening, e.NoteAdded(1e300, "late")))
    first = evening[0]
    assert isinstance(first, e.SessionBegan)
    with pytest.raises(JournalUnusable, match="no time of day"):
        session_log((replace(first, offset_s=10**9),))


@pytest.mark.parametrize("events", [(), (e.HoldBegan(1.0),)])
def test_a_record_without_its_beginning_is_refused(events: tuple[e.Event, ...]) -> None:
    with pytest.raises(JournalUnusable, match="beginning"):
        session_log(events)
    with pytest.raises(JournalUnusable, match="beginning"):
        export_jsonl(events)


def test_offsets_are_whole_minutes() -> None:
    assert wall_time("2031-03-01T18:00:00Z", 3599).isoformat() == "2031-03-01T18:59:00+00:59"
    assert wall_time("2031-03-01T18:00:00Z", -12600).isoformat() == "2031-03-01T14:30:00-03:30"


def exports(events: tuple[e.Event, ...]) -> str:
    """All four exports after each other."""
    log = session_log(events, (Debit("bottle", "developer", 2.0),))
    return "\0".join((export_toml(log), export_csv(log), export_markdown(log), export_jsonl(events)))


REBUILD = """
import json, sys
from wetside.storage.codec import session_codec
from wetside.export.data_formats import export_csv
from wetside.export.session_log import Debit
from wetside.export.data_formats import export_jsonl
from wetside.export.session_log import session_log
from wetside.export.page_rows import sections
from wetside.export.pages import escaped, export_markdown
from wetside.export.data_formats import export_toml
rows = [json.loads(line) for line in sys.stdin.read().splitlines()]
events = tuple(session_codec().decode(row["kind"], row["version"], json.dumps(row["data"])) for row in rows)
log = session_log(events, (Debit("bottle", "developer", 2.0),))
text = "\\0".join((export_toml(log), export_csv(log), export_markdown(log), export_jsonl(events)))
sys.stdout.buffer.write(text.encode())
"""


@pytest.mark.parametrize(("seed", "zone"), [("1", "UTC"), ("77", "Pacific/Auckland")])
def test_exports_are_identical_in_another_process_zone_and_hash_seed(
    evening: tuple[e.Event, ...], seed: str, zone: str, tmp_path: Path
) -> None:
    here = exports(evening)
    assert exports(evening) == here
    there = subprocess.run(
        [sys.executable, "-c", REBUILD],
        input=export_jsonl(evening).encode(),
        capture_output=True,
        check=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C"},
    )
    assert there.stdout == here.encode()
