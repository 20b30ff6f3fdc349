"""The command line: one module for each command, the exit codes in one place.

Modules here are read at every start, so they load what they need inside their `run`.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from typing import TextIO

from tuimatch.cli.arguments import parse
from tuimatch.errors import TuimatchError
from tuimatch.text import printable

OK, BAD_INPUT, INTERRUPTED = 0, 2, 130


def run(argv: list[str]) -> int:
    """Run one command and give its exit code; refusals are one line on standard error."""
    _ready_streams()
    try:
        try:
            arguments = parse(argv)
            arguments.run(arguments)
        finally:
            sys.stdout.flush()
    except TuimatchError as error:
        return _refused(str(error))
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        _discard(sys.stdout)  # the reader has gone
    except OSError as error:
        # Files that are asked for are refused where they are opened; what is left is mostly a
        # full disk under standard output.
        _discard(sys.stdout)
        what = f"{error.filename}: " if error.filename else "cannot read or write: "
        return _refused(printable(f"{what}{error.strerror or error}"))
    return OK


def _refused(line: str) -> int:
    try:
        print(f"tuimatch: {line}", file=sys.stderr, flush=True)
    except OSError:
        _discard(sys.stderr)
    return BAD_INPUT


def _ready_streams() -> None:
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:  # closed by whoever started us
            nothing = os.open(os.devnull, os.O_RDWR)
            setattr(sys, name, os.fdopen(nothing, mode, encoding="utf-8", closefd=False))
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a character shows a mark, not a traceback; what is no
            # text on standard input is read as marks, which are no colour.
            stream.reconfigure(errors="replace")


def _discard(stream: TextIO) -> None:
    """What a stream still holds must not complain at exit."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
