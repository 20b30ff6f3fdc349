"""The dots of a recipe: each ink a round-dot screen at its angle, overprinted.

A screen puts dots on a square lattice turned by its angle, and a dot grows from its centre: the
nearer a pixel is to a centre, the smaller the area at which it is inked. To ink the fraction a of
the picture, the pixels are taken in that order until a of them are inked, so the area is exact in
any window, whole periods or not.

The colour model takes the screens to be independent (Demichel 1924). Over a large sheet turned
screens are; in a window of a few dots they meet by chance more or less often than they should,
and the picture would lean to a colour the sheet does not have. So an ink takes its fraction
separately from the pixels of each overprint already laid, and the shares of the overprints are
Demichel's to the pixel. At 60 x 40 pixels and a period of 8 this moves the edges of dots by 2 % of
the pixels (the 125 recipes of screen-quarters; 7 % at most); without it the mean is up to 1.9 ΔE
off.

Hard dots cannot carry the light that spreads in real paper. The area drawn is the one found for Y
at n = 1, and the colours of the overprints are scaled, per channel of XYZ, until their mean is the
predicted colour. Where n is 1 and a tint has one area for all channels, as on a screen, the scale
is 1 and the overprints keep their own colours. An overprint that sRGB cannot hold is drawn clipped,
and the others make up for it as far as they can.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin, tan
from typing import Any

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, displayed, srgb_to_xyz
from tuimatch.recipe.channels import xyz_channels
from tuimatch.recipe.halftone import demichel, ladder_areas, primaries
from tuimatch.recipe.recipes import Recipes

Picture = npt.NDArray[np.uint8]
Real = npt.NDArray[np.floating[Any]]

_METRES_PER_INCH = 0.0254
_ARCMINUTE = radians(1 / 60)

# How often the scale is corrected for what clipping took from the mean.
_CORRECTIONS = 6


@dataclass(frozen=True)
class View:
    """What part of the print is looked at, and how closely.

    Attributes:
        height: In pixels.
        width: In pixels.
        period: Pixels from dot to dot: the zoom.
        shifted: The position of an ink out of register, or None.
        shift: How far it is out, right and down, in periods.
    """

    height: int
    width: int
    period: float = 8.0
    shifted: int | None = None
    shift: tuple[float, float] = (0.0, 0.0)


class Press:
    """Draws the recipes of a palette."""

    def __init__(self, recipes: Recipes) -> None:
        self.recipes = recipes
        self._angles = recipes.palette.angles
        self._primaries = primaries(recipes.palette)
        # The area drawn is the one for Y at n = 1.
        areas = ladder_areas(recipes.palette, xyz_channels(1))
        self._areas = [ladder[:, 1] for ladder in areas]

    def picture(self, row: int, view: View) -> Picture:
        """A recipe as 8-bit sRGB, shape (height, width, 3)."""
        return np.asarray(self.colours(row)[self.overprints(row, view)])

    def alone(self, ink: int, tint: float, view: View) -> Picture:
        """One tint of the ink at a position alone on its paper, as `picture` gives a recipe."""
        count = len(self.recipes.palette.inks)
        row = self.recipes.row_of(tuple(tint if i == ink else 0.0 for i in range(count)))
        assert row is not None
        return self.picture(row, view)

    def overprints(self, row: int, view: View) -> Picture:
        """Which inks cover each pixel: bit i for the ink at position i, shape (height, width)."""
        areas = self.areas(row)
        overprint = np.zeros(view.height * view.width, dtype=np.uint8)
        for ink, area in enumerate(areas):
            if 0 < area < 1:
                shift = view.shift if ink == view.shifted else (0.0, 0.0)
                order = _order(view.height, view.width, view.period, self._angles[ink], shift)
                overprint |= _inked(order, overprint, area).astype(np.uint8) << ink
            elif area >= 1:
                overprint |= np.uint8(1 << ink)
        return overprint.reshape(view.height, view.width)

    def areas(self, row: int) -> list[float]:
        """The share of the sheet that each ink covers in a recipe, 0…1, gain included."""
        steps = self.recipes.steps[row]
        return [float(area[step]) for area, step in zip(self._areas, steps, strict=True)]

    def colours(self, row: int) -> Picture:
        """The overprints as they are drawn in a recipe, 8-bit sRGB, shape (2^inks, 3)."""
        return np.asarray(self.colours_of([row])[0])

    def colours_of(self, rows: Sequence[int]) -> Picture:
        """The same for several recipes at once, shape (recipes, 2^inks, 3)."""
        recipes = self.recipes
        if recipes.palette.fused == "resized":  # here the mean is of encoded values
            return np.repeat(displayed(self._primaries).srgb[None], len(rows), axis=0)
        areas = np.array([self.areas(row) for row in rows])
        shares = demichel(areas.reshape(len(rows), len(self._areas), 1))
        at = np.asarray(rows, dtype=np.intp)
        shown = srgb_to_xyz(recipes.srgb[at] / 255)
        wanted = np.where(recipes.clipped[at, None], shown, recipes.xyz[at])
        scaled = self._primaries * _ratio(wanted, (shares * self._primaries).sum(axis=1))
        drawn = displayed(scaled)
        srgb = drawn.srgb
        # What clipping took is made up for, recipe by recipe.
        left = np.arange(len(rows))
        for _ in range(_CORRECTIONS):
            still = np.any(drawn.clipped & (shares[left, :, 0] > 0), axis=1)
            left, scaled = left[still], scaled[still]
            if not len(left):
                break
            mean = (shares[left] * srgb_to_xyz(srgb[left] / 255)).sum(axis=1)
            scaled = scaled * _ratio(wanted[left], mean)
            drawn = displayed(scaled)
            srgb[left] = drawn.srgb
        return srgb


def _ratio(wanted: Array, mean: Array) -> Array:
    """What to scale each channel by, shape (recipes, 1, 3)."""
    return np.divide(wanted, mean, out=np.ones_like(mean), where=mean > 0)[:, None]


def fusing_distance(lines_per_inch: float) -> float:
    """From how many metres the dots of a ruling fuse.

    One period then subtends 1 arcminute (common practice): about 1.0 m at 85 lines per inch.
    """
    return _METRES_PER_INCH / lines_per_inch / tan(_ARCMINUTE)


def from_dot_centre(rows: Real, columns: Real, period: float, angle: float) -> Real:
    """How far each pixel is from the centre of its dot: the nearer, the sooner it is inked.

    Dots stand on a square lattice with a dot at 0, 0.

    Args:
        rows: Places of the rows of pixels, shape (h,); downwards.
        columns: Places of the columns, shape (w,).
        period: From dot to dot, in the same measure.
        angle: Of the screen, in degrees.

    Returns:
        The square of the distance in periods, 0…0.5, shape (h, w), of the kind of `rows`.
    """
    turn, kind = radians(angle), rows.dtype.type
    x, y = columns / kind(period), rows[:, None] / kind(period)
    u = x * kind(cos(turn)) + y * kind(sin(turn))
    v = y * kind(cos(turn)) - x * kind(sin(turn))
    u -= np.rint(u)
    v -= np.rint(v)
    u *= u
    v *= v
    u += v
    return np.asarray(u)


@lru_cache(maxsize=64)
def _order(
    height: int, width: int, period: float, angle: float, shift: tuple[float, float]
) -> npt.NDArray[np.intp]:
    """The pixels of a window in the order a growing screen inks them, shape (height · width,).

    A dot stands in the middle of the window.
    """
    from_centre = from_dot_centre(
        np.arange(height) - (height - 1) / 2 - shift[1] * period,
        np.arange(width) - (width - 1) / 2 - shift[0] * period,
        period,
        angle,
    )
    from_centre = np.round(from_centre, 9).ravel()
    # Where the lattice meets the pixels squarely, many are equally near; taken from the top they
    # would ink the upper dots first.
    lot = np.random.default_rng(0).random(height * width)
    order = np.lexsort((lot, from_centre))
    order.flags.writeable = False
    return order


def _inked(
    order: npt.NDArray[np.intp], overprint: npt.NDArray[np.uint8], area: float
) -> npt.NDArray[np.bool_]:
    """Which pixels an ink covers: the first `area` of each overprint in `order`.

    Rounding is carried from one overprint to the next, so that the whole is right to half a pixel.
    """
    order = order[np.argsort(overprint[order], kind="stable")]
    sizes = np.bincount(overprint)
    ends = np.rint(area * np.cumsum(sizes)).astype(np.intp)
    counts = np.diff(ends, prepend=0)
    place = np.arange(len(order)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    inked = np.empty(len(order), dtype=np.bool_)
    inked[order] = place < np.repeat(counts, sizes)
    return inked
