"""Learned drain leads: one figure a session, and only from what was measured."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from wetside.domain.messages import as_written
from wetside.domain.session import events as e
from wetside.export.past_sessions import drain_s, past_drains_s
from wetside.storage.sessions import append_events
from wetside.storage.store import Store


def test_a_session_gives_its_median_drain_and_practice_none(
    evening: tuple[e.Event, ...], practice: tuple[e.Event, ...]
) -> None:
    # developer: poured out at 227, over at 236. The bleach-fix was told afterwards.
    assert drain_s(evening) == 9.0
    assert drain_s(practice) is None
    measured = tuple(replace(x, sure="measured") if isinstance(x, e.DrainBegan) else x for x in evening)
    assert drain_s(measured) == 14.5, "9 s and 20 s"


def test_interrupted_draining_is_not_learned_from(evening: tuple[e.Event, ...]) -> None:
    drain = next(n for n, x in enumerate(evening) if isinstance(x, e.DrainBegan))
    jumped = (*evening[: drain + 1], e.ClockJumped(230.0, "suspend", 40.0), *evening[drain + 1 :])
    assert drain_s(jumped) is None


@pytest.mark.parametrize(
    "act",
    [
        e.TickMade(230.0, "b1.developer/capped"),
        e.TickUndone(230.0, "b1.developer/gloves"),
        e.ReadingTaken(230.0, "b1.developer", "developer", 37.9, "37.9"),
        e.NoteAdded(230.0, "a little spilt"),
        e.GateOverridden(230.0, "b1.developer", "tick:b1.developer/capped", as_written("capped"), "no cap"),
    ],
    ids=lambda act: act.kind,
)
def test_a_draining_interrupted_by_another_act_is_not_learned_from(
    evening: tuple[e.Event, ...], act: e.Event
) -> None:
    drain = next(n for n, x in enumerate(evening) if isinstance(x, e.DrainBegan))
    between = (*evening[: drain + 1], act, *evening[drain + 1 :])
    assert drain_s(between) is None


def test_another_step_ending_meanwhile_does_not_end_the_draining(evening: tuple[e.Event, ...]) -> None:
    drain = next(n for n, x in enumerate(evening) if isinstance(x, e.DrainBegan))
    other = (*evening[: drain + 1], e.StepEnded(228.0, "b0.r1.hang"), *evening[drain + 1 :])
    assert drain_s(other) == drain_s(evening)


def test_past_drains_come_from_the_latest_ten_real_sessions(evening: tuple[e.Event, ...], tmp_path: Path) -> None:
    with Store.open(tmp_path / "journal.sqlite") as store:
        for day in range(1, 13):
            events = tuple(
                replace(x, at=227.0 - day) if isinstance(x, e.DrainBegan) and x.at == 227.0 else x for x in evening
            )
            append_events(store, f"session/s{day}", 0, events, f"2031-03-{day:02d}T18:00:00Z")
        append_events(store, "session/open", 0, evening[:16], "2031-03-20T18:00:00Z")
        append_events(store, "practice/p", 0, evening, "2031-03-21T18:00:00Z")
        assert past_drains_s(store) == tuple(9.0 + day for day in range(3, 13))


def test_draining_at_the_wrong_time_is_not_learned_from(evening: tuple[e.Event, ...]) -> None:
    assert drain_s(evening) == 9.0
    ended = next(n for n, x in enumerate(evening) if isinstance(x, e.StepEnded) and x.step == "b1.developer")
    hurried = (*evening[:ended], e.StepEnded(evening[ended].at, "b1.developer", 110.0), *evening[ended + 1 :])
    assert drain_s(hurried) is None
