"""Where the log is."""

from __future__ import annotations

import os
from pathlib import Path

from tuimatch.errors import LogError
from tuimatch.files.in_file import user_path


def default_path() -> Path:
    """The log in the user's data folder."""
    import platformdirs  # only when no --log is given

    return Path(platformdirs.user_data_dir("tuimatch", appauthor=False)) / "log.sqlite"


def log_path(given: str | None) -> Path:
    """The log to use: the one given, TUIMATCH_LOG, or the one in the user's data folder.

    Raises:
        LogError: It is in the home folder of a user who does not exist.
    """
    chosen = given or os.environ.get("TUIMATCH_LOG")
    if not chosen:
        return default_path()
    path = user_path(chosen)
    # The log's folder is made where it is missing; one of that name is hardly what is meant.
    if path.parts[:1] and path.parts[0].startswith("~"):
        raise LogError(f"{path}: there is no such home folder; give another log with --log")
    return path
