"""`tuimatch tints`: which one more tint would bring a project nearest, which is used least."""

from __future__ import annotations

import argparse

from tuimatch.cli.arguments import add_scope, existing_log, project_meant, say_which
from tuimatch.cli.tables import print_table
from tuimatch.files.json_out import to_json
from tuimatch.text import printable

DESCRIPTION = (
    "For the areas of a project: which one more tint of which ink would bring them nearest to "
    "the colours wanted, tried in steps of 1 %; and what giving up a tint would cost."
)
_LEAST_USED = 5


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_scope(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(arguments: argparse.Namespace) -> None:
    """Print the tints worth making, then those used least."""
    with existing_log(arguments) as log:
        from tuimatch.planning.areas import areas_of_log, chosen, left_out_in_words

        project = project_meant(arguments, log)
        choices = chosen(log, project, arguments.page, arguments.only)
        areas, lost = areas_of_log(log, choices)
    from tuimatch.planning import tints

    found = tints.tints(areas)
    if arguments.json:
        print(to_json(found.as_json() | {"left_out": [choice.id for choice in lost]}))
        return
    say_which(arguments, project)
    print(found.in_words())
    if lost:
        print(printable(left_out_in_words(lost)))
    with_page = arguments.page is None
    print_table(
        [
            (
                tints.brush_in_words(one.brush, several=found.several),
                f"total {one.total:.1f}",
                tints.moved_in_words(one.gains, with_page=with_page),
            )
            for one in found.best
        ],
        "<><",
    )
    if found.in_use:
        print("\nused least, and what giving it up would cost:")
    print_table(
        [
            (
                tints.brush_in_words(one.brush, several=found.several),
                one.label or "",
                f"{one.uses} {'area' if one.uses == 1 else 'areas'}",
                f"+{one.cost:.1f}",
                tints.moved_in_words(one.losses, with_page=with_page),
            )
            for one in found.in_use[:_LEAST_USED]
        ],
        "<<>><",
    )
