"""`tuimatch palettes`: list the shipped palettes, check a file, make or import one's own."""

from __future__ import annotations

import argparse
from typing import Any

from tuimatch.cli import palettes_import, palettes_make
from tuimatch.cli.arguments import actions
from tuimatch.cli.tables import print_table
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette

DESCRIPTION = "List the shipped palettes; `check FILE` says what a palette file holds."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    action = actions(parser)
    check = action("check", run_check, "say what a file holds or what is wrong")
    check.add_argument("file", metavar="FILE", help="a palette file or a shipped name")
    for name, module, help in (
        ("make", palettes_make, "make a palette from swatches of your own inks"),
        ("import", palettes_import, "make a measured palette from CGATS text"),
    ):
        added = action(name, module.run, help)
        added.description = module.DESCRIPTION
        module.add_arguments(added)


def run(arguments: argparse.Namespace) -> None:
    """List the shipped palettes, the default first."""
    found = [palette_file.load(name) for name in palette_file.shipped_names()]
    if arguments.json:
        for palette in found:
            print(to_json(_summary(palette)))
        return
    rows = [
        [
            palette.stem,
            f"{palette.recipe_count:,} recipes",
            palette.kind,
            ", ".join(ink.name for ink in palette.inks),
            f"({palette.source or 'not measured'})",
        ]
        for palette in found
    ]
    print_table(rows, "<><<<")


def run_check(arguments: argparse.Namespace) -> None:
    """Say what a palette file holds and what is doubtful in it."""
    from tuimatch.own_palette.summary import summary

    print("\n".join(summary(arguments.file, palette_file.load(arguments.file))))


def _summary(palette: Palette) -> dict[str, Any]:
    return {
        "name": palette.stem,
        "title": palette.name,
        "kind": palette.kind,
        "inks": [ink.name for ink in palette.inks],
        "recipes": palette.recipe_count,
        "source": palette.source or None,
    }
