"""Starts programs through the fork server: each in a process of its own, without the half second of imports."""

from __future__ import annotations

import atexit
import fcntl
import json
import os
import select
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import termios
import threading
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
LOCALE = {"LANG": "C.UTF-8"}
AT_START = ("PYTHON", "LANG", "LC_")
"""Prefixes of the variables that Python or the C library reads only at the start of the interpreter."""


def starts_like(environment: dict[str, str]) -> bool:
    """Whether this environment starts Python as the fork server was: UTF-8, and no variable for Python."""
    read = {
        name: value
        for name, value in environment.items()
        if name.startswith(AT_START) and name not in ("PYTHONDONTWRITEBYTECODE", "PYTHONUNBUFFERED")
    }
    return bool(read) and all(value == "C.UTF-8" for value in read.values())


class _Server:
    """The one fork server of this process."""

    def __init__(self) -> None:
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_STREAM)
        base = {
            name: os.environ[name] for name in ("PATH", "HOME", "PYTHONDONTWRITEBYTECODE") if name in os.environ
        }
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.robot.fork_server", str(theirs.fileno())],
            env={**base, **LOCALE},
            cwd=ROOT,
            pass_fds=[theirs.fileno()],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            start_new_session=True,
        )
        theirs.close()
        self._control = ours
        self._lock = threading.Lock()
        atexit.register(self.close)

    def start(
        self, arguments: list[str], environment: dict[str, str], directory: Path, streams: list[int]
    ) -> Ended:
        """Start a program with these standard streams."""
        request = {"arguments": arguments, "environment": environment, "directory": str(directory)}
        ended, theirs = os.pipe()
        try:
            with self._lock:
                socket.send_fds(self._control, [json.dumps(request).encode()], [*streams, theirs])
                answer = b""
                while not answer.endswith(b"\n"):
                    came = self._control.recv(64)
                    if not came:
                        raise RuntimeError("the fork server has ended")
                    answer += came
        finally:
            os.close(theirs)
        return Ended(int(answer), ended)

    def close(self) -> None:
        """End the server; its children lose their terminals with this process."""
        self._control.close()
        self.process.wait()


@cache
def _server() -> _Server:
    return _Server()


class Ended:
    """Whether and how a program that was started has ended. `status` is as `os.waitpid` gives it, None before."""

    def __init__(self, pid: int, pipe: int) -> None:
        self.pid = pid
        self.status: int | None = None
        self._pipe = pipe

    def wait(self, longest_s: float | None = None) -> bool:
        """Wait at most `longest_s` seconds, with None for ever; returns whether the program has ended."""
        if self.status is None and select.select([self._pipe], [], [], longest_s)[0]:
            said = os.read(self._pipe, 64)
            if not said:
                raise RuntimeError("the fork server has ended")
            self.status = int(said)
            os.close(self._pipe)
        return self.status is not None


class ForkedOnTerminal:
    """A program on a pseudo-terminal of its own, used as `pexpect.spawn` is."""

    def __init__(
        self, arguments: list[str], *, environment: dict[str, str], directory: Path, dimensions: tuple[int, int]
    ) -> None:
        self.child_fd, theirs = os.openpty()
        self.setwinsize(*dimensions)
        try:
            self._ended = _server().start(arguments, environment, directory, [theirs] * 3)
        finally:
            os.close(theirs)
        self.pid = self._ended.pid

    def send(self, keys: str | bytes) -> None:
        """Type these keys."""
        left = keys.encode() if isinstance(keys, str) else keys
        while left:
            left = left[os.write(self.child_fd, left) :]

    def setwinsize(self, rows: int, columns: int) -> None:
        """Resize the window."""
        fcntl.ioctl(self.child_fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def isalive(self) -> bool:
        """Whether the program still runs."""
        return not self._ended.wait(0)

    def wait(self) -> None:
        """Wait until the program has ended."""
        self._ended.wait()

    @property
    def exitstatus(self) -> int | None:
        """The exit code, None before the end or after a signal."""
        status = self._ended.status
        return os.WEXITSTATUS(status) if status is not None and os.WIFEXITED(status) else None

    @property
    def signalstatus(self) -> int | None:
        """The signal that ended it, None otherwise."""
        status = self._ended.status
        return os.WTERMSIG(status) if status is not None and os.WIFSIGNALED(status) else None

    def kill(self, number: int) -> None:
        """Send the program a signal."""
        if self.isalive():
            os.kill(self.pid, number)

    def hang_up(self) -> None:
        """Take its terminal away."""
        if self.child_fd >= 0:
            os.close(self.child_fd)
            self.child_fd = -1

    def close(self, force: bool = True) -> None:
        """End the program and take its terminal away."""
        self.kill(signal.SIGKILL)
        self._ended.wait()
        self.hang_up()


def run_forked(
    arguments: list[str], environment: dict[str, str], directory: Path, typed: str = "", within_s: float = 240.0
) -> subprocess.CompletedProcess[str]:
    """Run a program without a terminal to its end, with `typed` on its standard input."""
    with tempfile.TemporaryFile() as given, tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        given.write(typed.encode())
        given.seek(0)
        ended = _server().start(arguments, environment, directory, [each.fileno() for each in (given, out, err)])
        if not ended.wait(within_s):
            os.kill(ended.pid, signal.SIGKILL)
            raise subprocess.TimeoutExpired(arguments, within_s)
        said = []
        for stream in (out, err):
            stream.seek(0)
            said.append(stream.read().decode())
    assert ended.status is not None
    return subprocess.CompletedProcess(arguments, os.waitstatus_to_exitcode(ended.status), *said)
