"""Two terminals on one session: one controls it, the other follows; control can be taken over on request."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.faults.evening import keep, opened, places, running
from tests.manual_clock import ManualClock
from tests.robot.program import fields, journal, kinds, run, started
from tests.robot.robot import Robot, done_lines, large_digits, pressed_until

from wetside.app.session_factory import resume_session
from wetside.app.session_start import rfc3339
from wetside.domain.session.events import NoteAdded, SessionResumed
from wetside.files.settings import Settings
from wetside.storage.sessions import append_events, load
from wetside.storage.store import Envelope, open_store

ONLY_FOLLOWS = "this terminal only follows"


def follows(robot: Robot) -> bool:
    """Whether this terminal says that it only follows."""
    return ONLY_FOLLOWS in robot.words


def press_what_there_is(robot: Robot) -> None:
    """Every kind of key but those by which a follower leaves."""
    for key in ("SPACE", "ENTER", "t", "9", "n", "u", "SPACE", "ENTER", "\x1b[A", "\t"):
        robot.press(key)
        robot.read(0.05)


def led_on(robot: Robot, data: Path) -> None:
    """Confirm the marked line until the journal has an event more."""
    before = len(journal(data))
    pressed_until(robot, "SPACE", lambda _: len(journal(data)) > before)


def test_a_follower_sees_each_change_and_makes_none(
    tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    data = tmp_path / "data"
    keep(data, opened("gear-measure"))
    with started(data, "resume") as driver, started(data, "follow") as follower:
        driver.until_lit()
        follower.until(follows)
        for number in range(1, 4):
            led_on(driver, data)
            kept_at = time.monotonic()
            driver.until(lambda r, number=number: len(done_lines(r)) == number)  # type: ignore[misc]
            follower.until(lambda r: done_lines(r) == done_lines(driver))
            record_property(f"seconds_to_follow_{number}", round(time.monotonic() - kept_at, 3))
            before = journal(data)
            press_what_there_is(follower)
            assert journal(data) == before
            assert follows(follower)
        follower.press("BACKSPACE")
        assert follower.exit_code() == 0
        led_on(driver, data)  # the driver has not noticed


def test_a_follower_shows_the_bath_as_it_runs(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"), passed_s=20.0)
    with started(data, "resume") as driver, started(data, "follow") as follower:
        follower.until(follows)
        driver.until(lambda r: large_digits(r) is not None)

        def together(robot: Robot) -> bool:
            driver.read(0.01)
            shown, seen = large_digits(driver), large_digits(robot)
            return shown is not None and seen is not None and abs(shown - seen) <= 1

        follower.until(together)
        pressed_until(driver, "t", lambda r: "begins at" in r.offers().get("SPACE", ""))
        driver.press("38.0")
        driver.until(lambda r: "keeps" in r.offers().get("ENTER", ""))
        driver.press("ENTER")
        follower.until_shown("38.0 °C")


def test_a_second_terminal_cannot_control_a_session(tmp_path: Path) -> None:
    data = tmp_path / "data"
    keep(data, opened("gear-measure"))
    with started(data, "resume") as driver:
        driver.until_lit()
        before = journal(data)
        refused = run(data, "resume", "--plain")
        assert refused.returncode == 1
        assert "This session is open for writing in process" in refused.stderr
        assert "--take-over" in refused.stderr
        with started(data, "resume") as second:
            second.until_shown("(yes/no)")
            second.press("no", "ENTER")
            assert second.exit_code() == 1
            assert "Not taken over" in second.words
        assert journal(data) == before
        led_on(driver, data)


def taken_over_by_asking(data: Path) -> Robot:
    """A second terminal that has confirmed the question and taken over."""
    second = started(data, "resume")
    second.until_shown("(yes/no)")
    second.press("yes", "ENTER")
    return second


def taken_over_from_home(data: Path) -> Robot:
    """A second terminal that has resumed the session from home."""
    second = started(data)
    second.until(lambda r: r.offers().get("ENTER") == "goes on with it")
    second.press("ENTER")
    second.until(lambda r: r.offers().get("SPACE") == "I have read it")
    second.press("ENTER")
    second.until_shown("First SPACE, then ENTER")
    second.press("SPACE")
    second.until(lambda r: r.offers().get("ENTER") == "takes it over")
    second.press("ENTER")
    return second


@pytest.mark.parametrize("take", [taken_over_by_asking, taken_over_from_home], ids=["asked", "from home"])
def test_a_takeover_is_recorded_and_makes_the_first_terminal_a_follower(
    tmp_path: Path, take: Callable[[Path], Robot]
) -> None:
    data = tmp_path / "data"
    keep(data, opened("gear-measure"))
    with started(data, "resume") as first:
        first.until_lit()
        led_on(first, data)
        with take(data) as second:
            second.until(lambda r: "confirms" in r.offers().get("SPACE", ""))
            resumed = [row for row in journal(data) if row[2] == "session_resumed"]
            assert [fields(row)["took_over"] for row in resumed] == [False, True]
            first.until_shown("Another terminal has taken this session over.")
            first.until(follows)
            before = journal(data)
            press_what_there_is(first)
            assert journal(data) == before
            led_on(second, data)
            second.until(lambda r: len(done_lines(r)) == 2)
            first.until(lambda r: done_lines(r) == done_lines(second))
        assert kinds(journal(data)).count("session_closed") == 0


def test_an_event_the_first_terminal_stores_as_it_loses_the_lock_comes_before_the_takeover(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data, clock = tmp_path / "data", ManualClock()
    stream = keep(data, running("b1.developer"), passed_s=20.0, clock=clock)
    note = NoteAdded(0.0, "the last of the first terminal")
    with open_store(places(data)) as first, open_store(places(data)) as second:
        read = second.read

        def overtaken(name: str) -> tuple[Envelope, ...]:
            seen = tuple(read(name))
            if len(load(first, stream)) == before:
                at = rfc3339(clock.now().wall)
                append_events(first, stream, before, (replace(note, at=load(first, stream)[-1].at),), at)
            return seen

        before = len(load(first, stream))
        monkeypatch.setattr(second, "read", overtaken)
        controller = resume_session(second, places(data), stream, Settings(), terminal="second", clock=clock)
        controller.release()
        kept = load(first, stream)
    assert isinstance(kept[before], NoteAdded)
    assert isinstance(kept[before + 1], SessionResumed)
