"""The project that a command works on: the one given, else the one in use."""

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
