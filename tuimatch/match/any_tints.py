"""How near the inks of a palette come to a colour if they could be laid at any tint.

CIEDE2000 is searched over the tints by hand: a grid of tints, whose colours are mixed once, gives a
few starts, and around each of them every ink takes ever smaller steps up and down as long as that
comes nearer. The tests compare the answer with a dense grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tuimatch.colour.ciede2000_bounds import promising
from tuimatch.colour.colorimetry import Array, delta_e, xyz_to_lab
from tuimatch.match.limits import Narrowing, obey
from tuimatch.palette.model import Triple
from tuimatch.recipe.recipes import Recipes

# Places on the grid's axis by how many inks are free: about ten thousand colours, or what is left.
_PLACES = {1: 101, 2: 51, 3: 21, 4: 11, 5: 7, 6: 5}
# From how many places the search starts, and the last step it takes, in percent.
_STARTS, _LAST_STEP = 5, 0.1
# Starts are looked for among so many of the nearest, at least a step of the grid apart.
_NEAREST = 60


@dataclass(frozen=True)
class AnyTints:
    """The tints of least CIEDE2000.

    Attributes:
        tints: Percent for every ink in laying order, to a tenth.
        lab: Their colour.
        delta_e: Its CIEDE2000 from the target.
    """

    tints: tuple[float, ...]
    lab: Triple
    delta_e: float


def any_tints(recipes: Recipes, target: Triple, narrowing: Narrowing) -> AnyTints | None:
    """The tints of the palette's inks that come nearest to a colour.

    Args:
        recipes: The recipes of the palette.
        target: CIELAB of the wanted colour as it is meant on the paper.
        narrowing: The limits; which recipes are in use is not a limit here.

    Returns:
        None where the limits leave nothing, not even bare paper.
    """
    grid, lab, step = _grid(recipes, narrowing.fixed, narrowing.without)
    # The grid keeps the inks that are down or left out, and the search leaves them where they are.
    free = Narrowing(max_inks=narrowing.max_inks, max_coverage=narrowing.max_coverage)
    rows = np.flatnonzero(obey(grid, free))
    if not len(rows):
        return None
    rows = rows[promising(target, lab[rows], min(_NEAREST, len(rows)))]
    off = delta_e(target, lab[rows])
    starts = _apart(grid[rows[np.argsort(off, kind="stable")[:_NEAREST]]], step)
    still = narrowing.without | {ink for ink, _ in narrowing.fixed}
    tints = _search(recipes, target, free, still, starts, step)
    found = xyz_to_lab(recipes.halftone.colour_of(tints[None]))[0]
    lightness, a, b = found.tolist()
    return AnyTints(tuple(tints.tolist()), (lightness, a, b), float(delta_e(target, found)))


def _search(
    recipes: Recipes,
    target: Triple,
    narrowing: Narrowing,
    still: frozenset[int],
    starts: Array,
    step: float,
) -> Array:
    """The best tints that are found from some starts, shape (k,), to a tenth of a percent."""
    moves = _moves(starts.shape[1], still)
    here = starts
    while step > _LAST_STEP:
        step = max(step / 2, _LAST_STEP)
        moved = np.asarray(
            np.round(np.clip(here[:, None] + step * moves, 0, 100), 1), dtype=np.float64
        )
        flat = moved.reshape(-1, moved.shape[-1])
        off = delta_e(target, xyz_to_lab(recipes.halftone.colour_of(flat)))
        off = np.where(obey(flat, narrowing), off, np.inf).reshape(moved.shape[:2])
        best = off.argmin(axis=1)
        order = off[np.arange(len(here)), best].argsort(kind="stable")
        here = moved[order, best[order]]
        here = here[: max(1, len(here) - 1)]  # the worst start is given up
    return np.asarray(here[0])


@lru_cache(maxsize=8)
def _grid(
    recipes: Recipes, fixed: frozenset[tuple[int, float]], without: frozenset[int]
) -> tuple[Array, Array, float]:
    """Tints (N, k) at equal steps, their CIELAB (N, 3), and the step in percent."""
    laid = dict.fromkeys(without, 0.0) | dict(fixed)
    inks = range(len(recipes.palette.inks))
    places = _PLACES[max(1, len(inks) - len(laid))]
    axes = [np.array([laid[i]]) if i in laid else np.linspace(0, 100, places) for i in inks]
    tints = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(inks))
    return tints, xyz_to_lab(recipes.halftone.colour_of(tints)), 100 / (places - 1)


def _apart(tints: Array, step: float) -> Array:
    """The first of some tints, each more than two steps from those before it in some ink."""
    chosen: list[Array] = []
    for one in tints:
        if all(np.abs(one - other).max() > 2 * step for other in chosen):
            chosen.append(one)
        if len(chosen) == _STARTS:
            break
    return np.array(chosen)


@lru_cache(maxsize=32)
def _moves(inks: int, still: frozenset[int]) -> Array:
    """Every way to step up, down or not at all with each ink that may, shape (3^free, inks)."""
    axes = [(0,) if ink in still else (0, -1, 1) for ink in range(inks)]
    return np.array(np.meshgrid(*axes, indexing="ij"), dtype=np.float64).reshape(inks, -1).T
