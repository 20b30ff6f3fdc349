"""How hypothesis tries: without a deadline, for nothing here asserts a time; longer when asked."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

_CHECKS = list(HealthCheck)
settings.register_profile(
    "suite", deadline=None, suppress_health_check=_CHECKS, print_blob=True, max_examples=60
)
settings.register_profile("long", deadline=None, suppress_health_check=_CHECKS, max_examples=5_000)
settings.load_profile("suite")
