"""`tuimatch guide`: a project as a sheet to work from."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from tuimatch.cli import palette_out
from tuimatch.cli.opened_log import existing_log
from tuimatch.cli.project_meant import project_meant, say_which
from tuimatch.text import printable

NAME = "guide"


def add(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        NAME,
        parents=[shared],
        allow_abbrev=False,
        help="write a project as a sheet to work from",
        description="Write the colour guide of a project; the extension says in which form: .html "
        "prints well, .md, .csv, .json, .gpl for painting programs, .cgats for printers.",
    )
    palette_out.add_out(parser, "FILE")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> None:
    """Write the guide."""
    from tuimatch import guide

    guide.form_of(Path(arguments.out))  # before the work
    out = palette_out.free(arguments)
    with existing_log(arguments) as log:
        project = project_meant(arguments, log)
        sheet = guide.gather(log, project)
    guide.write(out, sheet)
    count = len(sheet.entries)
    say_which(arguments, project)
    print(printable(f"{out}: {count} {'colour' if count == 1 else 'colours'}"))
