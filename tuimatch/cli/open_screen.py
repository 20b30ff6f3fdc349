"""`tuimatch [COLOUR]`: open the interface."""

from __future__ import annotations

import argparse
import os
import sys
from typing import Any

from tuimatch import keys, palette_file
from tuimatch.errors import TargetError, UsageError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of opening the interface."""
    parser.add_argument("colour", nargs="?", metavar="COLOUR", help="the colour to open on")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> None:
    """Check what was given, then hand the terminal to the interface."""
    palette = palette_file.load(arguments.palette)
    if arguments.colour is not None:
        from tuimatch import colour_text

        try:
            colour_text.read(arguments.colour)
        except TargetError as error:
            if arguments.colour.isalpha():
                raise UsageError(
                    f"{arguments.colour!r} is no command and no colour; see `tuimatch --help`"
                ) from error
            raise
    needs_terminal("`tuimatch match COLOUR` does not")
    from tuimatch.tui.app import TuimatchApp

    TuimatchApp(palette=palette, colour=arguments.colour, **surroundings(arguments)).run()


def needs_terminal(instead: str) -> None:
    """Refuse to open the interface where there is no terminal.

    Raises:
        UsageError: There is none; what does without is said.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(f"the interface needs a terminal; {instead}")


def surroundings(arguments: argparse.Namespace) -> dict[str, Any]:
    """The project, the log and the keys that the interface opens with."""
    from tuimatch.log import checked_name, log_path, remembered_project

    keymap = {}
    if keys.wanted(os.environ):
        from tuimatch.tui.all_keys import defaults

        keymap = keys.load(os.environ, defaults())
    log = log_path(arguments.log)
    project = checked_name(arguments.project or "", "the project's name")
    return {
        "project": project or remembered_project(log),
        "log_path": log,
        "keymap": keymap,
    }
