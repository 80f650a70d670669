"""Text printed outside the full screen wraps between words on a terminal, and stays one line in a pipe."""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import subprocess
import termios
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.robot.program import COMMAND, ROOT, environment

from wetside.app.console import rows_of

WORDS = st.lists(st.text("abcde", min_size=1, max_size=12), min_size=1, max_size=30)


@given(words=WORDS, columns=st.integers(14, 80))
def test_text_wraps_between_words_and_loses_none(words: list[str], columns: int) -> None:
    rows = rows_of(" ".join(words), columns)
    assert all(len(row) <= columns for row in rows)
    assert " ".join(rows).split() == words


def test_an_overlong_word_stays_whole_so_that_it_can_be_copied() -> None:
    path = "/a/very/long/folder/name/that/somebody/has-typed/journal.sqlite3"
    assert f"{path}:" in [row.strip() for row in rows_of(f"Journal {path}: it is damaged", 30)]


@pytest.mark.parametrize("data", ["a file", "a device", "under a file"])
@pytest.mark.parametrize("command", [("sessions",), ("resume", "--plain"), ("export", "last", "--format", "csv")])
def test_unusable_data_folder_is_reported_with_exit_code_3(
    tmp_path: Path, data: str, command: tuple[str, ...]
) -> None:
    file = tmp_path / "file"
    file.write_text("x", "utf-8")
    where = {"a file": file, "a device": Path("/dev/null"), "under a file": file / "x"}[data]
    done = subprocess.run(
        [*COMMAND, *command, "--data", str(where)],
        env=environment(tmp_path / "unused"),
        cwd=ROOT,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )
    assert (done.returncode, done.stdout) == (3, "")
    assert done.stderr.startswith(f"wetside: Data folder {where}: it ")
    assert "not a folder; choose another with --data." in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_an_error_wraps_at_words_on_a_terminal_of_40_columns(tmp_path: Path) -> None:
    file = tmp_path / "f"
    file.write_text("x", "utf-8")
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("4H", 24, 40, 0, 0))
    done = subprocess.run(
        [*COMMAND, "resume", "--plain"],
        env=environment(tmp_path / "data"),
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=slave,
        stdin=subprocess.DEVNULL,
    )
    os.close(slave)
    said = os.read(master, 65536).decode("utf-8").replace("\r\n", "\n")
    os.close(master)
    assert done.returncode == 1
    rows = said.rstrip("\n").split("\n")
    assert rows == ["wetside: There is no session yet:", "  `wetside` begins one."]
