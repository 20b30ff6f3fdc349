"""`tuimatch [COLOUR]`: open the interface."""

from __future__ import annotations

import argparse
import os
import sys

from tuimatch import keys, palette_file
from tuimatch.errors import LogError, TargetError, UsageError
from tuimatch.log_location import log_path


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
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError("the interface needs a terminal; `tuimatch match COLOUR` does not")
    keymap = {}
    if keys.wanted(os.environ):
        from tuimatch.tui.all_keys import defaults

        keymap = keys.load(os.environ, defaults())
    from tuimatch.tui.app import TuimatchApp

    app = TuimatchApp(
        palette=palette,
        colour=arguments.colour,
        project=_project(arguments.project),
        log_path=log_path(arguments.log),
        keymap=keymap,
    )
    app.run()
    if app.keeper.unsaved:
        lost = "; ".join(f"{c.label or c.target_text}: {c.recipe}" for c in app.keeper.unsaved)
        raise LogError(f"{app.keeper.problem} NOT kept: {lost}")


def _project(given: str | None) -> str | None:
    """The project asked for; None for the one used last, which the log knows once it is open."""
    if given is None:
        return None
    from tuimatch.log import checked_name  # the log is slow to import

    return checked_name(given, "the project's name") or None
