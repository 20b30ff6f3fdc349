"""A page with its recipes: what each of its pixels is to be painted with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tuimatch.recipe.recipes import Recipes

Bytes = npt.NDArray[np.uint8]

# Rows of a page worked on at once: some MB, however large the page is.
BAND = 128

# Gets how much is done, 0…1; what it raises ends the work.
Progress = Callable[[float], None]


def no_progress(done: float) -> None:
    """Tell nobody."""


@dataclass(frozen=True, eq=False)
class Painting:
    """A page to be laid.

    Attributes:
        recipes: The recipes of its palette.
        map: The place in `rows` of each pixel's recipe; what is beyond the last is bare paper,
            shape (height, width).
        rows: Rows of the recipes.
        line: How much of the line art covers each pixel, 0…255, shape (height, width); None
            without line art.
        line_colour: Its 8-bit sRGB.
    """

    recipes: Recipes
    map: Bytes
    rows: tuple[int, ...]
    line: Bytes | None = None
    line_colour: tuple[int, int, int] = (0, 0, 0)

    @property
    def height(self) -> int:
        """Rows of pixels."""
        return int(self.map.shape[0])

    @property
    def width(self) -> int:
        """Columns of pixels."""
        return int(self.map.shape[1])

    @property
    def row_of_place(self) -> npt.NDArray[np.intp]:
        """The recipe of each value that the map may hold, shape (256,); bare paper is row 0."""
        found = np.zeros(256, dtype=np.intp)
        found[: len(self.rows)] = self.rows
        return found

    def tints(self, ink: int) -> npt.NDArray[np.float64]:
        """The nominal tint of an ink for each value of the map, as fractions, shape (256,)."""
        return np.asarray(self.recipes.tints[self.row_of_place, ink] / 100)

    @property
    def most_coverage(self) -> float:
        """The most coverage of the recipes on it, in percent."""
        used = np.flatnonzero(np.bincount(self.map.ravel(), minlength=256)[: len(self.rows)])
        rows = np.array(self.rows, dtype=np.intp)[used]
        return float(self.recipes.coverage[rows].max(initial=0.0))

    def draw_line(self, band: slice, pixels: Bytes) -> None:
        """Lay the line art over a band of 8-bit sRGB, shape (h, width, 3), in place."""
        if self.line is None or not self.line[band].any():
            return
        alpha = self.line[band, :, None].astype(np.float32) / 255
        colour = np.array(self.line_colour, dtype=np.float32)
        pixels[:] = np.rint(pixels * (1 - alpha) + colour * alpha)

    def bands(self) -> Iterator[slice]:
        """The page in bands of rows."""
        for top in range(0, self.height, BAND):
            yield slice(top, min(top + BAND, self.height))
