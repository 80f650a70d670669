"""The tour of the keys on a real terminal: it begins from home, marked as practice, and is led to its end."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.robot.program import run, started
from tests.robot.robot import lead


def test_the_tour_begins_from_home_as_practice(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with started(data) as robot:
        robot.until_lit()
        while "starts the tour" not in robot.offers().get("ENTER", ""):
            before = robot.text
            robot.press("SPACE")
            robot.until(lambda r, before=before: r.text != before and bool(r.offers()))  # type: ignore[misc]
        robot.press("ENTER")
        robot.until_shown("SPACE confirms, ENTER goes on")
        assert "PRACTICE" in robot.text
    (row,) = json.loads(run(data, "sessions", "--json").stdout)["sessions"]
    assert (row["practice"], row["title"]) == (True, "Tour of the keys")


@pytest.mark.parametrize("size", [(80, 24), (40, 12)], ids=["80 by 24", "40 by 12"])
def test_the_tour_is_completed(tmp_path: Path, size: tuple[int, int]) -> None:
    data = tmp_path / "data"
    with started(data, "practise", "--tour", "--speed", "60", columns=size[0], rows=size[1]) as robot:
        robot.until_lit()
        lead(robot, lambda r: r.offers().get("ENTER") == "leaves")
    (row,) = json.loads(run(data, "sessions", "--json").stdout)["sessions"]
    assert str(row["outcome"]).startswith("complete")
