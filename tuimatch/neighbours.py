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

from tuimatch.colorimetry import Array, Difference, difference
from tuimatch.narrowing import Mask
from tuimatch.recipes import Recipes
from tuimatch.words import NEUTRAL_CHROMA, SAME_BELOW

_LEAST_PART = 0.5

# Costs that agree to this many decimals are a tie: what is left is the noise of the arithmetic.
_DECIMALS = 9


class Direction(Enum):
    """Where to step. Hue on is from red by yellow and green to blue, the way hue angles grow."""

    LIGHTER = "lighter"
    DARKER = "darker"
    MORE_VIVID = "more vivid"
    DULLER = "duller"
    HUE_ON = "hue on"
    HUE_BACK = "hue back"


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
    terms = difference(recipes.lab[row], recipes.lab)
    whole = np.sqrt(terms.lightness**2 + terms.chroma**2 + terms.hue**2)
    wanted = _part(terms, direction)
    ahead = (wanted >= SAME_BELOW) & (wanted >= _LEAST_PART * whole)
    if allowed is not None:
        ahead &= allowed
    rows = np.flatnonzero(ahead)
    if not len(rows):
        return None
    cost = np.round(whole[rows] ** 2 / wanted[rows], _DECIMALS)
    return int(rows[np.lexsort((recipes.coverage[rows], recipes.inks[rows], cost))[0]])


def _part(terms: Difference, direction: Direction) -> Array:
    """The part of a difference that lies in a direction; negative where it lies the other way."""
    if direction in _HUE:
        part = terms.hue
    elif direction in (Direction.MORE_VIVID, Direction.DULLER):
        part = terms.chroma
    else:
        part = terms.lightness
    return -part if direction in _BACKWARD else part
