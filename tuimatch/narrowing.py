"""Limits on which recipes may be offered."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tuimatch.recipes import Recipes

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Narrowing:
    """What a recipe must obey to be offered.

    Attributes:
        max_coverage: Most total area coverage in percent; None for no limit.
    """

    max_coverage: float | None = None


def allowed(recipes: Recipes, narrowing: Narrowing) -> Mask:
    """Which recipes obey, shape (N,)."""
    mask = np.ones(len(recipes), dtype=np.bool_)
    if narrowing.max_coverage is not None:
        mask &= recipes.coverage <= narrowing.max_coverage
    return mask
