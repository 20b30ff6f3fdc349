"""Bounds that save computing CIEDE2000: for the nearest recipes, and for pairs too close.

The `top` nearest cannot differ more than the furthest of any `top` recipes: that is a limit. The
order goes by steps of `UNSEEN`, so nothing that lies a step or more beyond the limit can stand
before them, and what a lower bound puts there is left out: what stays holds the whole answer. A
first limit comes from those of a sample that are near in CIELAB, the final one from those with the
least bounds.

The lower bound, in the terms of ISO/CIE 11664-6:2022, where x = ΔC'/(k_C S_C) and
y = ΔH'/(k_H S_H):

1. ΔE² = (ΔL'/(k_L S_L))² + x² + y² + R_T x y, and as |2 x y| ≤ x² + y², the last three are at
   least (1 - |R_T|/2)(x² + y²), which is never negative.
2. S_L ≤ 1 + 0.015 |L̄ - 50|, because u/√(20 + u) ≤ √u.
3. G, a', C', S_C and ΔC' are reckoned as they are; ΔC'² + ΔH'² = Δa'² + Δb² by the law of
   cosines, which spares the hue angles.
4. S_H ≤ 1 + 0.015 · 1.93 C̄', because T ≤ 1 + 0.17 + 0.24 + 0.32 + 0.20.
5. |R_T| ≤ 2 sin(2 Δθ) with Δθ = 30° exp(-((h̄ - 275°)/25°)²), and the mean hue h̄ is the direction
   halfway between the two colours. So |R_T| is no more than at the nearest angle of `_ROTATION`.
   Where that direction is not certain, because the hues oppose, the largest value counts; where a
   colour has no hue, y = 0 and the last term with it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, delta_e, difference

# A difference of differences this small cannot be seen (a choice of this project): the order of
# the candidates goes by steps of it.
UNSEEN = 0.2

# It is faster to rank fewer recipes than this than to sort any out.
_WORTH_IT = 4000
# How many are compared exactly for a limit, and how many are sampled for the first limit.
_TRIED, _SAMPLE = 256, 8192
# The rounding error of the bound is far smaller.
_SLACK = 1e-4
_BLOCK = 8192

# How far h̄ is at least from 275°, in degrees, and the largest |R_T| / 2 from there on.
_FROM = np.array([0, 10, 20, 30, 40, 50, 75])
_ROTATION: Array = np.sin(np.radians(2 * 30 * np.exp(-((_FROM / 25) ** 2))))
# By the cosine, ascending.
_COSINES, _LARGEST = np.cos(np.radians(_FROM[:0:-1])), _ROTATION[::-1]
_BLUE = np.cos(np.radians(275)), np.sin(np.radians(275))


def promising(
    target: npt.ArrayLike,
    lab: Array,
    top: int,
    factors: tuple[float, float, float] = (1, 1, 1),
) -> npt.NDArray[np.intp]:
    """Rows, ascending, among which are the first `top` of the order and all that tie with the last.

    That is the `top` nearest, and whatever is less than `UNSEEN` further off than the last.

    Args:
        target: CIELAB, shape (3,).
        lab: CIELAB, shape (N, 3).
        top: How many are wanted, from 1.
        factors: The parametric factors kL, kC, kH of CIEDE2000.
    """
    if len(lab) < max(_WORTH_IT, 4 * top):
        return np.arange(len(lab))
    wanted = np.asarray(target, dtype=np.float64)
    tried = max(_TRIED, 2 * top)

    def limit(rows: npt.NDArray[np.intp], order_by: Array) -> float:
        """The `top`-th difference among those rows that come first by a measure."""
        if len(rows) > tried:
            rows = rows[np.argpartition(order_by, tried)[:tried]]
        differences = difference(wanted, lab[rows]).weighted(*factors)
        return float(np.partition(differences, top - 1)[top - 1]) + UNSEEN + _SLACK

    sample = np.arange(0, len(lab), max(1, len(lab) // max(_SAMPLE, 2 * tried)))
    most = limit(sample, np.square(lab[sample] - wanted).sum(axis=1))
    rows, bounds = _within(wanted, lab, most, factors)
    most = min(most, limit(rows, bounds))
    return np.asarray(rows[bounds <= most**2])


def within(
    target: npt.ArrayLike,
    lab: Array,
    most: float,
    factors: tuple[float, float, float] = (1, 1, 1),
) -> npt.NDArray[np.intp]:
    """Rows, ascending, among which are all that differ from the target by no more than `most`.

    Args:
        target: CIELAB, shape (3,).
        lab: CIELAB, shape (N, 3).
        most: CIEDE2000 with the factors; it holds with the rotation term R_T or without.
        factors: The parametric factors kL, kC, kH of CIEDE2000.
    """
    most += _SLACK
    rows, bounds = _within(np.asarray(target, dtype=np.float64), lab, most, factors)
    return np.asarray(rows[bounds <= most**2])


def _within(
    target: Array, lab: Array, most: float, factors: tuple[float, float, float]
) -> tuple[npt.NDArray[np.intp], Array]:
    """Rows, ascending, that lightness alone does not rule out, and their squared bounds."""
    lightness = lab[:, 0]
    s_l = _most_s_l(target[0], lightness)
    rows = np.flatnonzero(np.abs(lightness - target[0]) <= most * factors[0] * s_l)
    bounds = np.empty(len(rows))
    for start in range(0, len(rows), _BLOCK):  # blocks stay in the processor's cache
        block = slice(start, start + _BLOCK)
        bounds[block] = _squared_bound(target, lab[rows[block]], factors)
    return rows, bounds


def _most_s_l(target: npt.ArrayLike, lightness: Array) -> Array:
    return np.asarray(1 + 0.015 * np.abs((np.asarray(target) + lightness) / 2 - 50))


def _squared_bound(target: Array, lab: Array, factors: tuple[float, float, float]) -> Array:
    """What the square of CIEDE2000 is at least, shape (N,).

    Args:
        target: CIELAB, shape (3,) or (N, 3).
        lab: CIELAB, shape (N, 3).
        factors: The parametric factors kL, kC, kH.
    """
    k_l, k_c, k_h = factors
    lightness, a, b = lab.T
    target_l, target_a, target_b = target.T
    s_l = _most_s_l(target_l, lightness)

    c = (_length(a, b) + _length(target_a, target_b)) / 2
    c7 = (c * c) ** 2 * (c * c) * c
    stretch = 1.5 - 0.5 * np.sqrt(c7 / (c7 + 25.0**7))
    a, target_a = a * stretch, target_a * stretch
    chroma, target_chroma = _length(a, b), _length(target_a, target_b)
    mean = (chroma + target_chroma) / 2
    delta_c = (chroma - target_chroma) ** 2
    delta_h = np.maximum((a - target_a) ** 2 + (b - target_b) ** 2 - delta_c, 0)
    x2 = delta_c / (k_c * (1 + 0.045 * mean)) ** 2
    y2 = delta_h / (k_h * (1 + 0.015 * 1.93 * mean)) ** 2

    # Halfway between the two directions, without the angles.
    middle_a = a * target_chroma + target_a * chroma
    middle_b = b * target_chroma + target_b * chroma
    length = _length(middle_a, middle_b)
    certain = length > 1e-6 * chroma * target_chroma
    cosine = (middle_a * _BLUE[0] + middle_b * _BLUE[1]) / np.where(certain, length, 1)
    rotation = np.where(certain, _LARGEST[np.searchsorted(_COSINES, cosine)], _ROTATION[0])
    return np.asarray(((lightness - target_l) / (k_l * s_l)) ** 2 + (1 - rotation) * (x2 + y2))


def _length(x: Array, y: Array) -> Array:
    return np.asarray(np.sqrt(x * x + y * y))


# Two areas nearer than this are hard to tell apart in print, and a target this near to an earlier
# one is the same colour to the artist (common practice, no source).
CLOSE = 2.0

Pairs = tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], Array]


def pairs(lab: Array, most: float = CLOSE) -> Iterator[Pairs]:
    """Every pair of colours nearer than `most`, in parts: its two rows and its CIEDE2000.

    Args:
        lab: CIELAB, shape (N, 3).
        most: CIEDE2000.
    """
    order = np.argsort(lab[:, 0], kind="stable")
    lab = lab[order]
    most_s_l = float(_most_s_l(lab[:, 0], lab[:, 0]).max(initial=1))
    for step in range(1, len(lab)):
        lower, upper = lab[:-step], lab[step:]
        # Sorted by lightness: once no pair so many places apart can be near, none further can.
        close = np.flatnonzero(upper[:, 0] - lower[:, 0] <= most * most_s_l)
        if not len(close):
            break
        bounds = _squared_bound(lower[close], upper[close], (1, 1, 1))
        close = close[bounds <= (most + _SLACK) ** 2]
        differences = delta_e(lower[close], upper[close])
        near = differences < most
        yield order[close[near]], order[close[near] + step], differences[near]
