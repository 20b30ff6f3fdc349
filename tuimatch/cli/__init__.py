"""The command line: one module for each command, the exit codes in one place.

Modules here are read at every start, so they load what they need inside their `run`.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys

from tuimatch.cli.arguments import parse
from tuimatch.errors import TuimatchError

OK, BAD_INPUT, INTERRUPTED = 0, 2, 130


def run(argv: list[str]) -> int:
    """Run one command and give its exit code; refusals are one line on standard error."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a character shows a mark, not a traceback; what is no
            # text on standard input is read as marks, which are no colour.
            stream.reconfigure(errors="replace")
    try:
        arguments = parse(argv)
        arguments.run(arguments)
        sys.stdout.flush()
    except TuimatchError as error:
        print(f"tuimatch: {error}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader has gone; what is still buffered must not complain at exit.
        with contextlib.suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return OK
