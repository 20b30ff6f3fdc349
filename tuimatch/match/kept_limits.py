"""The limits that a project begins with, as a text: the options that ask for them, in JSON."""

from __future__ import annotations

import json
from contextlib import suppress
from typing import Any

from tuimatch.errors import NarrowingError
from tuimatch.match import typed_limits
from tuimatch.match.limits import Narrowing, start
from tuimatch.palette.model import Palette


def to_text(palette: Palette, narrowing: Narrowing, used_only: bool) -> str:
    """The text of limits; empty where they are those that the palette comes with."""
    if narrowing == start(palette) and not used_only:
        return ""
    most, coverage = narrowing.max_inks, narrowing.max_coverage
    options: dict[str, Any] = {
        "without": [palette.inks[ink].name for ink in sorted(narrowing.without)],
        # In full and with the sign of percent, so that no label can be meant.
        "fixed": [f"{palette.inks[ink].name}={tint!r}%" for ink, tint in sorted(narrowing.fixed)],
        "max_inks": None if most is None else str(most),
        "max_coverage": typed_limits.NO_LIMIT if coverage is None else repr(coverage),
    }
    return json.dumps({"used_only": used_only, **options}, ensure_ascii=False)


def read(palette: Palette, text: str) -> tuple[Narrowing, bool]:
    """The limits of a text, and whether only recipes in use may be offered.

    A text that is damaged, or names inks that the palette lacks, does not count: then they are
    those that the palette comes with.
    """
    with suppress(ValueError, RecursionError, TypeError, KeyError, AttributeError, NarrowingError):
        found = json.loads(text)
        used_only = found.pop("used_only")
        if isinstance(used_only, bool):
            return typed_limits.read(palette, **found), used_only
    return start(palette), False
