"""`wetside start`: somebody who begins another evening is told of the one that is not finished."""

from __future__ import annotations

from pathlib import Path

from tests.robot.program import run


def started(data: Path, typed: str) -> str:
    """What `wetside start three-rolls --plain` prints for this input."""
    done = run(data, "start", "three-rolls", "--plain", typed=typed)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_an_unfinished_session_is_reported_before_another_begins(tmp_path: Path) -> None:
    data = tmp_path / "data"
    assert "not finished" not in started(data, "no\n")
    assert "not finished" not in started(data, "\n"), "the first one begins here"
    said = started(data, "no\n")
    assert "is not finished: `wetside resume 20" in said
    assert said.index("is not finished") < said.index("An empty line begins")
