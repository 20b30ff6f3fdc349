"""The order of recipes: by what is asked; ties by fewer inks, less coverage, tints in laying order.

Recipes stand in the order of their tints, so the row decides the last tie.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array
from tuimatch.recipe.recipes import Recipes

# Values that agree to this many decimals are a tie: what is left is the noise of the arithmetic.
DECIMALS = 9

Rows = npt.NDArray[np.intp]


def first(recipes: Recipes, rows: Rows, measure: Array, top: int | None = None) -> Rows:
    """The positions among the rows of the least measures, in order.

    Args:
        recipes: The recipes of a palette.
        rows: Some of them, ascending, shape (n,).
        measure: What orders them, shape (n,).
        top: How many to give; all unless given.
    """
    key = np.round(measure, DECIMALS)
    positions = np.arange(len(key))
    if top is not None and top < len(key):
        # Sorting all of them is the dearer part; ties with the last one stay in.
        positions = np.flatnonzero(key <= np.partition(key, top - 1)[top - 1])
    order = positions[np.argsort(key[positions], kind="stable")]
    tied = np.zeros(len(order), dtype=np.bool_)
    tied[1:] = np.diff(key[order]) == 0
    tied[:-1] |= tied[1:]
    ties = order[tied]
    among = rows[ties]
    order[tied] = ties[np.lexsort((among, recipes.coverage[among], recipes.inks[among], key[ties]))]
    return order[:top]


def best(recipes: Recipes, rows: Rows, *measures: Array) -> int | None:
    """The row of the least measure, the next measure deciding between ties; None of no rows.

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
