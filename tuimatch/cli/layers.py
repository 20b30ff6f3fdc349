"""`tuimatch layers`: a page as the artist would lay it, to go on with outside the terminal."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import (
    add_limits,
    limits,
    log_for_reading,
    project_meant,
)
from tuimatch.cli.chart import ruling
from tuimatch.cli.page import add_flats, read_flats
from tuimatch.cli.progress import progress
from tuimatch.errors import OutputError, UsageError
from tuimatch.files import out_file
from tuimatch.palette import file as palette_file
from tuimatch.text import percent, printable

if TYPE_CHECKING:
    from tuimatch.log import Choice
    from tuimatch.palette.model import Palette
    from tuimatch.picture.flats import Flats
    from tuimatch.plates.painting import Painting
    from tuimatch.plates.screening import Screening
    from tuimatch.recipe.recipes import Recipes

DESCRIPTION = (
    "Draw a page as the artist would lay it: layers for a drawing program, plates for a press, a "
    "proof of the print. Each flat takes the recipe that the log has for its colour. A preview is "
    "not a contract proof; marks and ink limits are the printer's to settle."
)

_DPI = (36, 4800)


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
        "--ruling", type=ruling, metavar="N", help="dots to the inch; else dots of 6 pixels"
    )
    made.add_argument(
        "--dpi", type=_dpi, default=300, metavar="N", help="pixels of the page to the inch (300)"
    )
    made.add_argument("--no-dots", action="store_true", help="flat tints instead of dots")
    made.add_argument(
        "--marks", action="store_true", help="register marks and the ink's name on the plates"
    )
    made.add_argument("--replace", action="store_true", help="overwrite what exists")


def run(arguments: argparse.Namespace) -> None:
    """Draw what is asked for; nothing is half-written."""
    outputs = _outputs(arguments)
    if arguments.marks and arguments.plates is None:
        raise UsageError("--marks go with --plates FOLDER")
    from tuimatch.plates.screening import SCREEN_PERIOD, Screening
    from tuimatch.recipe import recipes

    page, found = read_flats(arguments)
    taken, palette = _taken(arguments)
    mixed = recipes.mix(palette)
    rows = _rows(arguments, mixed, found, taken)

    from tuimatch.plates import painting

    painted = painting.of_page(page, found, mixed, rows)
    period = SCREEN_PERIOD if arguments.ruling is None else arguments.dpi / arguments.ruling
    screening = Screening(None if arguments.no_dots else period)
    said = [_coverage(painted)]
    for path, what, make in outputs:
        with progress(what) as told:
            make(path, painted, screening, arguments, told)
        said.append(f"{path}: {what}")
    for line in filter(None, said):
        print(printable(line))


Make = Callable[
    ["Path", "Painting", "Screening", argparse.Namespace, Callable[[float], None]], None
]


def _outputs(arguments: argparse.Namespace) -> list[tuple[Path, str, Make]]:
    """What to write, checked before any work.

    Raises:
        UsageError: Nothing is asked for, or a name has another extension.
        OutputError: Something has a name already.
    """
    found: list[tuple[Path, str, Make]] = []
    if arguments.out is not None:
        path = Path(arguments.out)
        if path.suffix and path.suffix.casefold() != ".ora":
            raise UsageError(f"--out {path}: layers are .ora, or PNGs in a folder; give page.ora")
        found.append((path, "layers", _write_layers))
    if arguments.plates is not None:
        found.append((Path(arguments.plates), "plates", _write_plates))
    if arguments.proof is not None:
        path = Path(arguments.proof)
        if path.suffix.casefold() != ".png":
            raise UsageError(f"--proof {path}: a proof is PNG; give a name such as proof.png")
        found.append((path, "proof", _write_proof))
    if not found:
        raise UsageError("give --out FILE.ora or FOLDER, --plates FOLDER or --proof FILE.png")
    for path, _, _ in found:
        if not arguments.replace and out_file.is_taken(path):
            raise OutputError(f"{path}: already exists; give --replace to overwrite it")
    return found


def _write_layers(
    path: Path,
    painted: Painting,
    screening: Screening,
    arguments: argparse.Namespace,
    told: Callable[[float], None],
) -> None:
    from tuimatch.plates import layers

    # The dots are a third of the work, the files the rest.
    colours = layers.Colours.of(painted.recipes)
    made = layers.Layers(painted, colours, screening, lambda done: told(done / 3))
    dpi, replace = arguments.dpi, arguments.replace
    if path.suffix.casefold() == ".ora":
        with out_file.whole(path, replace=replace) as unfinished:
            layers.write_openraster(unfinished, made, dpi, lambda done: told((1 + 2 * done) / 3))
    else:
        with out_file.whole_folder(path, replace=replace) as unfinished:
            layers.write_pngs(unfinished, made, dpi, lambda done: told((1 + 2 * done) / 3))


def _write_plates(
    path: Path,
    painted: Painting,
    screening: Screening,
    arguments: argparse.Namespace,
    told: Callable[[float], None],
) -> None:
    from tuimatch.plates import press

    with out_file.whole_folder(path, replace=arguments.replace) as unfinished:
        press.write_plates(
            unfinished, painted, screening, dpi=arguments.dpi, marks=arguments.marks, told=told
        )


def _write_proof(
    path: Path,
    painted: Painting,
    screening: Screening,
    arguments: argparse.Namespace,
    told: Callable[[float], None],
) -> None:
    from tuimatch.plates import proof

    with out_file.whole(path, replace=arguments.replace) as unfinished:
        proof.write_proof(unfinished, painted, screening, dpi=arguments.dpi, told=told)


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
        UsageError: Some have none.
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


def _coverage(painted: Painting) -> str:
    """What to say of ink limits."""
    limit, most = painted.recipes.palette.coverage_limit, painted.most_coverage
    if limit is not None and most > limit:
        return (
            f"the most ink on the page is {percent(most)} %, above the palette's limit of "
            f"{percent(limit)} %: ask the printer"
        )
    return f"the most ink on the page is {percent(most)} %"


def _dpi(text: str) -> int:
    least, most = _DPI
    if not (text.isascii() and text.isdecimal() and least <= int(text[:6]) <= most):
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a resolution; give pixels to the inch from {least} to {most}"
        )
    return int(text)
