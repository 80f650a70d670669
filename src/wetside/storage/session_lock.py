"""The lock of a running session: one process at a time may change it, and another can take it over knowingly.

It keeps two terminals from changing one session. The journal does not depend on it: the store refuses the second
of two conflicting appends in any case. No clock is read here; `since` is an argument.

While a session is open for changes, `drive-<stream>.lock` lies beside the journal. The holder has an advisory lock
(flock) on it, and the file names the holder: pid, terminal, since when. The kernel drops the lock when the process
ends, however it ends, so a file left by a crash does no harm: the next `try_take` locks and rewrites it.

Taking over needs no consent, as the first process may be stopped or hang: the new holder makes a new file, locks
it, and renames it over the old one. The first process still holds a lock, but on a file without a name:
`still_mine` compares the open file with the name, so that a call once a second, and one before each command, shows
that the lock was taken over.

Every change of the files is made under a short lock on `drive.guard`, held for a few system calls; that file
stays. Both names are those of the first version: another version beside this one must meet the same lock.
Locks are not inherited by programs started with exec, but are by a bare fork. On a network disk flock holds
as far as that disk's server does.
"""

from __future__ import annotations

import errno
import fcntl
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Final, Self
from urllib.parse import quote

from msgspec import Struct

from wetside.errors import Refused, Unusable
from wetside.files.atomic_write import shown_path
from wetside.sanitize import printable

GUARD: Final = "drive.guard"
_LONGEST: Final = 80
_MOST_READ: Final = 4096
_OPEN: Final = os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK


class LockHolder(Struct, frozen=True):
    """The process that holds the lock. `pid` is 0 and a text "unknown" where the file does not say."""

    pid: int
    terminal: str
    since: str

    def __str__(self) -> str:
        return f"process {self.pid} on {self.terminal}, since {_local(self.since)}"


class SessionLock:
    """The lock of one stream, as this process sees it. Close it with `release`, or use it in a `with`.

    Methods raise `Unusable` when the files in the data folder cannot be read or written.
    """

    def __init__(self, folder: Path, stream: str, *, terminal: str = "") -> None:
        """`folder` holds the journal; `terminal` names this terminal ("/dev/pts/3"): without it, its device."""
        if not stream or len(stream.encode("utf-8")) > _LONGEST:
            raise ValueError(f"a stream's name has 1 to {_LONGEST} bytes: {stream!r}")
        self.folder = folder
        self.stream = stream
        self.path = folder / f"drive-{quote(stream, safe='')}.lock"
        self.terminal = _one_line(terminal or _device())
        self._descriptor: int | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *problem: object) -> None:
        self.release()

    def try_take(self, since: str) -> bool:
        """Take the lock if it is free; True when this process has it now, or had it before."""
        if self.still_mine():
            return True
        with self._guarded():
            self._let_go()
            descriptor = os.open(self.path, _OPEN, 0o600)
            if not _lock(descriptor):
                os.close(descriptor)
                return False
            self._keep(descriptor, LockHolder(os.getpid(), self.terminal, _one_line(since)))
        return True

    def take_over(self, since: str, seen: LockHolder | None) -> None:
        """Take the lock from `seen`, the holder that the person was shown and agreed to replace.

        Raises `Refused` when another process holds it by now.
        """
        if self.still_mine():
            return
        with self._guarded():
            holder = self._holder()
            if holder is not None and holder != seen:
                raise Refused(f"By now {holder} has {self.stream} open for writing: look again, then decide.")
            self._let_go()
            new = self.folder / f".{self.path.name}.part"
            new.unlink(missing_ok=True)
            descriptor = os.open(new, _OPEN | os.O_EXCL, 0o600)
            if not _lock(descriptor):  # cannot happen: no other process opens this name
                os.close(descriptor)
                raise Refused(f"The lock of {self.stream} could not be taken over: try again.")
            self._keep(descriptor, LockHolder(os.getpid(), self.terminal, _one_line(since)))
            new.replace(self.path)

    def still_mine(self) -> bool:
        """Whether this process holds the lock now. Two stat calls: cheap enough for once a second.

        Only another file of that name means that another process does. Where the name is gone or cannot be read (a
        disk unplugged for a moment), the lock is still held.
        """
        if self._descriptor is None:
            return False
        try:
            named = os.lstat(self.path)
        except OSError:
            return True
        held = os.fstat(self._descriptor)
        return (named.st_dev, named.st_ino) == (held.st_dev, held.st_ino)

    def holder(self) -> LockHolder | None:
        """The current holder, this process included; None if the lock is free."""
        with self._guarded():
            return self._holder()

    def release(self) -> None:
        """Release the lock. Does nothing when it was never taken or was taken over."""
        if self._descriptor is None:
            return
        try:
            with self._guarded():
                if self.still_mine():
                    self.path.unlink(missing_ok=True)
        finally:
            self._let_go()

    def _holder(self) -> LockHolder | None:
        """As `holder`, under the guard."""
        try:
            descriptor = os.open(self.path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
        except FileNotFoundError:
            return None
        try:
            if not self.still_mine() and _lock(descriptor):
                return None
            return _parse(os.pread(descriptor, _MOST_READ, 0))
        finally:
            os.close(descriptor)

    def _keep(self, descriptor: int, holder: LockHolder) -> None:
        """Write `holder` into the locked file and keep its descriptor, which is closed on failure."""
        try:
            if not stat.S_ISREG(os.fstat(descriptor).st_mode):
                raise OSError(errno.EINVAL, "it is not a plain file")
            os.ftruncate(descriptor, 0)
            os.pwrite(descriptor, _text(holder), 0)
        except BaseException:
            os.close(descriptor)
            raise
        self._descriptor = descriptor

    def _let_go(self) -> None:
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None

    @contextmanager
    def _guarded(self) -> Iterator[None]:
        """Under the short lock. Raises Unusable for an error of the system inside."""
        try:
            descriptor = os.open(self.folder / GUARD, _OPEN, 0o600)
            try:
                fcntl.flock(descriptor, fcntl.LOCK_EX)
                yield
            finally:
                os.close(descriptor)
        except OSError as problem:
            raise Unusable(
                f"Data folder {shown_path(self.folder)}: the lock of {self.stream} cannot be kept there "
                f"({problem.strerror}); see to its room and your leave to write, or follow read-only."
            ) from problem


def _device() -> str:
    """The device of this terminal, else the process id."""
    try:
        return os.ttyname(0)
    except OSError:
        return f"process {os.getpid()}"


def _lock(descriptor: int) -> bool:
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _one_line(text: str) -> str:
    return printable(text) or "unknown"


def _local(since: str) -> str:
    """The file's UTC moment in local time; unchanged where it is no moment."""
    try:
        return f"{datetime.fromisoformat(since).astimezone():%Y-%m-%d %H:%M}"
    except (ValueError, OverflowError):
        return since


def _text(holder: LockHolder) -> bytes:
    text = f"pid: {holder.pid}\nterminal: {holder.terminal}\nsince: {holder.since}\n"
    return text.encode("utf-8", "replace")


def _parse(raw: bytes) -> LockHolder:
    lines = (line.partition(": ") for line in raw.decode("utf-8", "replace").splitlines())
    fields = {name: value for name, separator, value in lines if separator}
    pid = fields.get("pid", "")
    return LockHolder(
        int(pid) if pid.isascii() and pid.isdigit() else 0,
        _one_line(fields.get("terminal", "")),
        _one_line(fields.get("since", "")),
    )
