"""`tuimatch projects`: list them, make one, use, rename, archive and restore."""

from __future__ import annotations

import argparse

from tuimatch.cli.arguments import (
    actions,
    command_for,
    existing_log,
    log_for_reading,
    log_for_writing,
)
from tuimatch.cli.tables import print_table
from tuimatch.files.json_out import to_json
from tuimatch.text import local_day, printable

DESCRIPTION = "List the projects; the one in use is marked with *."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    parser.add_argument("--all", action="store_true", help="the archived ones too")
    action = actions(parser)
    for name, run, help in (
        ("create", run_create, "make a project and use it"),
        ("use", run_use, "what you take goes to it from now on"),
        ("rename", run_rename, "give it another name"),
        ("archive", run_archive, "leave it out of the lists; its recipes stay"),
        ("restore", run_restore, "put it back into the lists"),
    ):
        added = action(name, run, help)
        added.add_argument("name", metavar="NAME", help="the project")
        if name == "rename":
            added.add_argument("new_name", metavar="NEW", help="its new name")


def run(arguments: argparse.Namespace) -> None:
    """List the projects in order of their making."""
    with log_for_reading(arguments) as log:
        # A program can leave out the archived ones itself.
        archived = arguments.all or arguments.json
        projects = log.projects.all(archived=archived) if log else []
    if arguments.json:
        for project in projects:
            print(
                to_json(
                    {
                        "name": project.name,
                        "choices": project.choices,
                        "current": project.current,
                        "created_at": project.created_at,
                        "archived_at": project.archived_at,
                    }
                )
            )
        return
    if not projects:
        print("No projects yet; taking a recipe makes one.")
    rows = [
        [
            f"{'*' if project.current else ' '} {project.name}",
            f"{project.choices:,}",
            f"since {local_day(project.created_at)}",
            f"archived {local_day(project.archived_at)}" if project.archived_at else "",
        ]
        for project in projects
    ]
    print_table(rows, "<><<")


def run_create(arguments: argparse.Namespace) -> None:
    """Make a project and use it."""
    with log_for_writing(arguments) as log:
        print(printable(f"project {log.projects.create(arguments.name)!r} made and in use"))


def run_use(arguments: argparse.Namespace) -> None:
    """Remember a project as the one in use."""
    with existing_log(arguments) as log:
        print(printable(f"project {log.projects.use(arguments.name)!r} in use"))


def run_rename(arguments: argparse.Namespace) -> None:
    """Give a project another name."""
    with existing_log(arguments) as log:
        new = log.projects.rename(arguments.name, arguments.new_name)
        undo = command_for(arguments, "log", "undo")
        print(printable(f"project {new!r} renamed; {undo} undoes it"))


def run_archive(arguments: argparse.Namespace) -> None:
    """Leave a project out of the lists."""
    with existing_log(arguments) as log:
        name = log.projects.archive(arguments.name)
        restore = command_for(arguments, "projects", "restore", name)
        print(printable(f"project {name!r} archived; {restore} brings it back"))


def run_restore(arguments: argparse.Namespace) -> None:
    """Put an archived project back into the lists."""
    with existing_log(arguments) as log:
        print(printable(f"project {log.projects.restore(arguments.name)!r} restored"))
