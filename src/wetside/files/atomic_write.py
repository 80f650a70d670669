"""Atomic writes of text files: a reader finds the old file or the new one, never half of one.

The text goes into a new file beside the wanted one, is forced to disk, and takes the name in one act. A symbolic
link is never followed, an existing file is replaced only when asked, and the file is readable by its owner alone
(0600).
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Final

from wetside.errors import FileUnusable, Refused
from wetside.sanitize import printable

_NO_HARD_LINKS: Final = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}


def write_whole(path: Path, text: str, *, force: bool = False) -> None:
    """Write `text` as UTF-8 to `path`, all or nothing, readable by its owner alone.

    Raises `Refused` when the file exists and `force` is not given, `FileUnusable` when the path is a symbolic
    link, a folder or a device, when its folder is missing or closed, or when the disk will not take it. In each
    case what stood there before stands there still, and nothing is left beside it; only when the disk fails after
    the finished file has taken its name does the new one remain.
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
    import tempfile  # it loads every kind of archive; only a few commands write a file

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
    """Give a finished file its name, on disk too, unless somebody took that name meanwhile (`FileExistsError`).

    A hard link does that in one act; the old name stays beside it, for the caller to take away. Where the file
    system has none, the name is taken by an empty file first, so that nobody else's is lost.
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
    """Force the new name to disk; some file systems cannot do that for a folder, and say EINVAL."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    except OSError as problem:
        if problem.errno != errno.EINVAL:
            raise
    finally:
        os.close(descriptor)


def file_unusable(path: Path, why: str) -> FileUnusable:
    """The error of a file that cannot be read or written; `why` is said after its path, without a full stop."""
    return FileUnusable((f"{shown_path(path)}: {why}.",))


def reason(problem: Exception) -> str:
    """What the operating system says, or the error's own words."""
    return problem.strerror if isinstance(problem, OSError) and problem.strerror else str(problem)


def _exists(path: Path) -> Refused:
    return Refused(
        f"{shown_path(path)}: there is such a file already; name another, or use --force to replace it."
    )


def shown_path(path: Path) -> str:
    """A path fit to stand in a sentence: whatever in its name cannot be seen is shown as "?"."""
    return printable(str(path))
