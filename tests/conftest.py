"""How many cases hypothesis tries: its default in the suite, many more when asked."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("long", max_examples=20_000, deadline=None)
