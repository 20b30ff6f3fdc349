"""A chart to be printed, scanned and read again: the patches that a measured palette is made of.

Paper, every tint of every ink alone, the overprints of solids, and the mixtures that help most, as
squares in a frame. The frame lets a scan be set straight; a list beside it says what is where.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import partial
from io import StringIO
from itertools import combinations
from math import ceil, sqrt
from pathlib import Path

from tuimatch.chart.layout import CAUTION, PAPERS, Field, Rule, Sheet, Words
from tuimatch.errors import SwatchError
from tuimatch.files import in_file
from tuimatch.palette.model import Palette
from tuimatch.palette.uncertainty import all_mixtures
from tuimatch.recipe.recipes import Recipes
from tuimatch.text import percent

# Millimetres: a patch and the paper around it; the frame; from its outer edge to the patches, and
# above and below them, where the words are: nothing may stand outside the frame.
PATCH, GAP, FRAME = 15.0, 4.0, 1.6
_INSET, _ABOVE, _BELOW = 7.0, 20.0, 12.0

_MAX_BYTES = 100_000
_MOST = 40  # rows or columns
_LEFT, _TOP = 12.0, 14.0  # of the frame on the paper


@dataclass(frozen=True)
class Grid:
    """What is where on a chart for measuring.

    Attributes:
        inks: Their names, in laying order.
        rows: How many.
        columns: How many.
        tints: Percent of each ink by row and column, from the top left; any other place is paper.
    """

    inks: tuple[str, ...]
    rows: int
    columns: int
    tints: dict[tuple[int, int], tuple[float, ...]]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the frame's outer edge, in millimetres."""
        wide, high = (n * (PATCH + GAP) - GAP for n in (self.columns, self.rows))
        return wide + 2 * _INSET, high + _ABOVE + _BELOW

    def corner(self, row: int, column: int) -> tuple[float, float]:
        """Where a patch begins, in millimetres from the frame's outer corner."""
        return _INSET + column * (PATCH + GAP), _ABOVE + row * (PATCH + GAP)


def grid(palette: Palette) -> Grid:
    """The patches for a palette, three of them bare paper."""
    none = tuple(0.0 for _ in palette.inks)

    def solid(inks: tuple[int, ...]) -> tuple[float, ...]:
        return tuple(100.0 if i in inks else 0.0 for i in range(len(none)))

    wanted = [none]
    for position, ink in enumerate(palette.inks):
        steps = dict.fromkeys((*ink.tints, 100.0))
        wanted += [(*none[:position], tint, *none[position + 1 :]) for tint in steps]
    for count in range(2, len(none) + 1):
        wanted += map(solid, combinations(range(len(none)), count))
    wanted += all_mixtures(palette)
    wanted = [*dict.fromkeys(wanted), none, none]
    columns = min(ceil(sqrt(len(wanted))), 9)
    rows = ceil(len(wanted) / columns)
    places = {divmod(n, columns): tints for n, tints in enumerate(wanted)}
    names = tuple(ink.name for ink in palette.inks)
    return Grid(names, rows, columns, places)


