"""`tuimatch log`: the choices made."""

from __future__ import annotations

import argparse
import json
from typing import Any

from tuimatch.text import printable

NAME = "log"


def add(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        NAME,
        parents=[shared],
        allow_abbrev=False,
        help="print the choices of a project or of all",
        description="Print the recipes chosen, oldest first.",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> None:
    """Print the choices, oldest first."""
    from tuimatch.log import log_path, read_only_choices

    choices = read_only_choices(log_path(arguments.log), arguments.project)
    if arguments.json:
        for choice in choices:
            print(json.dumps(choice.as_json(), ensure_ascii=False))
        return
    if not choices:
        whose = f"project {arguments.project!r}" if arguments.project else "the log"
        print(f"No choices in {printable(whose)} yet.")
    rows = [
        (
            str(choice.id),
            choice.chosen_at[:16].replace("T", " "),
            printable(choice.project),
            printable(choice.label) or "–",
            f"{choice.delta_e:.2f}",
            choice.srgb,
            printable(choice.recipe),
        )
        for choice in choices
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        print("  ".join(cells).rstrip())
