"""Signals and lost terminals: the terminal as found, the session to be gone on with, no process left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import termios
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.faults.evening import clock_error_s, keep, places, running
from tests.robot.program import COMMAND, ROOT, environment, journal, kinds, run, started
from tests.robot.robot import Robot, given_back, is_stopped, pressed_until

from wetside.app.session_factory import resume_session
from wetside.files.settings import Settings
from wetside.storage.store import open_store

BATH = "b1.developer"
LEAD_IN_S = 5.0


def in_the_bath(data: Path) -> str:
    """A session whose developer was started 12 s ago, with a lead-in; its stream."""
    return keep(data, running(BATH), passed_s=12.0)


def can_be_gone_on_with(data: Path, stream: str) -> None:
    """Nobody holds it, every event is there, and the bath's clock has run on."""
    before = journal(data)
    with open_store(places(data)) as store:
        controller = resume_session(store, places(data), stream, Settings(), terminal="t")
        assert controller.state.current == BATH
        assert controller.state.clocks[BATH].elapsed(controller.now()) > 12.0 - LEAD_IN_S
        controller.release()
    assert journal(data)[: len(before)] == before


@pytest.mark.parametrize(
    "numbers",
    [(signal.SIGHUP,), (signal.SIGTERM,), (signal.SIGINT,), (signal.SIGQUIT,), (signal.SIGINT, signal.SIGINT)],
    ids=["HUP", "TERM", "INT", "QUIT", "INT twice"],
)
def test_a_signal_restores_the_terminal(
    tmp_path: Path, numbers: tuple[signal.Signals, ...], record_property: Callable[[str, object], None]
) -> None:
    data = tmp_path / "data"
    stream = in_the_bath(data)
    with started(data, "resume") as robot:
        found = termios.tcgetattr(robot.child.child_fd)
        robot.until_lit()
        assert termios.tcgetattr(robot.child.child_fd) != found
        sent = time.monotonic()
        for number in numbers:
            robot.signal(number)
        assert robot.exit_code() == 128 + numbers[0]
        record_property("seconds_to_end", round(time.monotonic() - sent, 3))
        given_back(robot, found)
    can_be_gone_on_with(data, stream)


def _with_a_terminal(data: Path, hang_up: signal.Handlers) -> tuple[subprocess.Popen[bytes], int]:
    master, slave = os.openpty()
    previous = signal.signal(signal.SIGHUP, hang_up)
    try:
        process = subprocess.Popen(
            [*COMMAND, "resume"],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            env=environment(data),
            cwd=ROOT,
            start_new_session=True,
        )
    finally:
        signal.signal(signal.SIGHUP, previous)
        os.close(slave)
    return process, master


@pytest.mark.parametrize("hang_up", [signal.SIG_IGN, signal.SIG_DFL], ids=["HUP ignored by a parent", "HUP heard"])
def test_the_process_ends_when_its_terminal_is_gone(
    tmp_path: Path, hang_up: signal.Handlers, record_property: Callable[[str, object], None]
) -> None:
    data = tmp_path / "data"
    stream = in_the_bath(data)
    process, master = _with_a_terminal(data, hang_up)
    seen = b""
    while b"menu" not in seen:
        seen += os.read(master, 65536)
    used_s = _cpu_s(process.pid)
    gone = time.monotonic()
    os.close(master)
    _, status, usage = os.wait4(process.pid, 0)  # the test's own time limit ends a wait in vain
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 129
    record_property("seconds_to_end", round(time.monotonic() - gone, 3))
    record_property("cpu_seconds_to_end", round(usage.ru_utime + usage.ru_stime - used_s, 3))
    can_be_gone_on_with(data, stream)


def _cpu_s(pid: int) -> float:
    rest = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(rest[11]) + int(rest[12])) / os.sysconf("SC_CLK_TCK")


@pytest.mark.parametrize("arguments", [(), ("resume",), ("practise", "three-rolls"), ("follow",)])
def test_input_that_is_no_terminal_is_refused_in_words(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    data = tmp_path / "data"
    in_the_bath(data)
    before = journal(data)
    done = run(data, *arguments)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "needs a terminal" in done.stderr
    assert "--plain" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert journal(data) == before


def test_stopped_unseen_and_continued_it_takes_keys_and_draws_its_screen_anew(tmp_path: Path) -> None:
    """As `kill -STOP` and the shell's `fg` leave it: the terminal has the shell's modes and text."""
    data = tmp_path / "data"
    in_the_bath(data)
    with started(data, "resume") as robot:
        robot.until_lit()
        robot.signal(signal.SIGSTOP)
        robot.until(is_stopped)
        modes = termios.tcgetattr(robot.child.child_fd)
        modes[0], modes[3] = modes[0] | termios.ICRNL, modes[3] | termios.ICANON | termios.ECHO
        termios.tcsetattr(robot.child.child_fd, termios.TCSANOW, modes)
        shown = len(robot.written)
        robot.signal(signal.SIGCONT)
        robot.until(lambda r: not termios.tcgetattr(r.child.child_fd)[3] & termios.ICANON)
        robot.until(lambda r: b"Developer" in r.written[shown:])
        pressed_until(robot, "BACKSPACE", lambda r: "leaves the menu" in r.offers().get("BACKSPACE", ""))
        pressed_until(robot, "ENTER", lambda r: "Faint, does not wake" in r.words)


def test_stopped_and_continued_in_mid_bath_the_clock_is_right(tmp_path: Path) -> None:
    data = tmp_path / "data"
    in_the_bath(data)
    clocks = kinds(journal(data)).count("clock_started")
    error_s = clock_error_s(data, BATH)

    def right(robot: Robot) -> bool:
        return error_s(robot) <= 1.0

    with started(data, "resume") as robot:
        found = termios.tcgetattr(robot.child.child_fd)
        robot.until(right)
        for _ in range(2):
            robot.signal(signal.SIGTSTP)
            robot.until(is_stopped)
            robot.read(0.2)
            given_back(robot, found)
            shown = len(robot.written)
            assert robot.quiet(1.2) == b""
            robot.signal(signal.SIGCONT)
            robot.until(lambda r, shown=shown: b"\x1b[?2004h" in r.written[shown:])  # type: ignore[misc]
            robot.until(right)
        robot.until_lit()
        robot.press("BACKSPACE")
        robot.until(lambda r: "leaves the menu" in r.offers().get("BACKSPACE", ""))
    assert kinds(journal(data)).count("clock_started") == clocks
