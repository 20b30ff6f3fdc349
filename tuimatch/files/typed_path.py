"""A path as people type, paste or drop it."""

from __future__ import annotations

import os
import shlex
from contextlib import suppress
from pathlib import Path


def typed_path(text: str) -> Path:
    """The path meant: ``~`` is the home folder; quotes and backslashes of a dropped file go."""
    text = text.strip()
    if not os.path.lexists(text):
        with suppress(ValueError):  # an apostrophe in a name is no quote
            words = shlex.split(text)
            text = words[0] if len(words) == 1 else text
    with suppress(ValueError):  # a NUL; whoever opens it says so
        text = os.path.expanduser(text)  # Path.expanduser fails where there is no such user
    return Path(text)
