"""Colours hard to tell apart: how near that is, and the pairs of many that are so near."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, delta_e

# Two areas nearer than this are hard to tell apart in print, and a target this near to one of
# before is the same colour to the artist (common practice, no source).
CLOSE = 2.0

# How far apart in CIELAB two colours of a CIEDE2000 below 1 can lie, from its own formula: S_L is
# at most 1 + 0.015 · 50² / √(20 + 50²) = 1.75, S_C and S_H at most 1 + 0.045 C', and C' at most
# 1.5 C; R_T at most 2 sin 60°.
_MOST_S_L = 1.75
_MOST_AB = 1 / np.sqrt(1 - np.sin(np.radians(60)))

Pairs = tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], Array]


def pairs(lab: Array, most: float = CLOSE) -> Iterator[Pairs]:
    """Every pair of colours nearer than `most`, in parts: its two rows and its CIEDE2000.

    Args:
        lab: CIELAB, shape (N, 3).
        most: CIEDE2000.
    """
    order = np.argsort(lab[:, 0], kind="stable")
    lab = lab[order]
    for step in range(1, len(lab)):
        lower, upper = lab[:-step], lab[step:]
        # Sorted by lightness: once no pair so many places apart can be near, none further can.
        close = np.flatnonzero(upper[:, 0] - lower[:, 0] <= most * _MOST_S_L)
        if not len(close):
            break
        close = close[_could_be_near(lower[close], upper[close], most)]
        differences = delta_e(lower[close], upper[close])
        near = differences < most
        yield order[close[near]], order[close[near] + step], differences[near]


def _could_be_near(first: Array, second: Array, most: float) -> npt.NDArray[np.bool_]:
    """Where a CIEDE2000 below `most` is not ruled out by the distance in a and b."""
    distance = np.hypot(first[..., 1] - second[..., 1], first[..., 2] - second[..., 2])
    chroma = np.hypot(first[..., 1], first[..., 2]) + np.hypot(second[..., 1], second[..., 2])
    return np.asarray(distance <= most * _MOST_AB * (1 + 0.045 * 1.5 * chroma / 2))
