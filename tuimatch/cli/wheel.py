"""`tuimatch wheel`: for each hue the recipe that holds it with most chroma, and its build-up."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tuimatch.cli.tables import swatches, truecolour
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.palette.uncertainty import ESTIMATED_IN_WORDS
from tuimatch.text import hexed, printable

if TYPE_CHECKING:
    from tuimatch.match.wheel import Hue
    from tuimatch.recipe.recipes import Recipes

DESCRIPTION = (
    "The most vivid recipe of each hue (CIELAB angle and chroma), with the colour after "
    "each ink; and which hues the inks cannot give clean, with two inks at most."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--hues", type=_hues, default=12, metavar="N", help="how many hues (12)")
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def run(arguments: argparse.Namespace) -> None:
    """Print the hues from 0 degrees on."""
    palette = palette_file.load(arguments.palette)
    from tuimatch.match.limits import allowed, start
    from tuimatch.match.wheel import wheel
    from tuimatch.recipe import recipes

    mixed = recipes.mix(palette)
    hues = wheel(mixed, arguments.hues, allowed=allowed(mixed, start(palette)))
    if arguments.json:
        for hue in hues:
            print(to_json(_as_json(mixed, hue)))
    else:
        _print_hues(mixed, hues)


def _print_hues(recipes: Recipes, hues: tuple[Hue, ...]) -> None:
    from tuimatch.colour.difference_words import hue_name
    from tuimatch.match.wheel import off_in_words, remark, summary

    palette, seen = recipes.palette, truecolour()
    print(printable(f"{palette.name}: {summary(hues)}"))
    if palette.estimated:
        print(ESTIMATED_IN_WORDS)
    for hue in hues:
        name = f"{hue.angle:5.4g}° {hue_name(hue.angle):12}"
        if hue.row is not None:
            steps = " → ".join(
                (swatches(step.srgb) if seen else "")
                + f"{printable(step.words)} "
                + hexed(step.srgb)
                + (" clipped" if step.clipped else "")
                for step in hue.steps
            )
            print(f"{name}  vividness {hue.chroma:5.1f}  {off_in_words(hue.off):>8}  {steps}")
            name = " " * len(name)
        if said := remark(recipes, hue):
            print(f"{name}  {printable(said)}")


def _as_json(recipes: Recipes, hue: Hue) -> dict[str, Any]:
    nearest = None
    if hue.nearest is not None:
        nearest = {**_recipe(recipes, hue.nearest), "away": hue.away}
    return {
        "hue": hue.angle,
        **(_recipe(recipes, hue.row) if hue.row is not None else {"recipe": None, "tints": None}),
        "chroma": hue.chroma,
        "off": hue.off,
        "clean": hue.clean,
        "nearest": nearest,
        "build_up": [
            {
                "ink": step.name,
                "tint": step.tint,
                "label": step.label,
                "lab": list(step.lab),
                "srgb": hexed(step.srgb),
                "clipped": step.clipped,
            }
            for step in hue.steps
        ],
    }


def _recipe(recipes: Recipes, row: int) -> dict[str, Any]:
    palette, tints = recipes.palette, recipes.tints_of(row)
    by_ink = zip(palette.inks, tints, strict=True)
    return {
        "recipe": palette.recipe_text(tints),
        "tints": {ink.name: tint for ink, tint in by_ink},
    }


def _hues(text: str) -> int:
    from tuimatch.match.wheel import MOST_HUES

    if text.isascii() and text.isdecimal() and len(text) < 4 and 1 <= int(text) <= MOST_HUES:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r}: give a whole number from 1 to {MOST_HUES}")
