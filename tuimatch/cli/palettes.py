"""`tuimatch palettes`: list the shipped palettes, check a file, make or import one's own."""

from __future__ import annotations

import argparse
from typing import Any

from tuimatch.cli import palette_out, palettes_import, palettes_make
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette

NAME = "palettes"


def add(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        NAME,
        parents=[shared],
        allow_abbrev=False,
        help="list the shipped palettes; check, make or import your own",
        description="List the shipped palettes; `check FILE` says what a palette file holds.",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    parser.set_defaults(run=run_list)
    actions = parser.add_subparsers(title="actions", metavar="ACTION")
    check = actions.add_parser(
        "check", parents=[shared], allow_abbrev=False, help="say what a file holds or what is wrong"
    )
    check.add_argument("file", metavar="FILE", help="a palette file or a shipped name")
    check.set_defaults(run=run_check)
    for action in (palettes_make, palettes_import):
        action.add(actions, shared)


def run_list(arguments: argparse.Namespace) -> None:
    """List the shipped palettes, the default first."""
    found = [palette_file.load(name) for name in palette_file.shipped_names()]
    if arguments.json:
        for palette in found:
            print(to_json(_summary(palette)))
        return
    width = max(len(palette.stem) for palette in found)
    for palette in found:
        inks = ", ".join(ink.name for ink in palette.inks)
        source = palette.source or "not measured"
        print(
            f"{palette.stem.ljust(width)}  {palette.recipe_count:>7,} recipes  "
            f"{palette.kind:<8}  {inks}  ({source})"
        )


def run_check(arguments: argparse.Namespace) -> None:
    """Say what a palette file holds and what is doubtful in it."""
    palette = palette_file.load(arguments.file)
    palette_out.describe(arguments.file, palette)


def _summary(palette: Palette) -> dict[str, Any]:
    return {
        "name": palette.stem,
        "title": palette.name,
        "kind": palette.kind,
        "inks": [ink.name for ink in palette.inks],
        "recipes": palette.recipe_count,
        "source": palette.source or None,
    }
