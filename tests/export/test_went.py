"""How a session went: plan against actual, what was seen, and trends that only measured sessions make."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from wetside.domain.session import events as e
from wetside.export.past_sessions import (
    PastBath,
    Trends,
    past_evening,
    past_evenings,
    trends,
    trends_in_words,
    went_in_words,
)
from wetside.export.session_log import session_log
from wetside.present.wording import ASCII_SIGNS, SIGNS
from wetside.storage.sessions import append_events, summaries
from wetside.storage.store import Store


def drained_later(events: tuple[e.Event, ...], by_s: float, off_c: float) -> tuple[e.Event, ...]:
    """The same evening, its developer read `off_c` off its target and poured out for `by_s` longer."""
    return tuple(
        replace(x, at=227.0 - by_s)
        if isinstance(x, e.DrainBegan) and x.at == 227.0
        else replace(x, temperature_c=38.0 + off_c)
        if isinstance(x, e.ReadingTaken)
        else x
        for x in events
    )


def test_a_past_evening_is_summarised_beside_its_plan(evening: tuple[e.Event, ...]) -> None:
    # developer: zero at 35 s as corrected, 200 s after a reading, 10 s of them for draining; out at 227 s
    found = past_evening(evening)
    assert (found.planned_s, found.actual_s) == (900.0, 2000.0)
    assert found.baths == (PastBath("Developer", 1, 200.0, 192.0, "on time"),)
    assert found.looks == (("second", "a little thin"),)
    assert found.developer_off_c == -1.5
    assert found.drain_s == 9.0
    assert went_in_words(found) == (
        "Planned 15 min to dry film, took 33 min; Developer 3:20: on time.",
        "second: a little thin.",
    )


def test_the_verdict_of_the_summary_is_that_of_the_whole_record(evening: tuple[e.Event, ...]) -> None:
    by_id = {step.title: step for step in session_log(evening).steps if step.ends == "on time"}
    (bath,) = past_evening(evening).baths
    step = by_id[bath.title]
    assert (bath.planned_s, bath.actual_s, bath.verdict) == (step.last_planned_s, step.actual_s, step.verdict)


def test_an_open_evening_has_no_duration_yet(evening: tuple[e.Event, ...]) -> None:
    found = past_evening(evening[:11])
    assert found.actual_s is None
    assert went_in_words(found) == ("Planned 15 min to dry film; Developer 3:15: not finished.",)
    assert trends((found,)) == Trends()


@pytest.mark.parametrize(("read_at", "counts"), [(35.0, False), (34.0, True), (-1164.0, True), (-1166.0, False)])
def test_only_a_reading_within_twenty_minutes_before_a_bath_counts_for_its_start(
    evening: tuple[e.Event, ...], read_at: float, counts: bool
) -> None:
    moved = tuple(replace(x, at=read_at) if isinstance(x, e.ReadingTaken) else x for x in evening)
    assert (past_evening(moved).developer_off_c is not None) == counts


def test_trends_are_of_the_latest_ten_closed_sessions_the_oldest_first(
    evening: tuple[e.Event, ...], practice: tuple[e.Event, ...], tmp_path: Path
) -> None:
    with Store.open(tmp_path / "journal.sqlite") as store:
        for day in range(1, 13):
            events = drained_later(evening, by_s=day, off_c=day / 10)
            append_events(store, f"session/s{day}", 0, events, f"2031-03-{day:02d}T18:00:00Z")
        append_events(store, "practice/p", 0, practice, "2031-03-21T18:00:00Z")
        rows = summaries(store)
        told, _ = past_evenings(store, rows)
        assert len(told) == 10
        every, _ = past_evenings(store, rows, len(rows))
        assert len(every) == 12
        found = trends(every)
    assert found == trends(told)
    assert found.drain_s == tuple(9.0 + day for day in range(3, 13))
    assert found.developer_off_c == pytest.approx([day / 10 for day in range(3, 13)])


def test_a_session_damaged_since_is_named_with_its_trouble(evening: tuple[e.Event, ...], tmp_path: Path) -> None:
    with Store.open(tmp_path / "journal.sqlite") as store:
        append_events(store, "session/sound", 0, evening, "2031-03-02T18:00:00Z")
        append_events(store, "session/torn", 0, evening, "2031-03-01T18:00:00Z")
        rows = summaries(store)
        torn = tuple(replace(row, stream="session/gone") if row.session == "torn" else row for row in rows)
        told, listed = past_evenings(store, torn)
        assert len(told) == 1
        assert [(row.session, bool(row.trouble)) for row in listed] == [("sound", False), ("torn", True)]


def test_trends_are_drawn_in_unicode_and_ascii() -> None:
    found = Trends((-0.3, 0.0, 0.2), (9.0, 12.0))
    utf8 = trends_in_words(found, "°C", ascii_only=False)
    assert [line.split("  ")[0] for line in utf8] == ["Developer at its start", "Pouring out"]
    assert utf8[0].endswith("last +0.2 °C off, usually 0.0 °C off")
    assert utf8[1].endswith("last 12 s"), "two evenings make no habit"
    assert SIGNS[0] in utf8[0]
    assert SIGNS[-1] in utf8[0]
    plain = trends_in_words(found, "°C", ascii_only=True)
    assert all(sign not in line for line in plain for sign in SIGNS)
    assert ASCII_SIGNS[0] in plain[1]
    american = trends_in_words(Trends((-0.3,)), "°F", ascii_only=True)
    assert american[0].endswith("last −0.5 °F off")
    assert trends_in_words(Trends(), "°C", ascii_only=True) == ()


def test_hostile_words_stay_in_their_line(hostile_evening: tuple[e.Event, ...]) -> None:
    found = past_evening(hostile_evening)
    assert len(went_in_words(found)) == 1 + len(found.looks)
