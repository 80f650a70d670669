"""What holds for every test: a slow or busy machine fails none of them. Speed is measured in `tests/speed`."""

from __future__ import annotations

import os
import sys

import pytest
from hypothesis import HealthCheck, settings

WAITING = ("robot", "faults")
"""Their tests wait most of their time for a program on a terminal: begun first, they wait beside the others."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that wait come first; the order is kept otherwise."""
    items.sort(key=lambda item: item.path.parent.name not in WAITING)


# Compiled modules are kept, whatever the environment says: otherwise every worker rewrites the assertions of every
# test module (8 s of CPU time each), and every program a test starts compiles the package again.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("unhurried", deadline=None, suppress_health_check=(HealthCheck.too_slow,))
settings.load_profile("unhurried")
