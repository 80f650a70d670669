"""What is installed from a wheel works without the checkout: the shipped processes, units and style are in it."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that holds the unpacked wheel and nothing else."""
    folder = tmp_path_factory.mktemp("wheel")
    build = "import sys; from hatchling.build import build_wheel; print(build_wheel(sys.argv[1]))"
    subprocess.run(
        [sys.executable, "-c", build, str(folder)], cwd=TOP, check=True, capture_output=True, timeout=300
    )
    (wheel,) = folder.glob("wetside-*.whl")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(folder / "site")
    return folder / "site"


def said(installed: Path, data: Path, *words: str) -> str:
    """What a command of the unpacked wheel prints, started far from the checkout."""
    environment = {**os.environ, "PYTHONPATH": str(installed), "WETSIDE_DATA": str(data)}
    ran = subprocess.run(
        [sys.executable, "-m", "wetside", *words],
        cwd=data.parent,
        env=environment,
        check=True,
        capture_output=True,
        text=True,
        timeout=300,
    )
    return ran.stdout


def test_wheel_contains_sound_profiles_and_setups(installed: Path, tmp_path: Path) -> None:
    package = TOP / "src" / "wetside"
    beside = {path.relative_to(package) for path in package.rglob("*.*") if path.suffix not in (".py", ".pyc")}
    assert {path.suffix for path in beside} >= {".toml", ".txt", ".css", ".tcss"}
    assert all((installed / "wetside" / path).is_file() for path in beside)
    assert "example: wetside export" in said(installed, tmp_path / "data", "export", "--help")
    assert "two-bath-prebath" in said(installed, tmp_path / "data", "profiles")
    # based on another, with a ready part, and typed units: what lies beside the code is all there
    assert "sound" in said(installed, tmp_path / "data", "check", "two-bath-prebath", "three-rolls")


def test_the_wheel_states_its_licence(installed: Path) -> None:
    (metadata,) = installed.glob("wetside-*.dist-info/METADATA")
    assert "License-Expression: MIT" in metadata.read_text("utf-8")
