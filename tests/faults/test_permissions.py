"""Who may read what was kept: its owner alone. Links are not followed, and what is closed to us is said."""

from __future__ import annotations

import shutil
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.faults.evening import keep, running
from tests.robot.program import COMMAND, JOURNAL, ROOT, environment, run, started

NOBODY = 65534


def mode(path: Path) -> int:
    return stat.S_IMODE(path.lstat().st_mode)


def open_to_others(folder: Path) -> list[str]:
    """Whatever in a data folder somebody else could read, write or enter."""
    found = [path for path in (folder, *folder.rglob("*")) if mode(path) & 0o077]
    return [f"{path.name}: {mode(path):o}" for path in found]


def test_the_data_folder_and_every_file_in_it_are_for_their_owner_alone(tmp_path: Path) -> None:
    data = tmp_path / "data"
    loose = ("/bin/sh", "-c", 'umask 000; exec "$0" "$@"')
    made = subprocess.run(
        [*loose, *COMMAND, "shelf", "mix", "two-bath", "--name", "Spring kit"],
        env=environment(data),
        cwd=ROOT,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )
    assert (made.returncode, made.stderr) == (0, "")
    assert (mode(data), mode(data / JOURNAL)) == (0o700, 0o600)
    keep(data, running("b1.bleach-fix"), passed_s=20.0)
    with started(data, "resume") as robot:
        robot.until_lit()
        names = {path.name for path in data.iterdir()}
        assert {JOURNAL, f"{JOURNAL}-wal", f"{JOURNAL}-shm", "drive.guard"} <= names
        assert any(name.startswith("drive-") and name.endswith(".lock") for name in names)
        assert open_to_others(data) == []


@pytest.mark.parametrize("form", ["toml", "csv", "jsonl", "markdown"])
def test_an_export_is_for_its_owner_alone_and_follows_no_link(tmp_path: Path, form: str) -> None:
    data = tmp_path / "data"
    keep(data, running("b1.developer"))
    out, link, target = tmp_path / "record", tmp_path / "link", tmp_path / "target"
    command = (
        "export",
        "last",
        "--format",
        form,
        "--output",
    )
    assert run(data, *command, str(out)).returncode == 0
    assert mode(out) == 0o600
    target.write_text("mine", "utf-8")
    link.symlink_to(target)
    for more in ((), ("--force",)):
        refused = run(data, *command, str(link), *more)
        assert refused.returncode == 3
        assert "symbolic link" in refused.stderr
        assert len(refused.stderr.splitlines()) == 1
    assert (link.is_symlink(), target.read_text("utf-8")) == (True, "mine")
    out.chmod(0o644)
    assert run(data, *command, str(out), "--force").returncode == 0
    assert mode(out) == 0o600


@pytest.fixture
def of_another(tmp_path: Path) -> Iterator[Path]:
    """A data folder with an evening in it, in a place that anybody may enter."""
    setpriv = shutil.which("setpriv")
    tried = None if setpriv is None else subprocess.run([*_another(), sys.executable, "-c", "import wetside"])
    if tried is None or tried.returncode:
        pytest.skip("no leave to be another user here, or the program cannot be read by one")
    above = [folder for folder in (tmp_path, *tmp_path.parents) if not mode(folder) & 0o001]
    before = [(folder, mode(folder)) for folder in above]
    for folder in above:
        folder.chmod(mode(folder) | 0o011)
    data = tmp_path / "data"
    keep(data, running("b1.developer"))
    yield data
    for folder, was in before:
        folder.chmod(was)


def _another() -> tuple[str, ...]:
    return ("setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups", "--bounding-set=-all")


def as_another(data: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*_another(), *COMMAND, *arguments],
        env=environment(data),
        cwd="/",
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )


def test_another_user_is_told_in_one_sentence_and_sees_nothing(of_another: Path) -> None:
    data = of_another
    for data_mode in (0o700, 0o711, 0o755):
        data.chmod(data_mode)
        before = (data / JOURNAL).read_bytes()
        for arguments in (
            ("sessions",),
            ("export", "last", "--format", "toml"),
            ("resume", "--plain"),
            ("shelf",),
        ):
            done = as_another(data, *arguments)
            assert done.returncode in (1, 3), (oct(data_mode), arguments, done)
            assert done.stdout == ""
            assert len(done.stderr.splitlines()) == 1
            assert "Traceback" not in done.stderr
            assert done.stderr.startswith("wetside: ")
        assert (data / JOURNAL).read_bytes() == before
        assert mode(data / JOURNAL) == 0o600
