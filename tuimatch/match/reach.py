"""The reach of an ink set: its recipes placed by lightness and hue, so that holes are seen.

Rows are lightness, the lightest on top; columns are the CIELAB hue angle from 0° to 360°. A neutral
has no hue, so the neutrals have a column of their own, the last. Where several recipes fall in one
cell the best of them stands for all: the first in the order of the candidates. Without a target it
is the most vivid, which shows how far the inks go, and among neutrals the least vivid; ties go to
fewer inks, then less coverage, then tints in laying order.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, inf, pi

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, delta_e
from tuimatch.colour.difference_words import NEUTRAL_CHROMA
from tuimatch.match.limits import Mask
from tuimatch.palette.model import Triple
from tuimatch.recipe.recipes import DECIMALS, Recipes, Rows, nearest_first

HOLE = -1

# On the map 1° of hue is as far as it is in CIELAB at C 40, midway to the most vivid inks.
HUE_STEP = 40 * pi / 180


@dataclass(frozen=True, eq=False)
class Chart:
    """What is to be shown on one map.

    Attributes:
        recipes: Those of the palette.
        row: The recipe to begin at.
        nearest: The one to come back to.
        target: Lab of the wanted colour; None for none.
        allowed: Which recipes may stand on the map; all unless given.
    """

    recipes: Recipes
    row: int
    nearest: int
    target: Triple | None = None
    allowed: Mask | None = None


@dataclass(frozen=True, eq=False)
class Reach:
    """The map of an ink set.

    Attributes:
        cells: The recipe of each cell as a row of the recipes, or `HOLE`; shape
            (rows, columns + 1), the neutrals in the last column.
        lightest: L at the upper edge.
        darkest: L at the lower edge.
    """

    cells: npt.NDArray[np.intp]
    lightest: float
    darkest: float

    def cell_of(self, lab: Triple) -> tuple[int, int]:
        """Row and column where a colour falls; beyond the edge in lightness, on the edge."""
        row, column = self._places(np.array(lab))
        return int(row), int(column)

    def nearest(self, within: float = inf) -> npt.NDArray[np.intp]:
        """The recipe that stands nearest to each cell, shape as `cells`, or `HOLE`.

        Hue is a circle; the neutrals are near to one another only.

        Args:
            within: How far a recipe may stand, in steps of L; 1° of hue counts as `HUE_STEP`.
        """
        rows, columns = self.cells.shape[0], self.cells.shape[1] - 1
        high = (self.lightest - self.darkest) / rows
        found = np.full_like(self.cells, HOLE)
        for part in (slice(0, columns), slice(columns, columns + 1)):
            cells = self.cells[:, part]
            row, column = np.nonzero(cells != HOLE)
            if not len(row):
                continue
            turn = np.abs(np.arange(cells.shape[1])[:, None] - column)
            across = np.minimum(turn, columns - turn) * (360 / columns * HUE_STEP)
            down = (np.arange(rows)[:, None] - row) * high
            far = np.hypot(down[:, None], across[None])
            closest = far.argmin(axis=2)
            near = far.min(axis=2) <= within
            found[:, part] = np.where(near, cells[row, column][closest], HOLE)
        return found

    def _places(self, lab: Array) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """Rows and columns of colours of shape (…, 3)."""
        rows, columns = self.cells.shape[0], self.cells.shape[1] - 1
        down = (self.lightest - lab[..., 0]) / (self.lightest - self.darkest)
        around = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360 / 360
        neutral = np.hypot(lab[..., 1], lab[..., 2]) < NEUTRAL_CHROMA
        row = np.clip(np.floor(down * rows), 0, rows - 1).astype(np.intp)
        column = np.where(neutral, columns, np.floor(around * columns) % columns).astype(np.intp)
        return row, column


def reach(
    recipes: Recipes,
    rows: int,
    columns: int,
    *,
    target: Triple | None = None,
    allowed: Mask | None = None,
) -> Reach:
    """Place the recipes of a palette.

    The map spans the lightness of all recipes and of the target, in tens; no limit moves it.

    Args:
        recipes: The recipes of a palette.
        rows: Steps of lightness.
        columns: Steps of hue, without the column of the neutrals.
        target: Lab of the wanted colour.
        allowed: Which recipes may stand on the map, shape (N,); all unless given.
    """
    spanned = recipes.lab[:, 0] if target is None else np.append(recipes.lab[:, 0], target[0])
    darkest = floor(spanned.min() / 10) * 10.0
    lightest = max(ceil(spanned.max() / 10) * 10.0, darkest + 10)
    found = Reach(np.full((rows, columns + 1), HOLE, dtype=np.intp), lightest, darkest)
    standing = np.arange(len(recipes)) if allowed is None else np.flatnonzero(allowed)
    lab = recipes.lab[standing]
    order = _best_first(recipes, standing, lab, target)
    row, column = found._places(lab[order])
    _, foremost = np.unique(row * (columns + 1) + column, return_index=True)
    found.cells[row[foremost], column[foremost]] = standing[order[foremost]]
    return found


def most_vivid(recipes: Recipes, allowed: Mask) -> int:
    """The row of the recipe with the highest chroma; of several, the one with fewest inks.

    Args:
        recipes: The recipes of a palette.
        allowed: Which of them count, shape (N,); at least one.
    """
    rows = np.flatnonzero(allowed)
    return int(rows[_best_first(recipes, rows, recipes.lab[rows], None)[0]])


def _best_first(recipes: Recipes, rows: Rows, lab: Array, target: Triple | None) -> Rows:
    if target is not None:
        return nearest_first(recipes, rows, delta_e(target, lab))
    chroma = np.round(np.hypot(lab[:, 1], lab[:, 2]), DECIMALS)
    badness = np.where(chroma < NEUTRAL_CHROMA, chroma, -chroma)
    return np.lexsort((recipes.coverage[rows], recipes.inks[rows], badness))
