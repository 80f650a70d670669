"""A disk that cannot be written still shows home and the running clock, and says that nothing is kept."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from tests.faults.evening import keep, running
from tests.robot.program import run, started

BATH = "b1.bleach-fix"


@pytest.fixture
def read_only(tmp_path: Path, small_disk: Path) -> Path:
    """A data folder with a bath running, on a disk that is mounted read-only."""
    keep(tmp_path / "made", running(BATH), passed_s=20.0)
    ignored = shutil.ignore_patterns("*-wal", "*-shm")
    data = shutil.copytree(tmp_path / "made", small_disk / "data", ignore=ignored)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    return data


def test_home_and_the_clock_are_shown(read_only: Path) -> None:
    with started(read_only, columns=40, rows=12) as robot:
        robot.until_shown("Nothing can be kept in the journal")
        robot.until_shown("Bleach-fix")
        robot.press("ENTER")
        robot.until_shown("ONLY SHOWN, AND NOTHING KEPT")
        assert "FOLLOWING" in robot.words
        robot.press("BACKSPACE")
        robot.until_shown("Plan a new evening")
        robot.press("BACKSPACE")
        assert robot.exit_code() == 0


def test_resume_line_by_line_shows_the_clock(read_only: Path) -> None:
    done = run(read_only, "resume", "--plain")
    assert done.returncode == 0, done.stderr
    assert "ONLY SHOWN, AND NOTHING KEPT: the data folder cannot be written to." in done.stdout
    assert "Bleach-fix" in done.stdout
