"""A file is written whole or not at all, over nothing by accident, through no link."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from wetside.errors import FileUnusable, Refused, WetsideError
from wetside.files.atomic_write import write_whole

OLD, NEW = "old\n", "nué — 1 l\r\nsecond\n"


def only(folder: Path) -> list[str]:
    return sorted(entry.name for entry in folder.iterdir())


def test_the_text_is_written_byte_for_byte_and_for_its_owner_alone(tmp_path: Path) -> None:
    path = tmp_path / "a b — ü.toml"
    before = os.umask(0)
    try:
        write_whole(path, NEW)
    finally:
        os.umask(before)
    assert path.read_bytes() == NEW.encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert path.stat().st_nlink == 1
    assert only(tmp_path) == [path.name]


def test_a_bare_name_is_written_in_the_working_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_whole(Path("log.csv"), NEW)
    assert only(tmp_path) == ["log.csv"]


def test_an_existing_file_is_kept_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write_whole(path, OLD)
    with pytest.raises(Refused, match="use --force") as refusal:
        write_whole(path, NEW)
    assert refusal.value.exit_code == 1
    assert path.read_text() == OLD
    path.chmod(0o644)
    write_whole(path, NEW, force=True)
    assert path.read_bytes() == NEW.encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert only(tmp_path) == ["log.csv"]


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize("dangling", [False, True])
def test_a_symbolic_link_is_not_followed(tmp_path: Path, force: bool, dangling: bool) -> None:
    target, link = tmp_path / "target", tmp_path / "link"
    if not dangling:
        target.write_text(OLD)
    link.symlink_to(target)
    with pytest.raises(FileUnusable, match="symbolic link") as refusal:
        write_whole(link, NEW, force=force)
    assert refusal.value.exit_code == 3
    assert link.is_symlink()
    assert not target.exists() if dangling else target.read_text() == OLD


@pytest.mark.parametrize("force", [False, True])
def test_a_folder_a_pipe_and_a_device_are_left_alone(tmp_path: Path, force: bool) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path, word in ((tmp_path, "folder"), (pipe, "plain file"), (Path("/dev/null"), "plain file")):
        with pytest.raises(FileUnusable, match=word):
            write_whole(path, NEW, force=force)
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)
    assert only(tmp_path) == ["pipe"]


@pytest.mark.parametrize(
    ("name", "why"),
    [("missing/log.csv", "folder does not exist"), ("file/log.csv", "cannot be written"), ("x" * 300, "too long")],
)
def test_an_unusable_place_is_reported_with_a_remedy(tmp_path: Path, name: str, why: str) -> None:
    (tmp_path / "file").write_text(OLD)
    with pytest.raises(FileUnusable, match=why) as refusal:
        write_whole(tmp_path / name, NEW)
    assert len(refusal.value.sentences) == 1
    assert only(tmp_path) == ["file"]


@pytest.mark.parametrize("name", ["nul\x00byte", "esc\x1b[31m/x"])
def test_a_hostile_file_name_gives_one_printable_sentence(tmp_path: Path, name: str) -> None:
    with pytest.raises(FileUnusable) as refusal:
        write_whole(tmp_path / name, NEW)
    assert str(refusal.value).isprintable()


def test_a_lone_surrogate_is_refused_before_any_file_is_made(tmp_path: Path) -> None:
    with pytest.raises(FileUnusable, match="character pair"):
        write_whole(tmp_path / "log", "a\ud800b")
    assert only(tmp_path) == []


@pytest.mark.parametrize("force", [False, True])
def test_a_full_disk_leaves_the_old_file_and_no_temporary_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, force: bool
) -> None:
    path = tmp_path / "log.csv"
    if force:
        path.write_text(OLD)

    def full(descriptor: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileUnusable, match="No space left"):
        write_whole(path, NEW, force=force)
    assert only(tmp_path) == (["log.csv"] if force else [])
    assert not force or path.read_text() == OLD


def test_a_file_that_appears_at_the_last_moment_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, fsync = tmp_path / "log.csv", os.fsync

    def meanwhile(descriptor: int) -> None:
        path.write_text(OLD)
        fsync(descriptor)

    monkeypatch.setattr(os, "fsync", meanwhile)
    with pytest.raises(Refused, match="already"):
        write_whole(path, NEW)
    assert path.read_text() == OLD
    assert only(tmp_path) == ["log.csv"]


@pytest.mark.parametrize("taken", [False, True])
def test_without_hard_links_an_existing_file_is_still_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, taken: bool
) -> None:
    path = tmp_path / "log.csv"

    def no_links(source: Path, target: Path, *, follow_symlinks: bool) -> None:
        assert not follow_symlinks
        if taken:
            path.write_text(OLD)
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", no_links)
    if taken:
        with pytest.raises(Refused, match="already"):
            write_whole(path, NEW)
    else:
        write_whole(path, NEW)
    assert path.read_bytes() == (OLD if taken else NEW).encode()
    assert only(tmp_path) == ["log.csv"]


def test_an_interruption_leaves_no_temporary_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(descriptor: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "log.csv", NEW)
    assert only(tmp_path) == []


@pytest.mark.skipif(os.geteuid() == 0, reason="a folder is closed to nobody who is root")
def test_a_folder_closed_to_writing_is_reported(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(WetsideError, match="Permission denied"):
            write_whole(tmp_path / "log.csv", NEW)
    finally:
        tmp_path.chmod(0o700)
