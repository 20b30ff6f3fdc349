"""`tuimatch passes`: a project or a page painted with the fewest changes of brush."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import add_scope, existing_log, project_meant, say_which
from tuimatch.cli.tables import aligned, swatches, truecolour
from tuimatch.files.json_out import to_json
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.planning.areas import Area
    from tuimatch.planning.passes import Plan

DESCRIPTION = (
    "Group every area of a project by ink and tint, in laying order. A change is "
    "a new ink or a new tint; the first set-up counts as one."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_scope(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(arguments: argparse.Namespace) -> None:
    """Print the plan."""
    with existing_log(arguments) as log:
        from tuimatch.planning.areas import areas_of_log, chosen, left_out_in_words
        from tuimatch.planning.passes import plan

        project = project_meant(arguments, log)
        choices = chosen(log, project, arguments.page, arguments.only)
        areas, lost = areas_of_log(log, choices)
    found = plan(areas)
    if arguments.json:
        left_out = {"left_out": [choice.id for choice in lost]}
        print(to_json(found.as_json() | left_out))
    else:
        srgb = {choice.id: choice.srgb for choice in choices} if truecolour() else {}

        def name(area: Area) -> str:
            text = printable(area.name_with_page if arguments.page is None else area.name_in_words)
            if area.label or area.key not in srgb:
                return text
            r, g, b = bytes.fromhex(srgb[area.key][1:])  # figures say little without the colour
            return swatches((r, g, b), width=2) + text

        say_which(arguments, project)
        print(f"{found.in_words()}.")
        if lost:
            print(printable(left_out_in_words(lost)))
        _print_plan(found, name)


def _print_plan(found: Plan, name: Callable[[Area], str]) -> None:
    rows = [
        (
            str(number),
            one.words,
            f"{len(one.areas)}:",
        )
        for number, one in enumerate(found.passes, start=1)
    ]
    several = len({one.brush.palette for one in found.passes}) > 1
    palette = None
    for one, line in zip(found.passes, aligned(rows, "><>"), strict=True):
        if several and one.brush.palette != palette:
            palette = one.brush.palette
            print(f"{printable(one.palette.name)}:")
        print(f"{line}  {'; '.join(map(name, one.areas))}")
