"""Atomic writes of text files: a reader finds the old file or the new one, never half of one.

The text goes into a temporary file beside the target, is synced to disk, and is renamed or linked to the target's
name. A symbolic link is never followed, an existing file is replaced only on request, and the mode is 0600.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Final

from wetside.errors import FileFinding, FileUnusable, Refused
from wetside.sanitize import printable

_NO_HARD_LINKS: Final = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}


def write_whole(path: Path, text: str, *, force: bool = False) -> None:
    """Write `text` as UTF-8 to `path`, all or nothing, readable by its owner alone.

    Raises `Refused` when the file exists and `force` is not given, `FileUnusable` when the path is a symbolic
    link, a folder or a device, when its folder is missing or closed, or when the disk will not take it. In each
    case an existing file is unchanged and no temporary file is left; except that the new file remains if the disk
    fails after the rename.
    """
    try:
        content = text.encode("utf-8")
    except UnicodeEncodeError as problem:
        why = "the text holds half of a character pair; take that character out"
        raise file_unusable(path, why) from problem
    try:
        _refuse_in_the_way(path, force)
        _write(path, content, force)
    except FileExistsError as problem:
        raise _exists(path) from problem
    except FileNotFoundError as problem:
        raise file_unusable(path, "its folder does not exist; make the folder first") from problem
    except (OSError, ValueError) as problem:
        why = f"it cannot be written here ({reason(problem)}); choose another place"
        raise file_unusable(path, why) from problem


def _refuse_in_the_way(path: Path, force: bool) -> None:
    """Refuse what must not be replaced: anything but a plain file, and that too unless `force` is given."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    if stat.S_ISLNK(mode):
        raise file_unusable(path, "it is a symbolic link, and those are not followed; name the file itself")
    if stat.S_ISDIR(mode):
        raise file_unusable(path, "it is a folder; name a file in it")
    if not stat.S_ISREG(mode):
        raise file_unusable(path, "it is not a plain file; name another one")
    if not force:
        raise _exists(path)


def _write(path: Path, content: bytes, force: bool) -> None:
    import tempfile  # imported late: it is slow to load, and only a few commands write a file

    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".wetside-", suffix=".part")
    part = Path(name)
    try:
        with open(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if force:
            part.replace(path)
            _fsync_folder(path.parent)
        else:
            take_free_name(part, path)
    finally:
        part.unlink(missing_ok=True)


def take_free_name(part: Path, path: Path) -> None:
    """Give the finished file `part` the name `path` and sync the folder; FileExistsError if that name exists.

    A hard link does that atomically; the caller removes the old name. On a file system without hard links an empty
    file takes the name first, so that no file of another process is overwritten.
    """
    try:
        os.link(part, path, follow_symlinks=False)
    except OSError as problem:
        if problem.errno not in _NO_HARD_LINKS:
            raise
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        part.replace(path)
    _fsync_folder(path.parent)


def _fsync_folder(folder: Path) -> None:
    """Sync a folder to disk; ignores EINVAL from file systems that cannot do that for a folder."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    except OSError as problem:
        if problem.errno != errno.EINVAL:
            raise
    finally:
        os.close(descriptor)


def file_unusable(path: Path, why: str) -> FileUnusable:
    """The error for a file that cannot be read or written; `why` follows its path, without a full stop."""
    return FileUnusable(FileFinding(f"{why}.", shown_path(path)))


def reason(problem: Exception) -> str:
    """The operating system's message, else the error's text."""
    return problem.strerror if isinstance(problem, OSError) and problem.strerror else str(problem)


def _exists(path: Path) -> Refused:
    return Refused(
        f"{shown_path(path)}: there is such a file already; name another, or use --force to replace it."
    )


def shown_path(path: Path) -> str:
    """A path for display, with "?" for invisible characters."""
    return printable(str(path))
