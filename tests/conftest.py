"""What holds for every test: a slow or busy machine fails none of them. Speed is measured in `tests/speed`."""

from __future__ import annotations

import os
import sys

import pytest
from hypothesis import HealthCheck, settings

WAITING = ("robot", "faults")
"""Their tests wait most of their time for a program on a terminal: begun first, they wait beside the others."""


LONG_S = 7200
"""After how long a long form counts as hanging; the short forms have the limit of `pyproject.toml`."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that wait come first, whole evenings before all; the order is kept otherwise. Long forms may last."""
    items.sort(key=lambda item: WAITING.index(folder) if (folder := item.path.parent.name) in WAITING else 9)
    for item in items:
        if item.get_closest_marker("long") and not item.get_closest_marker("timeout"):
            item.add_marker(pytest.mark.timeout(LONG_S))


# Compiled modules are kept, whatever the environment says: otherwise every worker rewrites the assertions of every
# test module (8 s of CPU time each), and every program a test starts compiles the package again.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("unhurried", deadline=None, suppress_health_check=(HealthCheck.too_slow,))
settings.load_profile("unhurried")
