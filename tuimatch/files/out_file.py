"""Writing a file that was asked for: whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from tuimatch.errors import OutputError


def is_taken(path: Path) -> bool:
    """Whether something has that name already, be it a link to nothing; an empty file is none."""
    with suppress(OSError):
        if path.is_file() and not path.stat().st_size:
            return False
    return os.path.lexists(path)


def write(path: Path, text: str) -> None:
    """Put a text into a file as UTF-8; a file that was there stays until the new one is whole.

    Raises:
        OutputError: It cannot be written.
    """
    try:
        number, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(number, "w", encoding="utf-8", newline="") as file:
                file.write(text)
            umask = os.umask(0)
            os.umask(umask)
            Path(name).chmod(0o666 & ~umask)
            Path(name).replace(path)
        except BaseException:
            with suppress(OSError):
                Path(name).unlink()
            raise
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); give another with --out"
        ) from error
