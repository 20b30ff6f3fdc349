"""How many cases hypothesis tries: its default in the suite, many more when asked."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "long", max_examples=5_000, deadline=None, suppress_health_check=list(HealthCheck)
)
