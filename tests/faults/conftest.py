"""Fixtures of the fault tests: a data folder, and a small disk that can be filled."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 2 MB; the test is skipped where none may be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(disk)], capture_output=True)
    if mounted.returncode:
        pytest.skip("no permission to mount a small disk here")
    yield disk
    subprocess.run(["umount", "-l", str(disk)], check=True)
