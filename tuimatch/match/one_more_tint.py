"""Recipes with one tint more: what a ladder would give that has another tint of one of its inks.

Every tint in steps of 1 % is tried, with every recipe of the other inks' ladders.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import prod

import numpy as np

from tuimatch.colour.ciede2000_bounds import promising
from tuimatch.colour.colorimetry import Array, delta_e, xyz_to_lab
from tuimatch.match.limits import Narrowing, obey
from tuimatch.palette.model import Palette, Triple
from tuimatch.recipe.recipes import Recipes

# Tables of at most so many colours are kept and searched at a key press: about three inks.
QUICK = 30_000
# Larger ones do not answer for one colour: `tuimatch tints` asks them for a whole project.
MOST = 1_000_000


@dataclass(frozen=True, eq=False)
class WithOneMore:
    """Recipes that have a tint which a ladder lacks; N rows.

    Attributes:
        ink: Position of the ink that has it.
        tint: The tint in percent, shape (N,).
        tints: The recipes in percent, shape (N, k).
        lab: Their CIELAB, shape (N, 3).
    """

    ink: int
    tint: Array
    tints: Array
    lab: Array


@dataclass(frozen=True)
class OneMoreTint:
    """A tint that would bring a colour nearer.

    Attributes:
        ink: Position of its ink.
        tint: Percent.
        delta_e: CIEDE2000 of the best recipe that has it.
    """

    ink: int
    tint: float
    delta_e: float


def size(palette: Palette) -> int:
    """How many recipes one more tint makes, over all tints of all inks."""
    return sum(
        len(new_tints(palette, i)) * palette.recipe_count // len(ink.steps)
        for i, ink in enumerate(palette.inks)
    )


def new_tints(palette: Palette, ink: int) -> list[float]:
    """The whole percents from 1 to 100 that an ink's ladder lacks."""
    return [float(t) for t in range(1, 101) if t not in palette.inks[ink].tints]


def with_one_more(recipes: Recipes, ink: int, tints: list[float]) -> WithOneMore:
    """The recipes in which an ink has one of some tints that its ladder lacks."""
    inks = recipes.palette.inks
    axes = [tints if i == ink else list(other.steps) for i, other in enumerate(inks)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(inks))
    lab = xyz_to_lab(recipes.halftone.colour_of(grid))
    return WithOneMore(ink, grid[:, ink], grid, lab)


def in_parts(recipes: Recipes, most: int = 200_000) -> Iterator[WithOneMore]:
    """Every recipe with one more tint, in parts of about `most` rows."""
    palette = recipes.palette
    for i, ink in enumerate(palette.inks):
        tints = new_tints(palette, i)
        others = prod(len(other.steps) for other in palette.inks) // len(ink.steps)
        at_once = max(1, most // others)
        for start in range(0, len(tints), at_once):
            yield with_one_more(recipes, i, tints[start : start + at_once])


@lru_cache(maxsize=2)
def _kept(recipes: Recipes) -> tuple[WithOneMore, ...]:
    return tuple(in_parts(recipes))


def one_more_tint(recipes: Recipes, target: Triple, narrowing: Narrowing) -> OneMoreTint | None:
    """The one tint of one ink that, added to the ladder, comes nearest to a colour.

    Args:
        recipes: The recipes of a palette whose `size` is at most `MOST`.
        target: CIELAB of the wanted colour as it is meant on the paper.
        narrowing: The limits; which recipes are in use is not a limit here.

    Returns:
        None where the limits leave none.
    """
    found = []
    for table in _kept(recipes):
        rows = np.flatnonzero(obey(table.tints, narrowing))
        if len(rows):
            rows = rows[promising(target, table.lab[rows], 1)]
            off = delta_e(target, table.lab[rows])
            least = rows[off.argmin()]
            found.append(OneMoreTint(table.ink, float(table.tint[least]), float(off.min())))
    return min(found, key=lambda one: one.delta_e, default=None)