def sheets(recipes: Recipes, laid: Grid, paper: str) -> list[Sheet]:
    """The chart, and a sheet that says what is where.

    Raises:
        SwatchError: A patch needs a tint that the palette lacks, such as a solid.
    """
    width, height = PAPERS[paper]
    chart = Sheet("for measuring", width, height)
    key = Sheet("what is where", width, height)
    wide, high = laid.size
    x, room = _LEFT + _INSET, wide - 2 * _INSET
    for sheet, says in (
        (chart, "Print at full size, without colour correction; scan with all of the frame."),
        (key, "What is where on the chart for measuring, by row and column from the top left."),
    ):
        sheet.write(Words(x, _TOP + 10, recipes.palette.name, 12, bold=True), room)
        sheet.write(Words(x, _TOP + 15.5, says, 8), room)
        sheet.write(Words(x, _TOP + high - 5, CAUTION, 6), room)
    middle = FRAME / 2
    left, top, right, foot = (
        _LEFT + middle,
        _TOP + middle,
        _LEFT + wide - middle,
        _TOP + high - middle,
    )
    chart.rules += [
        Rule(_LEFT, top, _LEFT + wide, top, FRAME),
        Rule(_LEFT, foot, _LEFT + wide, foot, FRAME),
        Rule(left, _TOP, left, _TOP + high, FRAME),
        Rule(right, _TOP, right, _TOP + high, FRAME),
    ]
    for number, ((row, column), tints) in enumerate(laid.tints.items()):
        at = recipes.row_of(tints)
        if at is None:
            raise SwatchError(
                f"the palette has no {recipes.palette.recipe_text(tints)}; give every ink its solid"
            )
        right, down = laid.corner(row, column)
        x, y = _LEFT + right, _TOP + down
        if any(tints):
            chart.fields.append(Field(x, y, PATCH, PATCH, at, split=False))
        else:  # paper is what is not printed on
            chart.rules += _around(x, y)
        says = f"{row + 1}, {column + 1}   {recipes.palette.recipe_words(tints)}"
        across, down = divmod(number, 52)
        key.write(Words(_LEFT + _INSET + 62 * across, _TOP + _ABOVE + 4 * down, says, 7), 60)
    return [chart, key]


def _around(x: float, y: float) -> list[Rule]:
    """A thin line around a patch."""
    end_x, end_y = x + PATCH, y + PATCH
    ends = ((x, y, end_x, y), (x, end_y, end_x, end_y), (x, y, x, end_y), (end_x, y, end_x, end_y))
    return [Rule(*one) for one in ends]


def to_csv(laid: Grid) -> str:
    """The list beside the chart: what is where, for reading the scan."""
    out = StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["row", "column", *laid.inks])
    for (row, column), tints in laid.tints.items():
        writer.writerow([row + 1, column + 1, *map(percent, tints)])
    return out.getvalue()


def read_csv(path: Path) -> Grid:
    """The list of a chart.

    Raises:
        SwatchError: The file is not such a list.
    """

    def refuse(problem: str) -> SwatchError:
        return SwatchError(f"{path}: {problem}")

    text = in_file.read_text(path, _MAX_BYTES, "the list of a chart for measuring", refuse)
    lines = [line for line in csv.reader(StringIO(text)) if line]
    if not lines or lines[0][:2] != ["row", "column"] or len(lines[0]) < 3:
        raise refuse("begins with row,column and the inks; give the list that `chart` wrote")
    places = {}
    for number, line in enumerate(lines[1:], 2):
        place, tints = _patch(line, len(lines[0]) - 2, partial(_refuse_line, path, number))
        if place in places:
            raise _refuse_line(path, number, "has a place that appeared before; keep one")
        places[place] = tints
    if not places:
        raise refuse("has no patches; give the list that `chart` wrote")
    rows, columns = (1 + max(place[i] for place in places) for i in (0, 1))
    return Grid(tuple(lines[0][2:]), rows, columns, places)


def _refuse_line(path: Path, number: int, problem: str) -> SwatchError:
    return SwatchError(f"{path}: line {number} {problem}")


def _patch(
    line: list[str], inks: int, refuse: partial[SwatchError]
) -> tuple[tuple[int, int], tuple[float, ...]]:
    try:
        row, column = int(line[0]), int(line[1])
        tints = tuple(float(tint) for tint in line[2:])
    except ValueError as error:
        raise refuse("holds something other than numbers; give percents") from error
    if not (1 <= row <= _MOST and 1 <= column <= _MOST):
        raise refuse(f"has row {row}, column {column}; give 1 to {_MOST}")
    if len(tints) != inks or not all(0 <= tint <= 100 for tint in tints):
        raise refuse(f"needs {inks} tints from 0 to 100")
    return (row - 1, column - 1), tints
