"""Where the dots of each ink stand on a page.

The dots are those of the close-up (`recipe.dots`): round, on a square lattice turned by the angle
of the ink. A page is far larger than a close-up, so its pixels are not sorted: each gets a number
that rises with the distance from the centre of its dot, and a tint inks the pixels up to the number
that its share of all pixels of that tint reaches. So each tint covers exactly its share, and dots
run on across the areas of one tint. Turned screens are independent over a page (Demichel 1924).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tuimatch.plates.painting import Bytes, Painting, Progress
from tuimatch.recipe.dots import from_dot_centre

# How many steps of distance, and how many lots to decide between pixels equally far away: there are
# many where the lattice lines up with the pixels. Together they make 16 bits.
_STEPS, _LOTS, _TILE = 2048, 32, 256
_NUMBERS = _STEPS * _LOTS

# Dots of a page for the screen: about so many pixels from one to the next.
SCREEN_PERIOD = 6.0


@dataclass(frozen=True)
class Screening:
    """How fine the dots are.

    Attributes:
        period: Pixels from dot to dot; None for flat tints without dots.
    """

    period: float | None = SCREEN_PERIOD


def dots(
    painting: Painting, ink: int, areas: npt.NDArray[np.float64], period: float, told: Progress
) -> npt.NDArray[np.bool_]:
    """Which pixels of a page an ink covers, shape (height, width).

    Args:
        painting: The page.
        ink: The position of the ink.
        areas: The share it covers, 0…1, for each value of the page's map, shape (256,).
        period: Pixels from dot to dot.
        told: Told of the progress.
    """
    limits = _limits(painting, ink, areas, period, told)
    inked = np.empty(painting.map.shape, dtype=np.bool_)
    for band in painting.bands():
        limit = limits[painting.map[band]]
        inked[band] = _numbers(painting, band, ink, period) < limit
        told(0.5 + 0.5 * band.stop / painting.height)
    return inked


def _limits(
    painting: Painting, ink: int, areas: npt.NDArray[np.float64], period: float, told: Progress
) -> npt.NDArray[np.uint32]:
    """For each value of the map, the number below which a pixel is inked, shape (256,)."""
    limits = np.where(areas >= 1, _NUMBERS, 0).astype(np.uint32)
    shares, group = np.unique(areas, return_inverse=True)
    dotted = (shares > 0) & (shares < 1)
    counts = np.zeros(len(shares) * _NUMBERS, dtype=np.int64)
    # One number for each pixel: which tint it has, and how far it is from its dot's centre.
    first = (group * _NUMBERS).astype(np.uint32)
    for band in painting.bands() if dotted.any() else ():
        numbers = first[painting.map[band]]
        numbers += _numbers(painting, band, ink, period)
        counts += np.bincount(numbers.ravel(), minlength=len(counts))
        told(0.5 * band.stop / painting.height)
    for place in np.flatnonzero(dotted):
        reached = np.cumsum(counts[place * _NUMBERS : (place + 1) * _NUMBERS])
        wanted = shares[place] * reached[-1]
        # The nearest that whole numbers come: at most half of those equally far are too many.
        below = int(np.searchsorted(reached, wanted))
        before = reached[below - 1] if below else 0
        nearer = below + 1 if reached[below] - wanted < wanted - before else below
        limits[group == place] = nearer
    return limits


def _numbers(painting: Painting, band: slice, ink: int, period: float) -> npt.NDArray[np.uint16]:
    rows = np.arange(band.start, band.stop, dtype=np.float32)
    columns = np.arange(painting.width, dtype=np.float32)
    angle = painting.recipes.palette.angles[ink]
    far = from_dot_centre(rows, columns, period, angle)
    far *= 2 * (_STEPS - 1)
    numbers = far.astype(np.uint16)
    numbers *= _LOTS
    across = -(-painting.width // _TILE)
    lots = np.tile(_LOT, (1, across))[:, : painting.width]
    numbers += lots[np.arange(band.start, band.stop) % _TILE]
    return numbers


_LOT = np.random.default_rng(0).integers(0, _LOTS, (_TILE, _TILE), dtype=np.uint16)


def overprints(
    painting: Painting,
    areas: list[npt.NDArray[np.float64]],
    period: float,
    told: Progress,
) -> Bytes:
    """Which inks cover each pixel: bit i for the ink at position i, shape (height, width)."""
    found = np.zeros(painting.map.shape, dtype=np.uint8)
    for ink, share in enumerate(areas):

        def part(done: float, ink: int = ink) -> None:
            told((ink + done) / len(areas))

        found |= dots(painting, ink, share, period, part).astype(np.uint8) << ink
    return found
