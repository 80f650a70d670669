"""A program on a pseudo-terminal of 80 by 24, read byte by byte without looking at what it draws."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

ROOT = Path(__file__).parents[2]
PATIENCE_S = 240.0
COLUMNS, ROWS = 80, 24


class Program:
    """Started when made; `started_at` is the moment before. Ended when left."""

    def __init__(self, arguments: Sequence[str], environment: dict[str, str]) -> None:
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        self.started_at = time.perf_counter()
        self.process = subprocess.Popen(
            [sys.executable, *arguments],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env=environment,
            cwd=ROOT,
            start_new_session=True,
        )
        os.close(theirs)
        self._terminal = ours

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        while self.process.poll() is None:
            self.read(0.05)
        os.close(self._terminal)

    def read(self, wait_s: float) -> bytes:
        """What comes next, b"" when nothing does within `wait_s`."""
        ready, _, _ = select.select([self._terminal], [], [], wait_s)
        if not ready:
            return b""
        try:
            return os.read(self._terminal, 1 << 16)
        except OSError:  # the program has ended
            return b""

    def until(self, mark: bytes) -> float:
        """Seconds since the start until what matches `mark` has come."""
        seen, end = b"", time.perf_counter() + PATIENCE_S
        while re.search(mark, seen) is None:
            seen += self.read(0.2)
            if time.perf_counter() > end or (self.process.poll() is not None and not self.read(0.1)):
                raise RuntimeError(f"{mark!r} never came: {seen[-2000:]!r}")
        return time.perf_counter() - self.started_at

    def quiet(self, silence_s: float = 0.4) -> int:
        """Bytes that come before a silence of this length."""
        count = 0
        while data := self.read(silence_s):
            count += len(data)
        return count

    def send(self, keys: bytes) -> None:
        """Press keys."""
        os.write(self._terminal, keys)

    def key_to_paint_s(self, key: bytes) -> float:
        """From a key to the first byte of the answer."""
        began = time.perf_counter()
        self.send(key)
        while not self.read(1.0):
            if time.perf_counter() - began > PATIENCE_S:
                raise RuntimeError(f"{key!r} changed nothing")
        return time.perf_counter() - began

    def watch(self, seconds: float) -> int:
        """Bytes that come in so many seconds."""
        count, end = 0, time.perf_counter() + seconds
        while (left := end - time.perf_counter()) > 0:
            count += len(self.read(left))
        return count

    def cpu_s(self) -> float:
        """Processor time so far, user and system, all threads."""
        text = Path(f"/proc/{self.process.pid}/stat").read_text()
        fields = text.rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def busy(cores: int) -> Iterator[None]:
    """Keep so many cores busy meanwhile."""
    spinning = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(cores)]
    try:
        yield
    finally:
        for process in spinning:
            process.kill()
            process.wait()
