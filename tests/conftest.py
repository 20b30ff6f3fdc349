"""How hypothesis tries.

The suite tries the same cases each time, as hypothesis's own profile for continuous integration
does: a check that guards a branch must say the same twice. New cases are hunted with
`--hypothesis-profile=long`. Neither has a deadline, for nothing here asserts a time.
"""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "suite",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=100,
    suppress_health_check=list(HealthCheck),
)
settings.register_profile(
    "long", settings.get_profile("suite"), derandomize=False, print_blob=True, max_examples=5_000
)
settings.load_profile("suite")
