"""A robot that reads only the screen leads the shipped evening of three rolls to its record, on every terminal."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from tests.robot.program import EVENING, run, started
from tests.robot.robot import Robot, lead

SPEED = "400"
"""At this pace two hours of drying are 18 s, and a loaded machine presses before a reading is too old."""

ROLLS = ("Harbour, morning", "Harbour, evening", "Garden in May")


@dataclass(frozen=True)
class On:
    """One terminal: its size, what is changed in the environment, and what its bytes must not hold."""

    columns: int = 80
    rows: int = 24
    changes: dict[str, str] = field(default_factory=dict)
    never: bytes = rb"(?!)"


COLOUR = rb"\x1b\[(?:[0-9;]*;)?(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])[;m]"
MANY_COLOURS = rb"\x1b\[(?:[0-9;]*;)?[34]8[;m]"
SHORT = {
    "80 by 24": On(),
    "40 by 12": On(40, 12),
}
LONG = {
    "no colour": On(changes={"NO_COLOR": "1"}, never=COLOUR),
    "linux": On(changes={"TERM": "linux"}, never=MANY_COLOURS + rb"|\x1b\][^PR]|\$p"),
    "60 by 20": On(60, 20),
    "200 by 60": On(200, 60),
    "vt100": On(changes={"TERM": "vt100"}, never=COLOUR),
    "screen": On(changes={"TERM": "screen"}, never=MANY_COLOURS),
    "tmux": On(changes={"TERM": "tmux-256color"}),
    "xterm": On(changes={"TERM": "xterm"}, never=MANY_COLOURS),
    "ascii": On(changes={"LANG": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, never=rb"[\x80-\xff]"),
    "ascii at 40 by 12": On(40, 12, {"LANG": "C"}, rb"[\x80-\xff]"),
}
TERMINALS = [
    *(pytest.param(on, id=name) for name, on in SHORT.items()),
    *(pytest.param(on, id=name, marks=pytest.mark.long) for name, on in LONG.items()),
]


@pytest.mark.parametrize("on", TERMINALS)
def test_the_robot_completes_three_rolls_up_to_their_record(tmp_path: Path, on: On) -> None:
    data = tmp_path / "data"
    arguments = ("practise", EVENING, "--speed", SPEED)
    with started(data, *arguments, columns=on.columns, rows=on.rows, anew=True, **on.changes) as robot:
        robot.until_lit()
        lead(robot, lambda r: r.offers().get("ENTER") == "leaves")
        assert "Outcome: complete" in robot.words
        robot.press("ENTER")
        assert robot.exit_code() == 0
        written = bytes(robot.written)
    assert b"Traceback" not in written
    assert re.search(on.never, written) is None
    _record_is_whole(data)
    _record_is_read_from_home(data, on)


def _record_is_read_from_home(data: Path, on: On) -> None:
    with started(data, columns=on.columns, rows=on.rows, anew=False, **on.changes) as robot:
        robot.until_lit()
        open_(robot, "opens the list")
        open_(robot, "opens its record")
        robot.until(_offers("SPACE", "reads on"))
        while "Outcome: complete" not in robot.words:
            shown = robot.text
            robot.press("SPACE")
            robot.until(lambda r, shown=shown: r.text != shown)  # type: ignore[misc]


def _record_is_whole(data: Path) -> None:
    """The record names every roll, its steps have all ended, and it is rebuilt to the same bytes each time."""
    for form in ("toml", "csv", "jsonl", "markdown"):
        once, again = (run(data, "export", "last", "--format", form) for _ in range(2))
        assert (once.returncode, once.stderr) == (0, "")
        assert once.stdout == again.stdout
        if form == "jsonl":
            events = [json.loads(line) for line in once.stdout.splitlines()]
        elif form != "csv":
            assert all(roll in once.stdout for roll in ROLLS)
    assert all(event["practice"] for event in events)
    assert events[-1]["kind"] == "session_closed"
    assert events[-1]["data"]["outcome"].startswith("complete")
    steps = [step["id"] for step in events[0]["data"]["plan"]["steps"]]
    assert [event["data"]["step"] for event in events if event["kind"] == "step_opened"] == steps
    assert {event["data"]["step"] for event in events if event["kind"] == "step_ended"} == set(steps)


# --- from home


def to(robot: Robot, key: str, words: str) -> None:
    """Move with SPACE until the bottom line says that `key` does this, then press it."""
    for _ in range(60):
        if words in robot.offers().get(key, ""):
            break
        before = robot.text
        robot.press("SPACE")
        robot.until(lambda r, before=before: r.text != before and bool(r.offers()))  # type: ignore[misc]
    else:
        raise AssertionError(f"{key} never {words}; the screen:\n{robot.text}")
    robot.press(key)


def open_(robot: Robot, words: str) -> None:
    """Choose what ENTER does by these words."""
    to(robot, "ENTER", words)


@pytest.mark.parametrize("size", [(80, 24), (40, 12)], ids=["80 by 24", "40 by 12"])
def test_the_keys_lead_from_home_through_plan_and_review_to_the_first_step(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    data = tmp_path / "data"
    with started(data, columns=size[0], rows=size[1]) as robot:
        robot.until_lit()
        open_(robot, "opens the plan")
        robot.until(lambda r: "plan" in r.offers().get("BACKSPACE", ""))
        for _ in range(3):  # an empty bench: its guesses are looked at first
            open_(robot, "looked at")
            robot.until(lambda r: "goes back" in r.offers().get("BACKSPACE", ""))
            robot.press("BACKSPACE")
            robot.until(lambda r: "plan" in r.offers().get("BACKSPACE", ""))
        open_(robot, "review")
        robot.until_shown("Review: ")
        assert not run(data, "sessions").stdout
        open_(robot, "begins the session")
        robot.until_shown("Look at the chemistry")
        assert "PRACTICE" not in robot.text
    assert ", 1 roll" in run(data, "sessions").stdout


def test_a_dry_run_begun_from_home_is_offered_there_first(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with started(data) as robot:
        robot.until_lit()
        open_(robot, "starts a dry run")
        robot.until_shown("PRACTICE")
        robot.until(_offers("SPACE", "confirms"))
        robot.signal(9)  # type: ignore[arg-type]
        robot.exit_code()
    with started(data) as robot:
        robot.until(_offers("ENTER", "goes on with it"))
        assert "Nothing starts by itself" in robot.words
        robot.press("ENTER")
        robot.until(_offers("SPACE", "confirms"))
        assert "Look at the chemistry" in robot.words


@pytest.mark.long
@pytest.mark.timeout(3000)
@pytest.mark.parametrize("on", [SHORT["80 by 24"], SHORT["40 by 12"]], ids=["80 by 24", "40 by 12"])
def test_a_dry_run_begun_from_home_is_completed_to_its_record(tmp_path: Path, on: On) -> None:
    """At home's own pace, ×20: two hours of drying are six minutes."""
    data = tmp_path / "data"
    with started(data, columns=on.columns, rows=on.rows) as robot:
        robot.until_lit()
        open_(robot, "starts a dry run")
        robot.until_shown("PRACTICE")
        lead(robot, lambda r: r.offers().get("ENTER") == "leaves", within_s=2900.0)
        assert "Outcome: complete" in robot.words
    _record_is_whole(data)
    _record_is_read_from_home(data, on)


def _offers(key: str, words: str) -> Callable[[Robot], bool]:
    return lambda robot: words in robot.offers().get(key, "")
