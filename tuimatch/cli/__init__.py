"""The command line: the commands by their job, one module for each, and the exit codes.

A command is a line in `GROUPS` and a module of its name here with three things: `DESCRIPTION`,
`add_arguments(parser)` and `run(arguments)`. Only the one asked for is loaded, and it loads what
it needs inside its `run`.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import sys
import warnings
from importlib import import_module
from typing import TextIO

from tuimatch import __version__
from tuimatch.cli.arguments import Parser, first_word, read
from tuimatch.errors import TuimatchError
from tuimatch.text import printable

OK, BAD_INPUT, INTERRUPTED = 0, 2, 130

GROUPS = {
    "match a colour": {
        "match": "rank the recipes for colours",
        "pick": "match a colour of a picture",
        "wheel": "the most vivid recipe of each hue, to try a new ink set",
    },
    "keep recipes": {
        "log": "print what was kept in a project or in all; undo, check, export, import",
        "take": "put what match or page found into the log",
        "projects": "list the projects; create, use, rename, archive",
        "guide": "write a project as a sheet to work from",
    },
    "plan a page": {
        "page": "match all colours of a page together, so that neighbours stay apart",
        "rematch": "match a project again on another palette",
        "passes": "plan a project or a page with the fewest changes of brush",
        "economy": "fewer passes for a little more ΔE",
        "tints": "which one more tint would help a project most",
    },
    "out of the terminal": {
        "layers": "draw a page as layers, plates or a proof",
        "chart": "draw every recipe of a palette for the wall",
    },
    "palettes": {
        "palettes": "list the shipped palettes; check, make or import your own",
        "swatch": "read the share of ink from a picture of a tint",
    },
    "the interface": {
        "keys": "the keys of the interface, to change them",
    },
}

_DESCRIPTION = """\
Finds the recipe of fixed ink tints that comes nearest to a colour.

  tuimatch                 open the interface
  tuimatch COLOUR          open it on a colour
  tuimatch COMMAND ...     one of the commands below
"""
_EPILOG = """\
COLOUR is anything CSS can write: d94f2a, tomato, "rgb(217 79 42)", "oklch(0.6 0.17 40)".
A colour on screen is not a contract proof; ink limits and paper are the printer's to settle.
"""


def parse(argv: list[str]) -> argparse.Namespace:
    """Read the arguments; the result's `run` is the function to call with it.

    Raises:
        UsageError: They make no sense.
    """
    place = first_word(argv)
    word = argv[place] if place is not None else ""
    if place is not None and any(word in commands for commands in GROUPS.values()):
        name, argv = word, argv[:place] + argv[place + 1 :]
        command = import_module(f"tuimatch.cli.{name}")
        parser = Parser(prog=f"tuimatch {name}", description=command.DESCRIPTION)
    else:
        command = import_module("tuimatch.cli.open_screen")
        parser = Parser(
            prog="tuimatch",
            usage="tuimatch [COLOUR] [options]\n       tuimatch COMMAND [options]",
            description="\n".join([_DESCRIPTION, *map(_in_help, GROUPS)]),
            epilog=_EPILOG,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        parser.add_argument("--version", action="version", version=f"tuimatch {__version__}")
    parser.set_defaults(run=command.run)
    command.add_arguments(parser)
    return read(parser, argv)


def _in_help(group: str) -> str:
    """The commands of a group with what they do."""
    lines = [f"  {name:<10} {help}" for name, help in GROUPS[group].items()]
    return "\n".join([f"{group}:", *lines, ""])


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
        # It may come between opening a file and the `with` that closes it; the end of the process
        # does so too, and a warning of it would be noise on the terminal.
        warnings.simplefilter("ignore", ResourceWarning)
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
        if getattr(sys, name) is None:  # closed by the program that started us
            nothing = os.open(os.devnull, os.O_RDWR)
            setattr(sys, name, os.fdopen(nothing, mode, encoding="utf-8", closefd=False))
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a character shows a mark, not a traceback; what is not
            # text on standard input is read as marks, which are not a colour.
            stream.reconfigure(errors="replace")


def _discard(stream: TextIO) -> None:
    """What a stream still holds must not complain at exit."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
