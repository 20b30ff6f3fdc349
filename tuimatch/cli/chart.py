"""`tuimatch chart`: every recipe of a palette on sheets of paper, for the wall."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import add_out, command_for, count, out_path, typed
from tuimatch.cli.progress import progress
from tuimatch.errors import OutputError, UsageError
from tuimatch.files import out_file
from tuimatch.palette import file as palette_file
from tuimatch.plates.order import Order, draw, ruling
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.chart import Sheet
    from tuimatch.chart.forms import Drawing
    from tuimatch.recipe.recipes import Recipes

DESCRIPTION = (
    "Draw every recipe of a palette as dots and as the colour from afar, in two orders: by ink, "
    "and by hue and lightness. The extension says in which form: .pdf or .html for the wall, "
    ".png for a screen, a picture a sheet."
)

_FORMS = (".pdf", ".html", ".png")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_out(parser, "FILE")
    parser.add_argument(
        "--for",
        dest="purpose",
        choices=("the-wall", "measuring"),
        default="the-wall",
        help="measuring: solids, overprints, tints and the mixtures that help most, to be printed, "
        "scanned and read again by `palettes make --grid`; a list of its patches comes with it",
    )
    parser.add_argument(
        "--plates",
        metavar="FOLDER",
        help="with --for measuring: a plate for each ink besides, to print it on a press",
    )
    parser.add_argument(
        "--order", choices=("ink", "hue", "both"), default="both", help="which order (both)"
    )
    parser.add_argument(
        "--paper", choices=("a4", "letter"), default="a4", help="the sheets of paper (a4)"
    )
    parser.add_argument(
        "--ruling", type=typed(ruling), default=65, metavar="N", help="dots to the inch (65)"
    )
    parser.add_argument(
        "--max-inks", type=count, metavar="N", help="leave out recipes of more inks"
    )


def run(arguments: argparse.Namespace) -> None:
    """Draw it."""
    out = Path(arguments.out)
    form = out.suffix.casefold()
    if form not in _FORMS:
        raise UsageError(
            f"--out {out}: a chart is {', '.join(_FORMS)}; give a name such as own.pdf"
        )
    if arguments.plates is not None and arguments.purpose != "measuring":
        raise UsageError("--plates go with --for measuring; `layers` makes those of a page")
    out = out_path(arguments)
    palette = palette_file.load(arguments.palette)

    from tuimatch.chart import forms, layout
    from tuimatch.recipe import recipes

    mixed = recipes.mix(palette)
    if arguments.purpose == "measuring":
        _for_measuring(arguments, mixed, out, form)
        return
    orders = [order for order in layout.Order if arguments.order in (order.value, "both")]
    sheets = layout.sheets(
        mixed,
        orders=orders,
        paper=arguments.paper,
        max_inks=arguments.max_inks,
        ruling=arguments.ruling,
    )
    fields = sum(len(sheet.fields) for sheet in sheets) // len(orders)
    coarse = form == ".png" or fields > layout.MANY
    dpi = forms.SCREEN_DPI if coarse else forms.PRINT_DPI
    drawing = forms.Drawing(mixed, arguments.ruling, dpi)
    written = [out]
    with progress("drawing") as told:
        if form == ".pdf":
            data = forms.to_pdf(sheets, drawing, palette.name, lambda done, of: told(done / of))
            out_file.write(out, data, replace=arguments.replace)
        elif form == ".html":
            with out_file.whole(out, replace=arguments.replace) as unfinished:
                forms.write_html(unfinished, sheets, drawing, palette.name, told)
        else:
            written = _write_pngs(out, sheets, drawing, replace=arguments.replace)
    many = "1 sheet" if len(sheets) == 1 else f"{len(sheets)} sheets"
    names = str(out) if len(written) == 1 else f"{written[0]} to {written[-1].name}"
    print(printable(f"{names}: {fields:,} recipes on {many}"))
    if form != ".html" and (lost := forms.cannot_spell(sheets)):
        print(printable(f"the letters {lost} are missing from its font; .html has them all"))


def _for_measuring(arguments: argparse.Namespace, recipes: Recipes, out: Path, form: str) -> None:
    """Write the chart, and beside it the list of what is where."""
    from tuimatch.chart import forms, measuring

    listed = out.with_suffix(".csv")
    if not arguments.replace and out_file.is_taken(listed):
        raise OutputError(f"{listed}: already exists; give --replace to overwrite it")
    press = Order(
        plates=None if arguments.plates is None else Path(arguments.plates),
        ruling=arguments.ruling,
        dpi=forms.PRINT_DPI,
        marks=True,
        replace=arguments.replace,
    )
    if press.taken:
        raise OutputError(f"{press.plates}: already exists; give --replace to overwrite it")
    grid = measuring.grid(recipes.palette)
    sheets = measuring.sheets(recipes, grid, arguments.paper)
    dpi = forms.SCREEN_DPI if form == ".png" else forms.PRINT_DPI
    drawing = forms.Drawing(recipes, arguments.ruling, dpi)
    with progress("drawing") as told:
        if form == ".png":
            data = forms.to_png(sheets[0], drawing)
        elif form == ".pdf":
            name = recipes.palette.name
            data = forms.to_pdf(sheets, drawing, name, lambda done, of: told(done / of))
        else:
            data = "".join(forms.to_html(sheets, drawing, recipes.palette.name)).encode()
        out_file.write(out, data, replace=arguments.replace)
    out_file.write(listed, measuring.to_csv(grid), replace=arguments.replace)
    said = []
    if press.paths:
        from tuimatch.chart import plates

        fine = forms.Drawing(recipes, arguments.ruling, press.dpi)
        with progress("plates") as told:
            said = draw(press, plates.painted(sheets[0], recipes, fine), told)
    palette = ["--palette", arguments.palette] if arguments.palette_given else []
    words = ("palettes", "make", "scan.png", "--grid", str(listed), *palette, "--out", "true.toml")
    print(printable(f"{out}: {len(grid.tints)} patches; {listed}: what is where"))
    for line in said:
        print(printable(line))
    print(
        printable(f"print it, scan it with all of its frame, then {command_for(arguments, *words)}")
    )


def _write_pngs(out: Path, sheets: list[Sheet], drawing: Drawing, *, replace: bool) -> list[Path]:
    """A picture a sheet: ``own.png``, or ``own-1.png`` and so on where there are several."""
    from tuimatch.chart import forms

    width = len(str(len(sheets)))
    names = [out.with_stem(f"{out.stem}-{n:0{width}}") for n in range(1, len(sheets) + 1)]
    paths = names if len(sheets) > 1 else [out]
    for path in paths:
        if not replace and out_file.is_taken(path):
            raise OutputError(f"{path}: already exists; give --replace to overwrite it")
    for path, sheet in zip(paths, sheets, strict=True):
        out_file.write(path, forms.to_png(sheet, drawing), replace=replace)
    return paths
