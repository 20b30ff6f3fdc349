"""The correction by measured mixtures: the model is drawn to every patch, and less so around it.

With t the nominal tints (0…1), r = ln(measured / model) in each channel at every known patch, and
the kernel K(t, t') = Π over inks of (1 + √3·|Δ|)·e^(−√3·|Δ|) (Matérn 3/2 with length 1), the
weights are α = (K + 0.01·I)⁻¹ r, and at any tints the model is multiplied by exp(K(t, patches)·α).
This is Gaussian process regression: C. E. Rasmussen & C. K. I. Williams, "Gaussian Processes for
Machine Learning" (2006), equations 2.25 and 4.17.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array

_NOISE = 0.01


def matern(first: Array, second: Array) -> Array:
    """The kernel of one ink between two lists of tints (0…1), shape (first, second)."""
    apart = sqrt(3) * np.abs(first[:, None] - second[None, :])
    return np.asarray((1 + apart) * np.exp(-apart))


def kernel(first: Array, second: Array) -> Array:
    """The kernel between two lists of recipes, shapes (N, inks) and (P, inks): (N, P)."""
    found = np.ones((len(first), len(second)))
    for one, other in zip(first.T, second.T, strict=True):
        found *= matern(one, other)
    return found


class Residual:
    """The correction that known patches make."""

    def __init__(self, patches: Array, r: Array) -> None:
        """Find the weights.

        Args:
            patches: Nominal tints of the known patches, 0…1, shape (P, inks).
            r: ln(measured / model) of each, shape (P, 3).
        """
        self._patches, self._r = patches, r
        self._weights = np.linalg.solve(self._known(), r)

    def _known(self) -> Array:
        """K + 0.01·I of the known patches, shape (P, P)."""
        return kernel(self._patches, self._patches) + _NOISE * np.eye(len(self._patches))

    def without(self, groups: npt.NDArray[np.intp]) -> Array:
        """What to multiply the model by at each patch, as if its whole group were not known.

        One inverse serves all groups: with A = K + 0.01·I, the error of a group B of patches
        predicted from all others is (A⁻¹[B, B])⁻¹ (A⁻¹ r)[B] (Rasmussen & Williams, section
        5.4.2, for one patch at a time; by blocks it follows in the same way from the inverse of a
        partitioned matrix).

        Args:
            groups: The group of each patch, shape (P,); −1 for those that are always known.

        Returns:
            Shape (P, 3).
        """
        inverse = np.linalg.inv(self._known())
        weights, lacking = inverse @ self._r, np.zeros_like(self._r)
        for group in np.unique(groups[groups >= 0]):
            of = np.flatnonzero(groups == group)
            lacking[of] = np.linalg.solve(inverse[np.ix_(of, of)], weights[of])
        return np.asarray(np.exp(self._r - lacking))

    def factor(self, tints: Array) -> Array:
        """What to multiply the model by at these tints, 0…1, shape (N, inks): (N, 3)."""
        return np.asarray(np.exp(kernel(tints, self._patches) @ self._weights))

    def table(self, ladders: Sequence[Array]) -> Array:
        """The factor for every recipe of some ladders, the last ink changing fastest.

        The kernel is a product over inks, so the large one is never built. With A the Khatri-Rao
        product (row by row of the patches) of the kernels of the first inks, and B that of the
        others, the table of a channel is the matrix product A · diag(α) · Bᵀ.

        Args:
            ladders: The tints of each ink, 0…1, none of the ink among them.

        Returns:
            Shape (ladder, ladder, …, 3).
        """
        factors = [
            matern(ladder, column) for ladder, column in zip(ladders, self._patches.T, strict=True)
        ]
        half = len(factors) // 2
        first, others = (
            _khatri_rao(factors[:half], len(self._patches)),
            _khatri_rao(factors[half:], len(self._patches)),
        )
        channels = [(first * weights) @ others.T for weights in self._weights.T]
        shape = (*(len(ladder) for ladder in ladders), len(channels))
        return np.asarray(np.exp(np.stack(channels, axis=-1)).reshape(shape))


def _khatri_rao(factors: Sequence[Array], patches: int) -> Array:
    """Every product of a row of each factor, shape (Π rows, patches)."""
    found = np.ones((1, patches))
    for factor in factors:
        found = (found[:, None] * factor[None]).reshape(-1, patches)
    return found
