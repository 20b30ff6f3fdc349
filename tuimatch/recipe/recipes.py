"""Every recipe of a palette with its predicted colour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tuimatch.colour.ciede2000_bounds import UNSEEN
from tuimatch.colour.colorimetry import Array, displayed, xyz_to_lab
from tuimatch.palette.model import Palette
from tuimatch.recipe.halftone import Halftone


@dataclass(frozen=True, eq=False)
class Recipes:
    """All recipes of a palette; N rows, k inks, bare paper first, the last ink changing fastest.

    Attributes:
        palette: Where they come from.
        halftone: The model that mixed them; it also gives any other tints of the same inks.
        steps: Place on each ink's ladder, 0 for none, shape (N, k).
        tints: Nominal tint in percent, shape (N, k).
        inks: How many inks are used, shape (N,).
        coverage: Sum of the nominal tints in percent (total area coverage), shape (N,).
        xyz: Predicted XYZ, D50, shape (N, 3).
        lab: Predicted CIELAB, D50, shape (N, 3).
        srgb: What a screen shows, 0…255, shape (N, 3).
        clipped: Where sRGB cannot hold the colour, shape (N,).
    """

    palette: Palette
    halftone: Halftone
    steps: npt.NDArray[np.intp]
    tints: Array
    inks: npt.NDArray[np.intp]
    coverage: Array
    xyz: Array
    lab: Array
    srgb: npt.NDArray[np.uint8]
    clipped: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.steps)

    @cached_property
    def darkest(self) -> int:
        """The row of least Y within the palette's own coverage limit: the black of its paper."""
        limit = self.palette.coverage_limit
        over = False if limit is None else self.coverage > limit
        return int(np.where(over, np.inf, self.xyz[:, 1]).argmin())

    @cached_property
    def canvas(self) -> Halftone | None:
        """What the same tints give on the canvas of a drawing program, where print differs."""
        canvas = self.palette.canvas
        return None if canvas is None else Halftone(canvas)

    def canvas_rgb(self, tints: tuple[float, ...]) -> tuple[int, int, int] | None:
        """What the canvas shows of a recipe; None where the palette itself is the canvas."""
        if self.canvas is None:
            return None
        r, g, b = displayed(self.canvas.colour_of([tints])).srgb[0].tolist()
        return r, g, b

    def row_of(self, tints: tuple[float, ...]) -> int | None:
        """The row of a recipe given in percent for every ink, or None if the ladders lack it."""
        row = 0
        for ink, tint in zip(self.palette.inks, tints, strict=True):
            if tint not in ink.steps:
                return None
            row = row * len(ink.steps) + ink.steps.index(tint)
        return row

    def row_named(self, tints: Mapping[str, float]) -> int | None:
        """The row of a recipe by the names of its inks, or None if the palette lacks it."""
        found = self.palette.tints_named(tints)
        return None if found is None else self.row_of(found)

    def tints_of(self, row: int) -> tuple[float, ...]:
        """Percent for every ink in laying order, 0 for none."""
        return tuple(float(t) for t in self.tints[row])

    def rgb_of(self, row: int) -> tuple[int, int, int]:
        """The 8-bit sRGB a screen shows."""
        r, g, b = (int(x) for x in self.srgb[row])
        return r, g, b


def mix(palette: Palette) -> Recipes:
    """Predict the colour of every recipe of a palette."""
    halftone = Halftone(palette)
    sizes = [len(ink.steps) for ink in palette.inks]
    steps = np.indices(sizes).reshape(len(sizes), -1).T
    tints = np.stack(
        [np.array(ink.steps)[steps[:, i]] for i, ink in enumerate(palette.inks)], axis=1
    )
    xyz = halftone.table()
    screen = displayed(xyz)
    return Recipes(
        palette=palette,
        halftone=halftone,
        steps=steps,
        tints=tints,
        inks=np.count_nonzero(steps, axis=1),
        coverage=tints.sum(axis=1),
        xyz=xyz,
        lab=xyz_to_lab(xyz),
        srgb=screen.srgb,
        clipped=screen.clipped,
    )


# Values that agree to this many decimals are a tie: what is left is the noise of the arithmetic.
DECIMALS = 9

Rows = npt.NDArray[np.intp]


def nearest_first(recipes: Recipes, rows: Rows, delta_e: Array, top: int | None = None) -> Rows:
    """The positions among the rows in the order of the candidates.

    CIEDE2000 in whole steps of `UNSEEN`, then fewer inks, less coverage, CIEDE2000 itself, and
    tints in laying order: such a step cannot be seen, and one ink less is less work.

    Args:
        recipes: The recipes of a palette.
        rows: Some of them, ascending, shape (n,).
        delta_e: CIEDE2000 from the target, with the factors that order it, shape (n,).
        top: How many to give; all unless given.
    """
    step = np.floor(np.round(delta_e / UNSEEN, DECIMALS))
    positions = np.arange(len(step))
    if top is not None and top < len(step):
        # Sorting takes longest, so only these are: all up to the step of the last one listed.
        positions = np.flatnonzero(step <= np.partition(step, top - 1)[top - 1])
    among, fine = rows[positions], np.round(delta_e[positions], DECIMALS)
    order = np.lexsort((fine, recipes.coverage[among], recipes.inks[among], step[positions]))
    return np.asarray(positions[order[:top]])


def best(recipes: Recipes, rows: Rows, *measures: Array) -> int | None:
    """The row of the least measure, the next measure deciding between ties; None without rows.

    Args:
        recipes: The recipes of a palette.
        rows: Some of them, ascending, shape (n,).
        measures: What orders them, each of shape (n,).
    """
    if not len(rows):
        return None
    left = np.arange(len(rows))
    keys = (np.round(measure, DECIMALS) for measure in measures)
    for key in (*keys, recipes.inks[rows], recipes.coverage[rows]):
        part = key[left]
        left = left[part == part.min()]
    return int(rows[left[0]])
