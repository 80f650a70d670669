"""The lines of a thermometer, from a file that grows, a pipe, or a serial line, without ever waiting for one.

One job: bytes to whole lines. What they mean is not known here.
"""

from __future__ import annotations

import os
import select
import stat
import tty
from typing import Final

from wetside.errors import Unusable, UsageError

_MOST_BYTES: Final = 65_536
_LONGEST_LINE: Final = 200


class LineFeed:
    """Lines from a descriptor. ends: whether its end is the end, as of a pipe or a line that has hung up."""

    def __init__(self, fd: int, *, ends: bool) -> None:
        self._fd = fd
        self._ends = ends
        self._part = b""

    def fresh(self) -> tuple[str, ...]:
        """The whole lines that have come since the last look; OSError when no more can come."""
        if not select.select([self._fd], [], [], 0)[0]:
            return ()
        content = os.read(self._fd, _MOST_BYTES)
        if not content and self._ends:
            raise OSError(0, "its line has ended")
        *whole, part = (self._part + content).replace(b"\r", b"\n").split(b"\n")
        self._part = part[:_LONGEST_LINE]
        return tuple(line[:_LONGEST_LINE].decode("utf-8", "replace") for line in whole if line.strip())


def open_feed(where: str) -> LineFeed:
    """The feed of `--readings`: a file, a pipe, a serial line, or "-" for standard input.

    With "-" the keys come from the terminal itself from here on. UsageError where that cannot be; Unusable where
    the file cannot be read.
    """
    if where == "-":
        return _from_standard_input()
    try:
        fd = os.open(os.path.expanduser(where), os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC)
        mode = os.fstat(fd).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(0, "it is a folder")
        if os.isatty(fd):
            if os.fstat(fd).st_rdev in (os.makedev(5, 0), *_own_terminals()):
                raise UsageError(f"{where} is this terminal, where you type: name the probe's own line.")
            tty.setraw(fd)
        elif stat.S_ISREG(mode):
            os.lseek(fd, 0, os.SEEK_END)  # what stands there already was read some other day
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise Unusable(
            f"--readings {where} cannot be read ({why}): name a file, a pipe or a serial line."
        ) from None
    return LineFeed(fd, ends=os.isatty(fd))


def _from_standard_input() -> LineFeed:
    if os.isatty(0):
        raise UsageError("--readings - takes a pipe on standard input, and that is the keyboard here.")
    try:
        keyboard = os.open("/dev/tty", os.O_RDWR)
    except OSError:
        raise UsageError(
            "--readings - needs a terminal for the keys beside the pipe, and there is none."
        ) from None
    fd = os.dup(0)
    os.dup2(keyboard, 0)
    os.close(keyboard)
    return LineFeed(fd, ends=True)


def _own_terminals() -> tuple[int, ...]:
    return tuple(os.fstat(fd).st_rdev for fd in (0, 1, 2) if os.isatty(fd))
