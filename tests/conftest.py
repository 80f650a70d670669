"""Settings for all tests: none depends on the speed of the machine. Speed is measured in `tests/speed`."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from wetside.files.settings import Places

WAITING = ("robot", "faults")
"""The folders whose tests mostly wait for a program on a terminal; started first, they wait while others run."""


LONG_S = 7200
"""The time limit of a test marked `long`, s; the others have the limit of `pyproject.toml`."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Sort the tests that mostly wait to the front, and give those marked `long` their time limit."""
    items.sort(key=lambda item: WAITING.index(folder) if (folder := item.path.parent.name) in WAITING else 9)
    for item in items:
        if item.get_closest_marker("long") and not item.get_closest_marker("timeout"):
            item.add_marker(pytest.mark.timeout(LONG_S))


@pytest.fixture
def places(tmp_path: Path) -> Places:
    """A data folder and settings file of the test's own; neither exists yet."""
    return Places(tmp_path / "data", tmp_path / "settings.toml")


# Compiled modules are always written: otherwise every worker rewrites the assertions of every test module (8 s of
# CPU time each), and every program that a test starts compiles the package again.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("unhurried", deadline=None, suppress_health_check=(HealthCheck.too_slow,))
settings.load_profile("unhurried")


@pytest.fixture(autouse=True)
def leave_the_seats() -> Iterator[None]:
    """End the apps that a test has started for its screens."""
    yield
    if (seen := sys.modules.get("tests.tui.seen")) is not None:
        seen.Seat.leave_all()
