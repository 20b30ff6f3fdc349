"""`tuimatch [COLOUR]`: open the interface."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING, Any

from tuimatch.errors import LogError, TargetError, UsageError
from tuimatch.log.location import log_path
from tuimatch.palette import file as palette_file
from tuimatch.tui import keys_file

if TYPE_CHECKING:
    from tuimatch.tui.app import TuimatchApp


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of opening the interface."""
    parser.add_argument("colour", nargs="?", metavar="COLOUR", help="the colour to open on")


def run(arguments: argparse.Namespace) -> None:
    """Check what was given, then hand the terminal to the interface."""
    palette = palette_file.load(arguments.palette)
    if arguments.colour is not None:
        from tuimatch.colour import css_text

        try:
            css_text.read(arguments.colour)
        except TargetError as error:
            if arguments.colour.isalpha():
                raise UsageError(
                    f"{arguments.colour!r} is neither a command nor a colour; see `tuimatch --help`"
                ) from error
            raise
    needs_terminal("`tuimatch match COLOUR` does not")
    from tuimatch.tui.app import TuimatchApp

    app = TuimatchApp(palette=palette, colour=arguments.colour, **surroundings(arguments))
    run_app(app)


def needs_terminal(instead: str) -> None:
    """Refuse to open the interface where there is no terminal.

    Raises:
        UsageError: There is none; the message says which command works without.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(f"the interface needs a terminal; {instead}")


def surroundings(arguments: argparse.Namespace) -> dict[str, Any]:
    """The project, the log and the keys that the interface opens with."""
    keymap = {}
    if keys_file.wanted(os.environ):
        from tuimatch.tui.all_keys import defaults

        keymap = keys_file.load(os.environ, defaults())
    return {
        "project": _project(arguments.project),
        "log_path": log_path(arguments.log),
        "keymap": keymap,
        "palette_given": arguments.palette_given,
    }


def run_app(app: TuimatchApp) -> None:
    """Hand the terminal to the interface until it is left.

    Raises:
        LogError: Something could not be kept in the log; the message says what.
        SystemExit: The interface failed, and has said how.
    """
    app.run()
    if app.keeper.unsaved:
        lost = "; ".join(f"{c.label or c.target_text}: {c.recipe}" for c in app.keeper.unsaved)
        raise LogError(f"{app.keeper.problem} NOT saved: {lost}")
    if app.return_code:
        sys.exit(app.return_code)


def _project(given: str | None) -> str | None:
    """The project asked for; None for the one used last, which the log knows once it is open."""
    if given is None:
        return None
    from tuimatch.log import checked_name  # the log is slow to import

    return checked_name(given, "the project's name") or None
