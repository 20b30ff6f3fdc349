"""The log that a command works on."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tuimatch.errors import LogError

if TYPE_CHECKING:
    from tuimatch.log import Log


def command_for(arguments: argparse.Namespace, *words: str) -> str:
    """A command to type next, on the log that this one worked on, between backquotes."""
    log = ["--log", arguments.log] if arguments.log is not None else []
    return f"`{shlex.join(['tuimatch', *words, *log])}`"


@contextmanager
def log_for_reading(arguments: argparse.Namespace) -> Iterator[Log | None]:
    """The log, or None where there is none yet; asking makes none."""
    from tuimatch.log import log_path

    if log_path(arguments.log).exists():
        with log_for_writing(arguments) as log:
            yield log
    else:
        yield None


@contextmanager
def existing_log(arguments: argparse.Namespace) -> Iterator[Log]:
    """The log.

    Raises:
        LogError: There is none yet.
    """
    with log_for_reading(arguments) as log:
        if log is None:
            from tuimatch.log import log_path

            path = log_path(arguments.log)
            raise LogError(f"{path}: there is no log yet; take a recipe, or give one with --log")
        yield log


@contextmanager
def log_for_writing(arguments: argparse.Namespace) -> Iterator[Log]:
    """The log, made where there is none yet."""
    from tuimatch.log import Log, log_path

    with Log(log_path(arguments.log)) as log:
        if log.notice:
            print(f"tuimatch: {log.notice}", file=sys.stderr)
        yield log
