"""A restart of the machine that no clock bridges: said on going on, and never called right afterwards."""

from __future__ import annotations

import pytest
from tests.session.guides import in_bath
from tests.session.walker import Guide, MemoryEventSink, guide_for
from tests.shipped import shipped_plan

from wetside.app.controller import SessionController
from wetside.app.session_start import resume_now
from wetside.domain.session import events as e
from wetside.domain.session.state import replay
from wetside.export.pages import export_markdown
from wetside.export.session_log import session_log
from wetside.present.clock_warnings import in_doubt
from wetside.storage.codec import encode, session_codec

decode = session_codec().decode

DAY_S = 86_400.0
RIGHT = "Elapsed times are right all the same."
UNKNOWN = "Nobody knows how long it was off"


def restarted(guide: Guide, put_back_s: float = 0.0) -> Guide:
    """The machine was off for three minutes, and its wall clock came back this much behind."""
    guide.clock.reboot(180.0)
    guide.clock.step_wall(-put_back_s)
    return gone_on_with(guide)


def gone_on_with(guide: Guide) -> Guide:
    state, event_sink = replay(guide.events), MemoryEventSink()
    event_sink.events, event_sink.written = list(guide.events), list(guide.event_sink.written)
    controller = SessionController(state, event_sink, guide.clock)
    assert controller.dispatch(resume_now(state, event_sink.written[-1], guide.clock, "pts/2"))
    controller.resumed()
    return Guide(controller, guide.clock, event_sink)


def resumed(guide: Guide) -> e.SessionResumed:
    return [event for event in guide.events if isinstance(event, e.SessionResumed)][-1]


def elapsed(guide: Guide) -> float:
    return guide.state.clocks["b1.dev"].elapsed(guide.now)


def test_unknown_gap_is_reported() -> None:
    later = restarted(in_bath(for_s=100.0), DAY_S)
    assert (resumed(later).how, resumed(later).gap_s) == ("not known", 0.0)
    assert later.message.startswith(f"{UNKNOWN}, so this clock is behind: read a second one, then key l")
    page = export_markdown(session_log(later.events))
    assert "opened again after an unknown time" in page
    assert decode(*encode(resumed(later))) == resumed(later)


def test_gap_known_by_the_wall_clock_is_not_reported_as_unknown() -> None:
    later = restarted(in_bath(for_s=100.0))
    assert resumed(later).how == "wall clock"
    assert later.message == ""
    assert "unknown time" not in export_markdown(session_log(later.events))


def test_later_wall_clock_correction_does_not_resolve_the_doubt() -> None:
    later = restarted(in_bath(for_s=100.0), DAY_S)
    before_s = elapsed(later)
    later.clock.step_wall(DAY_S)
    later.controller.poll()
    assert elapsed(later) == pytest.approx(before_s)
    assert f"The wall clock was moved forward by 1 day. {UNKNOWN}" in later.message
    assert RIGHT not in later.message


def test_a_wall_clock_changed_after_it_gave_the_gap_casts_doubt_on_it() -> None:
    later = restarted(in_bath(for_s=100.0), 100.0)
    assert resumed(later).how == "wall clock"
    later.clock.step_wall(100.0)
    later.controller.poll()
    assert "check this clock by a second one" in later.message
    assert RIGHT not in later.message
    later.clock.suspend(20.0)
    later.controller.poll()
    assert RIGHT in later.message


def test_doubt_survives_a_resume_and_ends_with_a_correction() -> None:
    later = gone_on_with(restarted(in_bath(for_s=100.0), DAY_S))
    assert resumed(later).how == "same boot"
    assert later.message.startswith(UNKNOWN)
    before_s = elapsed(later)
    # longer than its step was on the screen: asked once more, and "yes" is the second choice
    for key in ("l", "1", "8", "0", "enter", "space", "space", "enter"):
        later.wait(1.0)
        later.press(key)
    assert elapsed(later) == pytest.approx(before_s + 8.0 + 180.0)
    assert in_doubt(later.state) is None
    later.clock.step_wall(DAY_S)
    later.controller.poll()
    assert RIGHT in later.message


def test_unknown_gap_without_a_clock_asks_for_new_readings() -> None:
    guide = guide_for(shipped_plan("three-rolls"))
    guide.controller.poll()
    later = restarted(guide, DAY_S)
    assert later.message == f"{UNKNOWN}: read each temperature again."
    later.wait(5.0)
    assert gone_on_with(later).controller.key_state.message == ""


def test_clock_started_after_the_restart_is_not_in_doubt() -> None:
    later = restarted(guide_for(shipped_plan("three-rolls")), DAY_S).running("b1.developer")
    assert in_doubt(later.state) is None
    later.clock.step_wall(DAY_S)
    later.controller.poll()
    assert RIGHT in later.message
