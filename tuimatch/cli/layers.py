"""`tuimatch layers`: a page as the artist would lay it, to go on with outside the terminal."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import (
    add_limits,
    limits,
    log_for_reading,
    project_meant,
    typed,
)
from tuimatch.cli.page import add_flats, read_flats
from tuimatch.cli.progress import progress
from tuimatch.errors import OutputError, UsageError
from tuimatch.palette import file as palette_file
from tuimatch.plates import order
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.log import Choice
    from tuimatch.palette.model import Palette
    from tuimatch.picture.flats import Flats
    from tuimatch.plates.painting import Painting
    from tuimatch.recipe.recipes import Recipes

DESCRIPTION = (
    "Draw a page as the artist would lay it: layers for a drawing program, plates for a press, a "
    "proof of the print. Each flat takes the recipe that the log has for its colour. A preview is "
    "not a contract proof; the printer settles marks and ink limits."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", metavar="FILE", help="the flats of a page, a picture")
    add_flats(parser)
    recipes = parser.add_argument_group("the recipes")
    recipes.add_argument("--page", metavar="N", help="those that were taken for this page")
    recipes.add_argument(
        "--match", action="store_true", help="match the colours that have no recipe in the log"
    )
    add_limits(parser)
    made = parser.add_argument_group("what is drawn")
    made.add_argument(
        "--out",
        metavar="FILE.ora",
        help="the layers as one OpenRaster file; a folder gets a PNG for each",
    )
    made.add_argument("--plates", metavar="FOLDER", help="a plate for each ink, black on white")
    made.add_argument("--proof", metavar="FILE.png", help="the page as it is expected to print")
    made.add_argument(
        "--ruling",
        type=typed(order.ruling),
        metavar="N",
        help="dots to the inch; else dots of 6 pixels",
    )
    made.add_argument(
        "--dpi",
        type=typed(order.resolution),
        default=300,
        metavar="N",
        help="pixels of the page to the inch (300)",
    )
    made.add_argument("--no-dots", action="store_true", help="flat tints instead of dots")
    made.add_argument(
        "--marks", action="store_true", help="register marks and the ink's name on the plates"
    )
    made.add_argument("--replace", action="store_true", help="overwrite what exists")


def run(arguments: argparse.Namespace) -> None:
    """Draw what is asked for; nothing is half-written."""
    wanted = _order(arguments)
    painted = _painted(arguments)
    with progress("drawing") as told:
        said = order.draw(wanted, painted, told)
    for line in said:
        print(printable(line))


def _order(arguments: argparse.Namespace) -> order.Order:
    """What to draw, checked before any work.

    Raises:
        UsageError: Nothing is asked for, or something that cannot be drawn.
        OutputError: There is a file of one of the names already.
    """
    layers, plates, proof = (
        None if name is None else Path(name)
        for name in (arguments.out, arguments.plates, arguments.proof)
    )
    wanted = order.Order(
        *(layers, plates, proof, arguments.ruling, arguments.dpi),
        dots=not arguments.no_dots,
        marks=arguments.marks,
        replace=arguments.replace,
    )
    if not wanted.paths:
        raise UsageError("give --out FILE.ora or FOLDER, --plates FOLDER or --proof FILE.png")
    if wanted.marks and plates is None:
        raise UsageError("--marks go with --plates FOLDER")
    wanted.check()
    if wanted.taken:
        raise OutputError(f"{wanted.taken[0]}: already exists; give --replace to overwrite it")
    return wanted


def _painted(arguments: argparse.Namespace) -> Painting:
    """The page with its recipes; the picture it was read from is forgotten."""
    from tuimatch.plates import painting
    from tuimatch.recipe import recipes

    page, found = read_flats(arguments)
    taken, palette = _taken(arguments)
    mixed = recipes.mix(palette)
    return painting.of_page(page, found, mixed, _rows(arguments, mixed, found, taken))


def _taken(arguments: argparse.Namespace) -> tuple[list[Choice], Palette]:
    """The choices that are meant, and the palette: the one given, else that of the newest."""
    from tuimatch.planning.areas import chosen

    with log_for_reading(arguments) as log:
        if log is None:
            if not arguments.match:
                raise UsageError("there is no log yet; take recipes first, or --match the colours")
            return [], palette_file.load(arguments.palette)
        taken = chosen(log, project_meant(arguments, log), arguments.page)
        if arguments.palette_given or not taken:
            return taken, palette_file.load(arguments.palette)
        palette = log.palette(taken[-1])
        if palette is None:
            raise UsageError(
                f"the palette {taken[-1].palette!r} of these recipes is lost; give it by --palette"
            )
        return taken, palette


def _rows(
    arguments: argparse.Namespace, recipes: Recipes, found: Flats, taken: list[Choice]
) -> list[int]:
    """The recipe of each flat: from the log, or matched.

    Raises:
        UsageError: Some flats do not have a recipe.
    """
    from tuimatch.planning import page as pages

    narrowing, intent = limits(arguments, recipes.palette)
    known = pages.recipes_by_colour(taken, recipes)
    locked = {
        place: known[flat.srgb] for place, flat in enumerate(found.flats) if flat.srgb in known
    }
    missing = [flat for place, flat in enumerate(found.flats) if place not in locked]
    if not missing:
        return [locked[place] for place in range(len(found.flats))]
    if not arguments.match:
        shown = ", ".join(f"{flat.colour} ({flat.share:.1%})" for flat in missing[:6])
        more = f" and {len(missing) - 6} more" if len(missing) > 6 else ""
        raise UsageError(
            f"no recipe of {recipes.palette.stem!r} in the log for {shown}{more}; "
            "take them, or --match matches them now"
        )
    page = pages.of_flats(found, recipes, intent, {})
    return list(pages.solve(page, narrowing, locked=locked).rows)
