"""What can be asked on the command line."""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import NoReturn

from tuimatch import __version__
from tuimatch.cli import open_screen
from tuimatch.errors import UsageError
from tuimatch.palette.file import DEFAULT

_OPEN = "open"
# Each is a module of this package; only the one asked for is loaded.
_COMMANDS = (
    *("match", "pick", "palettes", "swatch", "log", "projects", "guide"),
    *("passes", "economy", "wheel", "keys"),
)

_DESCRIPTION = """\
Finds the recipe of fixed ink tints that comes nearest to a colour.

  tuimatch                 open the interface
  tuimatch COLOUR          open it on a colour
  tuimatch COMMAND ...     one of the commands below
"""
_EPILOG = """\
COLOUR is anything CSS can write: d94f2a, tomato, "rgb(217 79 42)", "oklch(0.6 0.17 40)".
A colour on screen is no contract proof; ink limits and paper are the printer's to settle.
"""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}; see `{self.prog} --help`")


def parse(argv: list[str]) -> argparse.Namespace:
    """Read the arguments; the result's `run` is the function to call with it.

    Raises:
        UsageError: They make no sense.
    """
    word = _first_word(argv)
    if word in _COMMANDS:
        parser = _parser(word)
    elif word is None and {"-h", "--help", "--version"} & set(argv):
        parser = _parser(*_COMMANDS)
    else:
        parser, argv = _parser(), [_OPEN, *argv]
    arguments = parser.parse_args(argv)
    arguments.palette_given = hasattr(arguments, "palette")
    for name, default in (("palette", DEFAULT), ("project", None), ("log", None)):
        if not hasattr(arguments, name):
            setattr(arguments, name, default)
    return arguments


def _parser(*names: str) -> argparse.ArgumentParser:
    """A parser that knows some of the commands, and opening the interface."""
    shared = _shared()
    parser = _Parser(
        prog="tuimatch",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        usage="tuimatch [COLOUR] [options]\n       tuimatch COMMAND [options]",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        parents=[shared],
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"tuimatch {__version__}")
    commands = parser.add_subparsers(
        title="commands", metavar="COMMAND", prog="tuimatch", parser_class=_Parser, required=True
    )
    for name in names:
        import_module(f"tuimatch.cli.{name}").add(commands, shared)
    opening = commands.add_parser(_OPEN, parents=[shared], allow_abbrev=False, prog="tuimatch")
    open_screen.add_arguments(opening)
    return parser


def _shared() -> _Parser:
    """The options that are taken before and after a command."""
    shared = _Parser(add_help=False, argument_default=argparse.SUPPRESS)
    group = shared.add_argument_group("options for every command")
    group.add_argument(
        "--palette", metavar="P", help=f"a shipped palette's name or a .toml file ({DEFAULT})"
    )
    group.add_argument(
        "--project",
        metavar="NAME",
        help="the project whose choices are meant; where one is needed, else the one in use",
    )
    group.add_argument(
        "--log", metavar="FILE", help="the log to use instead of the one in the data folder"
    )
    return shared


def _first_word(argv: list[str]) -> str | None:
    """The first argument that is neither an option nor an option's value."""
    rest = iter(argv)
    for argument in rest:
        if argument in ("--palette", "--project", "--log"):
            next(rest, None)
        elif argument == "--":
            return next(rest, None)
        elif argument == "-" or not argument.startswith("-"):
            return argument
    return None
