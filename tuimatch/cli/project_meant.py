"""What a command works on: the project given or in use; a page of it, or some choices."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tuimatch.errors import UsageError
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.log import Log


def project_meant(arguments: argparse.Namespace, log: Log) -> str:
    """The project's name as it is spelled: that of --project, or the one in use.

    Raises:
        LogError: There is no project of that name.
        UsageError: None is given and none is in use.
    """
    if arguments.project is not None:
        return log.projects.existing(arguments.project)[1]
    projects = log.projects.all()
    current = next((project.name for project in projects if project.current), None)
    if current is None:
        names = ", ".join(project.name for project in projects)
        known = f"there are {names}" if names else "there is none yet"
        raise UsageError(f"no project is in use; give --project NAME; {known}")
    return current


def say_which(arguments: argparse.Namespace, project: str) -> None:
    """Head an output with the project where it was not given."""
    if arguments.project is None:
        print(printable(f"project {project!r}, the one in use"))


def add_scope(parser: argparse.ArgumentParser) -> None:
    """Let a command for a project be for a page of it, or for some of its areas alone."""
    scope = parser.add_mutually_exclusive_group()
    scope.add_argument("--page", metavar="N", help="only the areas of this page")
    scope.add_argument(
        "--only",
        action="extend",
        type=_numbers,
        metavar="ID[,ID…]",
        help="only these areas, by the numbers that `tuimatch log` prints; may be given again",
    )


def number(text: str) -> int:
    """The number of a choice."""
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        raise argparse.ArgumentTypeError(f"{text!r} is no number of a choice; `log` lists them")
    return int(text)


def _numbers(text: str) -> list[int]:
    return [number(part.strip()) for part in text.split(",")]
