"""Where the log is."""

from __future__ import annotations

import os
from pathlib import Path


def default_path() -> Path:
    """The log in the user's data folder."""
    import platformdirs  # only when no --log is given

    return Path(platformdirs.user_data_dir("tuimatch", appauthor=False)) / "log.sqlite"


def log_path(given: str | None) -> Path:
    """The log to use: the one given, TUIMATCH_LOG, or the one in the user's data folder."""
    chosen = given or os.environ.get("TUIMATCH_LOG")
    return Path(chosen).expanduser() if chosen else default_path()
