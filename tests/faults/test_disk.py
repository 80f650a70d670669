"""No room to keep anything, or no journal left: the bath's clock goes on, and the screen says what is not kept."""

from __future__ import annotations

from pathlib import Path

from tests.faults.evening import SESSION, keep, running
from tests.faults.journals import fill_up
from tests.robot.program import JOURNAL, fields, journal, kinds, run, started
from tests.robot.robot import Robot, large_digits, pressed_until

BATH = "b1.bleach-fix"
DARK = "b1.load-room"


def goes_on(robot: Robot) -> None:
    """The large digits go on counting down."""
    robot.until(lambda r: large_digits(r) is not None)
    first = large_digits(robot)
    assert first is not None
    robot.until(lambda r: (large_digits(r) or first) <= first - 1)


def read_temperature(robot: Robot, text: str) -> None:
    """Type a temperature and enter it; a call made over the field takes ENTER until another key is pressed."""
    pressed_until(robot, "t", lambda r: "begins at" in r.offers().get("SPACE", ""))
    robot.press(text)

    def keeps(r: Robot) -> bool:
        return f"keeps {text}" in r.offers().get("ENTER", "")

    def called(r: Robot) -> bool:
        return "answers the call" in r.offers().get("SPACE", "")

    def closed(r: Robot) -> bool:
        return r.offers().get("BACKSPACE") == "menu"

    robot.until(lambda r: keeps(r) or called(r))
    while not closed(robot):
        if keeps(robot):
            robot.press("ENTER")
            robot.until(lambda r: closed(r) or called(r))
        else:
            robot.press("BACKSPACE", text[-1])
            robot.until(lambda r: keeps(r) or closed(r))


def temperatures(data: Path) -> list[float]:
    """What was read in the bath, as kept."""
    return [fields(row)["temperature_c"] for row in journal(data) if row[2] == "reading_taken"][-2:]


def test_on_a_full_disk_the_clock_goes_on_and_acts_are_kept_when_there_is_room_again(small_disk: Path) -> None:
    data, filler = small_disk / "data", small_disk / "filler"
    keep(data, running(BATH), passed_s=20.0)
    with started(data, "resume") as robot:
        robot.until_lit()
        read_temperature(robot, "38.1")
        robot.until(lambda r: temperatures(data)[-1] == 38.1)
        for wanted in ("38.2", "38.3"):
            fill_up(filler)
            before = journal(data)
            read_temperature(robot, "37.0")
            robot.until_shown("NOT KEPT")
            assert "the disk is full" in robot.words
            assert "make room" in robot.words
            goes_on(robot)
            assert "NOT KEPT" in robot.words
            assert journal(data) == before
            filler.unlink()
            read_temperature(robot, wanted)
            robot.until(lambda r, wanted=wanted: temperatures(data)[-1] == float(wanted))  # type: ignore[misc]
            robot.until(lambda r: "NOT KEPT" not in r.words)
            goes_on(robot)
    assert temperatures(data) == [38.2, 38.3]
    assert kinds(journal(data)).count("session_resumed") == 1
    with started(data, "resume") as robot:
        robot.until_shown("38.3 °C")


def test_an_evening_that_was_left_shows_its_clock_on_a_full_disk(small_disk: Path) -> None:
    data = small_disk / "data"
    keep(data, running(BATH), passed_s=20.0)
    fill_up(small_disk / "filler")
    assert not (data / f"{JOURNAL}-shm").exists()  # closed in order: SQLite has to make its files anew
    with started(data) as robot:
        robot.until_shown("Nothing can be kept in the journal: the disk is full")
        robot.press("ENTER")
        robot.until_shown("ONLY SHOWN, AND NOTHING KEPT: the disk is full")
        goes_on(robot)
    done = run(data, "sessions")
    assert SESSION in done.stdout, done.stderr


def test_an_evening_that_was_killed_shows_its_clock_on_a_full_disk(small_disk: Path) -> None:
    data = small_disk / "data"
    keep(data, running(BATH), passed_s=20.0)
    with started(data, "resume") as robot:
        robot.until(lambda r: large_digits(r) is not None)
    assert (data / f"{JOURNAL}-shm").exists()  # the robot kills it
    fill_up(small_disk / "filler")
    with started(data, "resume") as robot:
        robot.until_shown("ONLY SHOWN, AND NOTHING KEPT: the disk is full")
        goes_on(robot)
    with started(data) as robot:
        robot.until_shown("Bleach-fix")
        robot.press("ENTER")
        robot.until_shown("ONLY SHOWN, AND NOTHING KEPT: the disk is full")
        goes_on(robot)
    (small_disk / "filler").unlink()
    with started(data, "resume") as robot:
        robot.until(lambda r: r.offers().get("BACKSPACE") == "menu")
        assert "ONLY SHOWN" not in robot.words


def test_a_dark_step_shown_on_a_full_disk_goes_dark_at_the_first_key(small_disk: Path) -> None:
    data = small_disk / "data"
    keep(data, running(DARK), passed_s=20.0)
    fill_up(small_disk / "filler")
    with started(data, "resume") as robot:
        robot.until_shown("cover it now")
        robot.press("SPACE")
        robot.until(lambda r: not r.words)


def test_after_the_journal_is_deleted_the_session_goes_on_in_a_fresh_one_and_the_screen_says_so(
    tmp_path: Path,
) -> None:
    data = tmp_path / "data"
    keep(data, running(BATH), passed_s=20.0)
    with started(data, "resume") as robot:
        robot.until_lit()
        read_temperature(robot, "38.1")
        robot.until(lambda r: temperatures(data)[-1] == 38.1)
        for suffix in ("", "-wal", "-shm"):
            (data / f"{JOURNAL}{suffix}").unlink()
        read_temperature(robot, "38.2")
        robot.until_shown("all of this evening is kept in")
        apart = data / f"kept-{SESSION}"
        assert temperatures(apart) == [38.1, 38.2]
        goes_on(robot)
        assert not (data / JOURNAL).exists()
        read_temperature(robot, "38.4")
        robot.until(lambda r: temperatures(apart)[-1] == 38.4)
    with started(apart, "resume") as robot:
        robot.until_shown("38.4 °C")
