"""`tuimatch guide`: a project as a sheet to work from."""

from __future__ import annotations

import argparse
from pathlib import Path

from tuimatch.cli.arguments import add_out, existing_log, out_path, project_meant, say_which
from tuimatch.text import printable

DESCRIPTION = (
    "Write the colour guide of a project; the extension says in which form: .html "
    "prints well, .md, .csv, .json, .gpl for painting programs, .cgats for printers."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--page", metavar="N", help="only the areas of this page")
    add_out(parser, "FILE")


def run(arguments: argparse.Namespace) -> None:
    """Write the guide."""
    from tuimatch import guide

    guide.form_of(Path(arguments.out))  # before the work
    out = out_path(arguments)
    with existing_log(arguments) as log:
        project = project_meant(arguments, log)
        choices = None
        if arguments.page is not None:
            from tuimatch.planning.areas import chosen

            choices = chosen(log, project, arguments.page)
        sheet = guide.gather(log, project, choices)
    guide.write(out, sheet, replace=arguments.replace)
    count = len(sheet.entries)
    say_which(arguments, project)
    print(printable(f"{out}: {count} {'colour' if count == 1 else 'colours'}"))
