"""The session lock: one process holds it; it is free after any end of that, and can be taken over on request."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from wetside.errors import Refused, Unusable
from wetside.storage.session_lock import LockHolder, SessionLock

SINCE = "2026-11-05T19:30:00Z"
LATER = "2026-11-05T19:40:00Z"
STREAM = "session:2026-11-05/a"

OTHER = """
import sys
from pathlib import Path
from wetside.storage.session_lock import SessionLock
lock = SessionLock(Path(sys.argv[1]), sys.argv[2], terminal="/dev/pts/7")
print("taken" if lock.try_take(sys.argv[3]) else "refused", flush=True)
for line in sys.stdin:
    print("mine" if lock.still_mine() else "lost", flush=True)
"""


def start_other(folder: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", OTHER, str(folder), STREAM, SINCE],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def said_by(other: subprocess.Popen[str], asked: bool = True) -> str:
    assert other.stdin is not None
    assert other.stdout is not None
    if asked:
        other.stdin.write("\n")
        other.stdin.flush()
    return other.stdout.readline().strip()


def here(folder: Path, stream: str = STREAM) -> SessionLock:
    return SessionLock(folder, stream, terminal="/dev/pts/3")


def test_only_one_process_takes_the_lock(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        assert one.holder() is None
        assert one.try_take(SINCE)
        assert one.try_take(LATER)
        assert not two.try_take(LATER)
        assert (one.still_mine(), two.still_mine()) == (True, False)
        assert two.holder() == one.holder() == LockHolder(os.getpid(), "/dev/pts/3", SINCE)
        assert here(tmp_path, "session:other").try_take(SINCE)


def test_releasing_the_lock_leaves_no_file(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        one.release()
        one.release()
        assert not one.still_mine()
        assert two.holder() is None
        assert not one.path.exists()
        assert two.try_take(LATER)
        one.release()
        assert two.still_mine()


def test_taking_over_moves_the_lock(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        two.take_over(LATER, two.holder())
        assert (one.still_mine(), two.still_mine()) == (False, True)
        assert one.holder() == LockHolder(os.getpid(), "/dev/pts/3", LATER)
        assert not one.try_take(LATER)
        one.release()
        assert two.still_mine()
        one.take_over(LATER, one.holder())
        assert (one.still_mine(), two.still_mine()) == (True, False)


def test_release_after_a_takeover_leaves_the_lock_of_the_new_holder(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        two.take_over(LATER, one.holder())
        one.release()
        assert two.path.exists()
        assert not here(tmp_path).try_take(LATER)


def test_taking_over_from_another_holder_than_the_one_seen_is_refused(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two, here(tmp_path) as three:
        one.try_take(SINCE)
        seen = three.holder()
        two.take_over(LATER, seen)
        with pytest.raises(Refused, match=r"By now process .* has"):
            three.take_over(LATER, seen)
        assert two.still_mine()


def test_taking_over_a_lock_that_became_free_takes_it(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        seen = two.holder()
        one.release()
        two.take_over(LATER, seen)
        assert two.holder() == LockHolder(os.getpid(), "/dev/pts/3", LATER)


def test_a_crash_frees_the_lock(tmp_path: Path) -> None:
    with start_other(tmp_path) as other, here(tmp_path) as mine:
        assert said_by(other, asked=False) == "taken"
        assert not mine.try_take(LATER)
        assert mine.holder() == LockHolder(other.pid, "/dev/pts/7", SINCE)
        other.kill()
        other.wait()
        assert mine.path.exists()
        assert mine.holder() is None
        assert mine.try_take(LATER)
        assert mine.holder() == LockHolder(os.getpid(), "/dev/pts/3", LATER)


def test_the_first_process_notices_a_takeover(tmp_path: Path) -> None:
    with start_other(tmp_path) as other, here(tmp_path) as mine:
        assert said_by(other, asked=False) == "taken"
        assert said_by(other) == "mine"
        mine.take_over(LATER, mine.holder())
        assert said_by(other) == "lost"
        assert other.stdin is not None
        other.stdin.close()
        other.wait()
        assert mine.still_mine()


def test_a_program_started_meanwhile_does_not_keep_the_lock(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        with subprocess.Popen(["sleep", "60"]) as child:
            one.release()
            assert two.try_take(LATER)
            child.kill()


@pytest.mark.parametrize("text", [b"", b"\xff\xfe\x00", b"pid: many\nsince: \x1b[31m\n", b"pid: 9\n" * 4000])
def test_a_stale_lock_file_is_harmless_whatever_it_contains(tmp_path: Path, text: bytes) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.path.write_bytes(text)
        assert one.holder() is None
        assert one.try_take(SINCE)
        one.path.write_bytes(text)
        holder = two.holder()
        assert holder is not None
        assert str(holder).isprintable()


def test_lock_files_are_for_their_owner_alone(tmp_path: Path) -> None:
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        two.take_over(LATER, one.holder())
        modes = {stat.S_IMODE(found.stat().st_mode) for found in tmp_path.iterdir()}
        assert modes == {0o600}
        assert sorted(found.name for found in tmp_path.iterdir()) == [
            "drive-session%3A2026-11-05%2Fa.lock",
            "drive.guard",
        ]


def test_a_link_is_not_followed_and_a_missing_folder_is_reported(tmp_path: Path) -> None:
    one = here(tmp_path)
    one.path.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(Unusable, match="cannot be kept there"):
        one.try_take(SINCE)
    assert not (tmp_path / "elsewhere").exists()
    with pytest.raises(Unusable, match="cannot be kept there"):
        here(tmp_path / "no").try_take(SINCE)


def test_a_missing_lock_file_does_not_count_as_a_takeover(tmp_path: Path) -> None:
    """A disk taken away for a moment makes no follower of the lock's holder: it may be in a dark step."""
    with here(tmp_path) as one, here(tmp_path) as two:
        one.try_take(SINCE)
        one.path.rename(tmp_path / "away")
        assert one.still_mine()
        (tmp_path / "away").rename(one.path)
        assert one.still_mine()
        one.path.unlink()
        assert two.try_take(LATER)
        assert (one.still_mine(), two.still_mine()) == (False, True), "another file has the name now"


@pytest.mark.parametrize("stream", ["", "x" * 81])
def test_a_session_name_must_fit_a_file_name(tmp_path: Path, stream: str) -> None:
    with pytest.raises(ValueError, match="1 to 80 bytes"):
        here(tmp_path, stream)
    assert here(tmp_path, "夜" * 26).try_take(SINCE)


def test_the_time_of_the_lock_is_shown_in_local_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "EAST-5:30")  # half past five hours east of UTC
    time.tzset()
    try:
        assert str(LockHolder(7, "/dev/pts/3", SINCE)) == "process 7 on /dev/pts/3, since 2026-11-06 01:00"
        assert str(LockHolder(0, "unknown", "unknown")) == "process 0 on unknown, since unknown"
    finally:
        monkeypatch.undo()
        time.tzset()
