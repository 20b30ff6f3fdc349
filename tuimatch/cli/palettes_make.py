"""`tuimatch palettes make`: one's own palette from a list, a picture of swatches, or questions."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import add_out, out_path
from tuimatch.errors import SwatchError, TuimatchError, UsageError
from tuimatch.files import out_file
from tuimatch.palette import file as palette_file
from tuimatch.text import hexed, printable

if TYPE_CHECKING:
    from tuimatch.own_palette.swatch import Swatch
    from tuimatch.own_palette.swatch_list import Row
    from tuimatch.palette.model import Palette

_LISTS = (".csv", ".toml")
_GRID = re.compile(r"([1-9]\d?)[x×]([1-9]\d?)", re.ASCII)


DESCRIPTION = (
    "Make a screen palette from a list (.csv or .toml), from a picture with a row "
    "of swatches for each ink, or without FILE from questions answered on the terminal."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the action takes."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a list, or a picture with --grid")
    add_out(parser, "FILE.toml")
    parser.add_argument("--name", metavar="NAME", default="", help="what to call the palette")
    grid = parser.add_argument_group("a picture of swatches")
    grid.add_argument(
        "--grid",
        type=_grid,
        metavar="RxC",
        help="rows (inks) and columns (tints) of swatches; or the .csv list of a chart for "
        "measuring, whose scan is read with --palette, the palette it was made for",
    )
    grid.add_argument(
        "--ink",
        action="append",
        default=[],
        metavar="NAME[=COLOUR]",
        help="the ink of each row, from the top; with its colour a swatch may be the solid",
    )
    grid.add_argument("--paper", metavar="COLOUR", help="the colour of the paper")
    grid.add_argument("--labels", metavar="A,B…", help="what you call the tint of each column")
    grid.add_argument("--box", metavar="X,Y,W,H", help="what the grid fills, unless all of it")


def run(arguments: argparse.Namespace) -> None:
    """Make it and write it; nothing is written unless all of it is right."""
    from tuimatch.own_palette.summary import summary

    out = out_path(arguments, ".toml", "a palette file is TOML")
    is_list = Path(arguments.file or "").suffix.lower() in _LISTS
    of_grid = [name for name in ("grid", "ink", "paper", "labels", "box") if vars(arguments)[name]]
    if of_grid and (is_list or arguments.file is None):
        raise UsageError(f"--{of_grid[0]} needs a picture of swatches as FILE")
    if is_list:
        palette = _from_list(arguments)
    elif arguments.file is not None:
        palette = _from_picture(arguments, out)
    else:
        palette = _from_answers(arguments, out)
    out_file.write(out, palette.text, replace=arguments.replace)
    print("\n".join(summary(str(out), palette)))


def _from_list(arguments: argparse.Namespace) -> Palette:
    from tuimatch.own_palette import swatch_list

    return swatch_list.read(Path(arguments.file), arguments.name)


# A picture of all swatches.


def _from_picture(arguments: argparse.Namespace, out: Path) -> Palette:
    if arguments.grid is None:
        raise UsageError("a picture needs --grid ROWSxCOLUMNS; a list is .csv or .toml")
    if isinstance(arguments.grid, Path):
        return _from_scan(arguments, out)
    rows, columns = arguments.grid
    names = [text.partition("=")[0].strip() for text in arguments.ink]
    colours = [text.partition("=")[2].strip() for text in arguments.ink]
    if len(names) != rows:
        raise UsageError(f"{len(names)} --ink for {rows} rows; name the ink of each row")
    if any(colours) and not all(colours):
        raise UsageError("some --ink have a colour and some have none; give it to all or to none")
    labels = [label.strip() for label in (arguments.labels or "," * (columns - 1)).split(",")]
    if arguments.labels and len(labels) != columns:
        raise UsageError(f"{len(labels)} --labels for {columns} columns; name each column")
    from tuimatch.own_palette import swatch, swatch_list, typed_swatch
    from tuimatch.picture import picture

    box = typed_swatch.box(arguments.box) if arguments.box else None
    paper = typed_swatch.srgb(arguments.paper) if arguments.paper else None
    inks = tuple(typed_swatch.srgb(colour) for colour in colours if colour)
    file = Path(arguments.file)
    found = picture.read(file)
    try:
        read = swatch.read_grid(found, rows, columns, box, paper=paper, inks=inks)
    except SwatchError as error:
        hint = "; for solids give --paper and each --ink a colour" if "flat" in str(error) else ""
        raise SwatchError(f"{file}: {error}{hint}") from error
    palette = swatch_list.assemble(
        _rows(names, labels, read), name=arguments.name or out.stem, file=str(file), stem=out.stem
    )
    for note in found.notes:
        print(printable(f"{file}: {note}"))
    for name, swatches in zip(names, read, strict=True):
        shares = ", ".join(f"{100 * s.share:.1f} ± {100 * s.uncertainty:.1f}" for s in swatches)
        print(printable(f"{file}: {name} {shares} %"))
    return palette


def _rows(names: list[str], labels: list[str], read: tuple[tuple[Swatch, ...], ...]) -> list[Row]:
    """The list that the swatches of a picture make."""
    from tuimatch.own_palette.swatch_list import Row

    rows = [Row("paper", hexed(read[0][0].paper))]
    for name, swatches in zip(names, read, strict=True):
        ink = hexed(swatches[0].ink)
        for label, one in zip(labels, swatches, strict=True):
            rows.append(Row(name, ink, label=label, share=f"{100 * one.share:.2f}"))
    return rows


def _from_scan(arguments: argparse.Namespace, out: Path) -> Palette:
    """The palette of a scanned chart for measuring."""
    given = [name for name in ("ink", "paper", "labels", "box") if vars(arguments)[name]]
    if given:
        raise UsageError(f"--{given[0]} does not go with the list of a chart, which says all of it")
    from tuimatch.chart import measuring
    from tuimatch.own_palette import scanned_chart
    from tuimatch.picture import picture

    made_for = palette_file.load(arguments.palette)
    grid = measuring.read_csv(arguments.grid)
    scan = picture.read(Path(arguments.file))
    return scanned_chart.read(scan, grid, made_for, name=arguments.name or out.stem, stem=out.stem)


# Questions.


def _from_answers(arguments: argparse.Namespace, out: Path) -> Palette:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError("give a list or a picture as FILE; questions need a terminal")
    from tuimatch.own_palette.questions import Step, Steps

    steps = Steps()
    while steps.step is not Step.DONE:
        try:
            answer = input(f"{steps.question}: ")
        except EOFError as error:
            print()
            raise UsageError("the answers ended too early; nothing was written") from error
        before = len(steps.rows)
        try:
            steps = steps.answered(answer)
        except TuimatchError as error:
            print(f"  {error}")
            continue
        for said in steps.said[before:]:
            print(f"  {said}")
    return steps.palette(name=arguments.name or out.stem, stem=out.stem)


def _grid(text: str) -> tuple[int, int] | Path:
    if text.casefold().endswith(".csv"):
        return Path(text)
    match = _GRID.fullmatch(text.strip())
    if not match:
        raise argparse.ArgumentTypeError(f"{text!r} is not a grid; give rows x columns such as 3x4")
    return int(match[1]), int(match[2])
