"""Home, going on with an evening and following it load no library of units: their first picture waits for none."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from wetside.files.settings import JOURNAL

PROGRAM = (
    "import sys; from wetside.cli import main; code = main(sys.argv[1:]); "
    "print('units:', 'pint' in sys.modules, file=sys.stderr); sys.exit(code)"
)


def led(data: Path, *words: str, typed: bytes = b"") -> str:
    """What a run in plain mode prints on stderr."""
    line = [sys.executable, "-c", PROGRAM, "--data", str(data), *words]
    return subprocess.run(line, input=typed, capture_output=True, check=False, timeout=240).stderr.decode()


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with an evening that was begun and left."""
    data = tmp_path_factory.mktemp("units") / "data"
    led(data, "start", "three-rolls", "--plain", typed=b"\n")
    assert (data / JOURNAL).exists()
    return data


@pytest.mark.parametrize(
    "words", [("--plain",), ("resume", "last", "--plain"), ("follow", "last", "--plain")], ids=str
)
def test_unit_library_is_not_loaded_before_a_running_session(evening: Path, words: tuple[str, ...]) -> None:
    assert "units: False" in led(evening, *words)
