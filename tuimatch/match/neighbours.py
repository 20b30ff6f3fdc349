"""Steps from a recipe to its neighbour by the eye: lighter, darker, more vivid, duller, hue turned.

The difference to every other recipe has three parts, ΔL', ΔC' and ΔH' of CIEDE2000, each divided by
its weight. A recipe lies in a direction when the wanted part is at least 1, so that the step can be
seen, and at least half of the whole, so that it is that step and not another. Of these the
neighbour is the one with the least (whole)² / (wanted part): near, and straight ahead. Where
nothing lies in the direction there is no neighbour.

Lightness and chroma rise or fall with every step, in CIELAB too, so such a walk ends; hue goes
round. (ΔC' stretches the a axis and may have another sign than the difference of CIELAB chroma, but
then it is less than 0.39 of the whole.)
"""

from __future__ import annotations

from enum import Enum

import numpy as np

from tuimatch.colour.ciede2000_bounds import within
from tuimatch.colour.colorimetry import Array, Difference, difference
from tuimatch.colour.difference_words import NEUTRAL_CHROMA, SAME_BELOW
from tuimatch.match.limits import Mask
from tuimatch.recipe.recipes import Recipes, Rows, best

_LEAST_PART = 0.5
# How far the first look goes; most steps are shorter.
_NEAR = 10.0


class Direction(Enum):
    """Where to step; the value names what is looked for.

    The next hue goes from red through yellow and green to blue, the way hue angles grow.
    """

    LIGHTER = "lighter recipe"
    DARKER = "darker recipe"
    MORE_VIVID = "more vivid recipe"
    DULLER = "duller recipe"
    HUE_ON = "recipe of the next hue"
    HUE_BACK = "recipe of the hue before"


_HUE = (Direction.HUE_ON, Direction.HUE_BACK)
_BACKWARD = (Direction.DARKER, Direction.DULLER, Direction.HUE_BACK)


def neighbour(
    recipes: Recipes, row: int, direction: Direction, allowed: Mask | None = None
) -> int | None:
    """The row of the neighbour in a direction, or None.

    Ties go to fewer inks, then less coverage, then tints in laying order. A neutral has no hue to
    turn.

    Args:
        recipes: The recipes of a palette.
        row: The recipe to step from; it need not be allowed itself.
        direction: Where to.
        allowed: Which recipes may be stepped to, shape (N,); all unless given.
    """
    _, a, b = recipes.lab[row]
    if direction in _HUE and np.hypot(a, b) < NEUTRAL_CHROMA:
        return None
    rows = np.flatnonzero(_beyond(recipes, row, direction) & (True if allowed is None else allowed))
    start, lab = recipes.lab[row], recipes.lab[rows]
    found, cost = _straightest(recipes, row, direction, rows[within(start, lab, _NEAR)])
    if cost > _NEAR:
        # The whole is never more than the cost, so nothing further off than this can cost less.
        found, cost = _straightest(recipes, row, direction, rows[within(start, lab, cost)])
    return found


def _straightest(
    recipes: Recipes, row: int, direction: Direction, rows: Rows
) -> tuple[int | None, float]:
    """The neighbour among some rows, ascending, and its cost; None and infinity without one."""
    terms = difference(recipes.lab[row], recipes.lab[rows])
    whole = np.sqrt(terms.lightness**2 + terms.chroma**2 + terms.hue**2)
    wanted = _part(terms, direction)
    ahead = np.flatnonzero((wanted >= SAME_BELOW) & (wanted >= _LEAST_PART * whole))
    cost = whole[ahead] ** 2 / wanted[ahead]
    return best(recipes, rows[ahead], cost), float(cost.min(initial=np.inf))


def _beyond(recipes: Recipes, row: int, direction: Direction) -> Mask:
    """Where CIELAB says that a recipe can lie in a direction: not on the other side."""
    lightness, a, b = recipes.lab.T
    if direction in _HUE:
        part = a[row] * b - b[row] * a
    elif direction in (Direction.MORE_VIVID, Direction.DULLER):
        part = np.hypot(a, b) - np.hypot(a[row], b[row])
    else:
        part = lightness - lightness[row]
    return np.asarray(part < 0 if direction in _BACKWARD else part > 0)


def _part(terms: Difference, direction: Direction) -> Array:
    """The part of a difference that lies in a direction; negative where it lies the other way."""
    if direction in _HUE:
        part = terms.hue
    elif direction in (Direction.MORE_VIVID, Direction.DULLER):
        part = terms.chroma
    else:
        part = terms.lightness
    return -part if direction in _BACKWARD else part
