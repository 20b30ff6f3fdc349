"""What lies between the known tints of one ink: a cubic that never overshoots.

F. N. Fritsch & R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17
(1980), with the slopes of F. N. Fritsch & J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


class MonotoneCubic:
    """A curve through points, channel by channel; monotone wherever the points are."""

    def __init__(self, x: npt.ArrayLike, y: npt.ArrayLike) -> None:
        """Find the slopes.

        Args:
            x: Strictly ascending, shape (P,), P at least 2.
            y: Shape (P, channels).
        """
        self._x, self._y = (np.asarray(values, dtype=np.float64) for values in (x, y))
        self._h = np.diff(self._x)
        self._slope = _slopes(self._h, np.diff(self._y, axis=0) / self._h[:, None])

    def __call__(self, wanted: npt.ArrayLike) -> Array:
        """Values at places within x.

        Args:
            wanted: The places, shape (W,).

        Returns:
            Shape (W, channels); a wanted place that is one of x gets its own y exactly.
        """
        x, y, slope = self._x, self._y, self._slope
        places = np.asarray(wanted, dtype=np.float64)
        i = np.clip(np.searchsorted(x, places, side="right") - 1, 0, len(self._h) - 1)
        t = ((places - x[i]) / self._h[i])[:, None]
        step = self._h[i][:, None]
        # The cubic Hermite basis.
        found = (
            (1 + 2 * t) * (1 - t) ** 2 * y[i]
            + t * (1 - t) ** 2 * step * slope[i]
            + t**2 * (3 - 2 * t) * y[i + 1]
            + t**2 * (t - 1) * step * slope[i + 1]
        )
        return np.asarray(found)


def monotone(x: npt.ArrayLike, y: npt.ArrayLike, wanted: npt.ArrayLike) -> Array:
    """Values between points; see `MonotoneCubic`. Shape (W, channels)."""
    return MonotoneCubic(x, y)(wanted)


def _slopes(h: Array, rise: Array) -> Array:
    """The slope at each point, shape (P, channels)."""
    if len(h) == 1:
        return np.repeat(rise, 2, axis=0)
    slope = np.zeros((len(h) + 1, rise.shape[1]))
    before, after = rise[:-1], rise[1:]
    same = before * after > 0
    # Weighted harmonic mean of the rises on both sides; flat where the points turn.
    w1, w2 = (2 * h[1:] + h[:-1])[:, None], (h[1:] + 2 * h[:-1])[:, None]
    with np.errstate(over="ignore"):
        # A rise too small to divide by gives an infinite mean, and so a flat slope, as it should.
        mean = w1 / np.where(same, before, 1) + w2 / np.where(same, after, 1)
    slope[1:-1] = np.where(same, (w1 + w2) / mean, 0)
    slope[0] = _end_slope(h[0], h[1], rise[0], rise[1])
    slope[-1] = _end_slope(h[-1], h[-2], rise[-1], rise[-2])
    return slope


def _end_slope(near: float, far: float, near_rise: Array, far_rise: Array) -> Array:
    """Three-point slope at an end, held back so that the cubic stays monotone."""
    slope = ((2 * near + far) * near_rise - near * far_rise) / (near + far)
    slope = np.where(slope * near_rise <= 0, 0, slope)
    too_steep = (near_rise * far_rise <= 0) & (np.abs(slope) > 3 * np.abs(near_rise))
    return np.where(too_steep, 3 * near_rise, slope)
