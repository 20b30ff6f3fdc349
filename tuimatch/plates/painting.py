"""A page with its recipes: what each of its pixels is to be painted with."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tuimatch.picture.flats import Flats
from tuimatch.picture.picture import Picture
from tuimatch.recipe.recipes import Recipes
from tuimatch.text import rgb_of_hex

Bytes = npt.NDArray[np.uint8]

# Rows of a page worked on at once: some MB, however large the page is.
BAND = 128

# Gets how much is done, 0…1; what it raises ends the work.
Progress = Callable[[float], None]


def no_progress(done: float) -> None:
    """Tell nobody."""


@dataclass(frozen=True, eq=False)
class Line:
    """Line art of one colour.

    Attributes:
        colour: 8-bit sRGB.
        cover: How much of it covers each pixel, 0…255, shape (height, width).
    """

    colour: tuple[int, int, int]
    cover: Bytes


@dataclass(frozen=True, eq=False)
class Painting:
    """A page to be laid.

    Attributes:
        recipes: The recipes of its palette.
        map: The place in `rows` of each pixel's recipe; what is beyond the last is bare paper,
            shape (height, width).
        rows: Rows of the recipes.
        lines: The line art that lies over it, from the bottom.
    """

    recipes: Recipes
    map: Bytes
    rows: tuple[int, ...]
    lines: tuple[Line, ...] = ()

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
        used = np.zeros(256, dtype=np.bool_)
        for band in self.bands():
            used[self.map[band]] = True
        rows = np.array(self.rows, dtype=np.intp)[used[: len(self.rows)]]
        return float(self.recipes.coverage[rows].max(initial=0.0))

    def draw_lines(self, band: slice, pixels: Bytes) -> None:
        """Lay the line art over a band of 8-bit sRGB, shape (h, width, 3), in place."""
        for line in self.lines:
            covered = line.cover[band] > 0
            if covered.any():
                alpha = line.cover[band][covered][:, None].astype(np.float32) / 255
                colour = np.array(line.colour, dtype=np.float32)
                pixels[covered] = np.rint(pixels[covered] * (1 - alpha) + colour * alpha)

    def bands(self) -> Iterator[slice]:
        """The page in bands of rows."""
        for top in range(0, self.height, BAND):
            yield slice(top, min(top + BAND, self.height))


# How far from a line its smoothed edge may reach, in pixels, and the least cover that counts: less
# is the noise of lossy compression.
_EDGE, _LEAST_COVER = 2, 12


def of_page(
    page: Picture,
    flats: Flats,
    recipes: Recipes,
    rows: Sequence[int],
    told: Progress = no_progress,
) -> Painting:
    """A page with its line art, ready to be laid.

    The flats run a little under the lines, so that no paper shows beside them.

    Args:
        page: The picture.
        flats: What was found in it.
        recipes: The recipes of a palette.
        rows: A row of them for each flat.
        told: Told of the progress.
    """
    map_ = flats.map.copy()
    lines = tuple(Line(colour, np.zeros_like(map_)) for colour in map(rgb_of_hex, flats.kept_out))
    grounds = np.array([flat.srgb for flat in flats.flats], dtype=np.float32)
    for top in range(0, len(map_), BAND):
        told(top / len(map_))
        band = slice(top, min(top + BAND, len(map_)))
        reach = 2 * _EDGE
        wider = slice(max(top - reach, 0), band.stop + reach)
        own = slice(band.start - wider.start, band.stop - wider.start)
        spread = _spread(flats.map[wider], len(grounds))
        map_[band] = spread[own]
        for line in lines:
            colour = np.array(line.colour, dtype=np.uint8)
            solid = (page.pixels[wider] == colour).all(axis=2)
            solid &= flats.map[wider] >= len(grounds)
            if solid.any():
                _cover(line, page.pixels[band], spread[own], grounds, solid, own, band)
    return Painting(recipes, map_, tuple(rows), lines)


def _cover(
    line: Line,
    pixels: Bytes,
    places: Bytes,
    grounds: npt.NDArray[np.float32],
    solid: npt.NDArray[np.bool_],
    own: slice,
    band: slice,
) -> None:
    """How much of a line covers the pixels of a band: as far as they have gone to its colour."""
    near = _widened(solid)[own] & ~solid[own] & (places < len(grounds))
    ways = np.array(line.colour, dtype=np.float32) - grounds
    lengths = np.maximum((ways * ways).sum(axis=1), 1)
    ground = places[near]
    gone = pixels[near] - grounds[ground]
    share = np.clip((gone * ways[ground]).sum(axis=1) / lengths[ground], 0, 1) * 255
    share[share < _LEAST_COVER] = 0
    line.cover[band][near] = np.rint(share)
    line.cover[band][solid[own]] = 255


def _spread(map_: Bytes, count: int) -> Bytes:
    """The flats spread over pixels beside them that have no flat, twice the reach of an edge."""
    spread = map_.copy()
    for _ in range(2 * _EDGE):
        before = spread.copy()
        for one, other in _SHIFTS:
            free = (spread[one] >= count) & (before[other] < count)
            spread[one][free] = before[other][free]
    return spread


_ALL, _ON, _BACK = slice(None), slice(1, None), slice(None, -1)
_SHIFTS = (
    ((_ON, _ALL), (_BACK, _ALL)),
    ((_BACK, _ALL), (_ON, _ALL)),
    ((_ALL, _ON), (_ALL, _BACK)),
    ((_ALL, _BACK), (_ALL, _ON)),
)


def _widened(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """What lies within the reach of an edge of a mask, along rows and columns."""
    wide = mask.copy()
    for _ in range(_EDGE):
        before = wide.copy()
        for one, other in _SHIFTS:
            wide[one] |= before[other]
    return wide
