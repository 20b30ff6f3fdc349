"""`tuimatch passes`: a project or a page painted with the fewest changes of brush."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tuimatch.cli.opened_log import existing_log
from tuimatch.errors import UsageError
from tuimatch.json_text import to_json
from tuimatch.text import percent, printable

if TYPE_CHECKING:
    from tuimatch.passes import Plan

NAME = "passes"


def add(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        NAME,
        parents=[shared],
        allow_abbrev=False,
        help="plan a project or a page with the fewest changes of brush",
        description="Group every area of a project by ink and tint, in laying order. A change is "
        "a new ink or a new tint; the first set-up counts as one.",
    )
    parser.add_argument("--page", metavar="N", help="only the areas of this page")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> None:
    """Print the plan."""
    if not arguments.project:
        raise UsageError("`tuimatch passes` needs --project NAME")
    with existing_log(arguments) as log:
        from tuimatch.areas import areas_of_log, on_page
        from tuimatch.passes import plan

        _, project = log.projects.existing(arguments.project)
        choices = on_page(log.choices(project), project, arguments.page)
        found = plan(areas_of_log(log, choices))
    if arguments.json:
        print(to_json(found.as_json()))
    else:
        _print_plan(found)


def _print_plan(found: Plan) -> None:
    print(f"{found.in_words()}.")
    rows = [
        (
            str(number),
            printable(one.ink),
            f"{percent(one.brush.tint)} %",
            printable(one.label or ""),
            f"{len(one.areas)}:",
            printable("; ".join(area.name for area in one.areas)),
        )
        for number, one in enumerate(found.passes, start=1)
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    several = len({one.palette.digest for one in found.passes}) > 1
    palette = None
    for one, row in zip(found.passes, rows, strict=True):
        if several and one.brush.palette != palette:
            palette = one.brush.palette
            print(f"{printable(one.palette.name)}:")
        number, ink, tint, label, count, areas = row
        cells = (number.rjust(widths[0]), ink.ljust(widths[1]), tint.rjust(widths[2]))
        named = (label.ljust(widths[3]),) if widths[3] else ()
        print("  ".join((*cells, *named, count.rjust(widths[4]), areas)))
