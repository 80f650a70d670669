"""What holds for every test: a slow or busy machine fails none of them. Speed is measured in `tests/speed`."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("unhurried", deadline=None, suppress_health_check=(HealthCheck.too_slow,))
settings.load_profile("unhurried")
