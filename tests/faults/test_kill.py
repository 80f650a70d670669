"""`kill -9` at any moment: nothing accepted is lost, elapsed is right, nothing starts by itself."""

from __future__ import annotations

import random
import signal
from pathlib import Path

import pytest
from tests.faults.evening import clock_error_s, evening, keep, places, running
from tests.manual_clock import ManualClock
from tests.robot.program import Row, fields, journal, kinds, run, started
from tests.robot.robot import Robot, done_lines, one_press

from wetside.app.session_factory import resume_session
from wetside.domain.session.events import ClockStarted, DrainBegan
from wetside.domain.session.state import replay
from wetside.files.settings import Settings
from wetside.present.prompts import Choice
from wetside.storage.sessions import load_state
from wetside.storage.store import open_store

SPEED = "100"
DARK = "This session is in its dark step."
BY_ITSELF = {"session_resumed", "cue_given", "cue_missed", "clock_jumped"}
"""What the guide may write down with no key pressed."""


@pytest.mark.timeout(7200)
@pytest.mark.parametrize(
    "kills", [pytest.param(10, id="10 kills"), pytest.param(500, id="500 kills", marks=pytest.mark.long)]
)
def test_kills_at_random_moments_lose_no_accepted_event(tmp_path: Path, kills: int) -> None:
    """One evening led on and on through its kills; after the last event of all it begins anew."""
    choose = random.Random(20240301)
    data, robot = tmp_path / "data", None
    try:
        for number in range(kills):
            if robot is None:
                data = tmp_path / f"data-{number}"
                robot = _begun(data)
            for _ in range(choose.randrange(1, 30)):
                one_press(robot)
                if robot.offers().get("ENTER") == "leaves":
                    break
            robot = _killed_and_resumed(robot, data, choose)
    finally:
        if robot is not None:
            robot.close()


def _begun(data: Path) -> Robot:
    robot = started(data, "practise", "three-rolls", "--speed", SPEED)
    robot.until_lit()
    return robot


def _killed_and_resumed(robot: Robot, data: Path, choose: random.Random) -> Robot | None:
    """Kill it in the middle of a key or of nothing at all; what was on disk and on screen must be there after.

    None when the evening was closed before the kill: then there is nothing to go on with.
    """
    robot.read(0.05)
    robot.press(*choose.choice([(), (), ("SPACE",), ("ENTER",), ("SPACE", "ENTER"), ("BACKSPACE",)]))
    robot.read(choose.choice([0.0, 0.0, 0.002, 0.01, 0.05]))
    done, before = done_lines(robot), journal(data)
    robot.signal(signal.SIGKILL)
    code = robot.exit_code()
    done |= done_lines(robot)
    kept = journal(data)
    # the last ENTER of a closed evening leaves, now and then before the kill
    assert code == -signal.SIGKILL or (code == 0 and kinds(kept)[-1] == "session_closed")
    assert kept[: len(before)] == before
    _shown_done_is_kept(done, kept)
    if kinds(kept)[-1] == "session_closed":
        assert "No session is unfinished" in run(data, "resume", "--plain").stderr
        return None

    again = started(data, "resume")
    try:
        again.until(lambda r: bool(r.offers()) or DARK in r.words)
        after = journal(data)
        assert after[: len(kept)] == kept
        added = kinds(after[len(kept) :])
        assert added.count("session_resumed") == 1
        assert set(added) <= BY_ITSELF
        _questions_at_most_one(again)
    except BaseException:
        again.close()
        raise
    return again


def _shown_done_is_kept(done: frozenset[str], rows: tuple[Row, ...]) -> None:
    ticks = {fields(row)["tick"] for row in rows if row[2] == "tick_made"}
    plan = fields(next(row for row in rows if row[2] == "session_began"))["plan"]
    texts = [tick["text"] for step in plan["steps"] for tick in step["ticks"] if tick["id"] in ticks]
    for words in done:
        assert any(text.startswith(words) for text in texts), f"{words!r} was shown as done and is not kept"


def _questions_at_most_one(robot: Robot) -> None:
    """A question that stands open is answered; then none does."""
    if robot.offers().get("SPACE") != "marks the next":
        return
    robot.press("SPACE")
    robot.until(lambda r: "still in the tank" in r.offers().get("ENTER", ""))
    robot.press("ENTER")
    robot.until(lambda r: r.offers().get("SPACE") != "marks the next" and bool(r.offers()))
    for _ in range(5):  # a second question would come with the next pictures
        robot.read(0.1)
    assert robot.offers().get("SPACE") != "marks the next", robot.text


@pytest.mark.timeout(1800)
@pytest.mark.parametrize(
    "kills", [pytest.param(3, id="3 kills"), pytest.param(30, id="30 kills", marks=pytest.mark.long)]
)
def test_elapsed_is_right_within_a_second_after_a_kill(tmp_path: Path, kills: int) -> None:
    """In the developer of a real evening, on the real clock: the large digits against the kernel's own."""
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=12.0)
    choose = random.Random(4)
    clocks_before = kinds(journal(data)).count("clock_started")

    off_s = clock_error_s(data, "b1.developer")
    for _ in range(kills):
        with started(data, "resume") as robot:
            robot.until(lambda r: off_s(r) <= 1.0)  # a picture that came late is drawn anew a second later
            robot.read(choose.random())
            robot.signal(signal.SIGKILL)
            robot.exit_code()
    assert kinds(journal(data)).count("clock_started") == clocks_before
    assert kinds(journal(data)).count("session_resumed") == kills


@pytest.mark.parametrize(
    "every", [pytest.param(9, id="every ninth"), pytest.param(1, id="all", marks=pytest.mark.long)]
)
def test_resume_after_any_event_keeps_state_and_clocks(tmp_path: Path, every: int) -> None:
    """At every boundary between two events: the state is the same, the clocks have run on, nothing has begun."""
    events = evening()
    choose = random.Random(every)
    for cut in range(1, len(events), every):
        away_s = choose.choice([0.0, 0.4, 3.0, 40.0, 700.0])
        clock = ManualClock()
        data = tmp_path / str(cut)
        stream = keep(data, events[:cut], clock=clock)
        before = replay(events[:cut])
        clock.advance(away_s)
        with open_store(places(data)) as store:
            controller = resume_session(store, places(data), stream, Settings(), terminal="t", clock=clock)
            assert controller.now() == pytest.approx(events[cut - 1].at + away_s, abs=0.01)
            assert (
                controller.state.current,
                controller.state.ticks,
                controller.state.clocks,
                controller.state.ended,
            ) == (
                before.current,
                before.ticks,
                before.clocks,
                before.ended,
            )
            controller.poll()
            clock.advance(1.0)
            controller.poll()
            added = kinds(journal(data)[cut:])
            assert set(added) <= BY_ITSELF
            assert added.count("session_resumed") == 1
            assert controller.state == load_state(store, stream)
            for event in events[:cut]:
                if isinstance(event, ClockStarted) and event.step not in controller.state.ended:
                    running_clock = controller.state.clocks[event.step]
                    assert running_clock.elapsed(controller.now()) == pytest.approx(
                        controller.now() - event.t0, abs=0.01
                    )
            _asks_once(controller.key_state.panel, events[:cut])
            controller.release()


def _asks_once(panel: object, events: tuple[object, ...]) -> None:
    """The one question is about a bath that runs, and is asked only when none of it has been poured out."""
    if panel is not None:
        assert isinstance(panel, Choice)
        assert panel.what == "poured out"
        assert panel.index == -1
        assert not any(isinstance(event, DrainBegan) and event.step == panel.about for event in events)
