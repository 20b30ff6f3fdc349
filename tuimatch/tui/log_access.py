"""The open log behind a screen: what goes wrong is kept to be said, and it is tried again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from tuimatch.errors import LogError
from tuimatch.log import Log

Result = TypeVar("Result")

# Seconds to wait for another program's write: the screen's thread must not stand still.
_PATIENCE = 0.04


class LogAccess:
    """A log that is opened when it is needed, and again after it could not be used.

    Attributes:
        path: The log's file.
        notice: What happened to the file, such as repairing it; usually empty.
        problem: Why the last thing could not be done; empty when it could.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.notice = self.problem = ""
        self._log: Log | None = None

    def do(self, work: Callable[[Log], Result]) -> Result | None:
        """Do something with the log; None when it could not be done, with `problem` set."""
        self.problem = ""
        try:
            if self._log is None:
                self._log = Log(self.path, patience=_PATIENCE)
                self.notice = self._log.notice or self.notice
            return work(self._log)
        except LogError as error:
            if self._log is not None:
                self.notice = self._log.notice or self.notice  # it may just have been found damaged
            self.close()  # what was wrong with the file may be over when it is opened again
            self.problem = str(error)
            return None

    def close(self) -> None:
        """Close the log; it opens again when it is needed."""
        if self._log is not None:
            self._log.close()
            self._log = None
