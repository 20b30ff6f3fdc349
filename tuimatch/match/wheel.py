"""The hue wheel of an ink set: for each hue the recipe that holds it with most chroma.

The first exercise with a new set, and a look at where it has no clean hue. Hues are CIELAB hue
angles, D50. An angle is *held* by a recipe with any ink at all, of more than neutral chroma, whose
hue lies within half the way to the next angle: a recipe never stands for two hues, and the most
vivid of all stands for one. Nearness beyond that does not count: the most chroma wins.

A hue is *clean* when the recipe that holds it has at most two inks, since a third one greys (common
practice, no source), and the chroma `CLEAN_CHROMA` at least. Where it is not, the nearest clean
recipe is named; that may be a paler one that holds the hue too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tuimatch.colour.colorimetry import Array
from tuimatch.colour.difference_words import NEUTRAL_CHROMA
from tuimatch.errors import UsageError
from tuimatch.match.limits import Mask
from tuimatch.recipe import laying
from tuimatch.recipe.recipes import DECIMALS, Recipes, best

MOST_HUES = 72

# A choice of this project: below this chroma a colour looks like a tinged grey.
CLEAN_CHROMA = 10.0

_CLEAN_INKS = 2


@dataclass(frozen=True)
class Hue:
    """One angle of the wheel.

    Attributes:
        angle: CIELAB hue angle in degrees.
        row: The recipe that holds the hue with most chroma; None where none holds it.
        off: By how many degrees its hue is larger than the angle; 0 without a recipe.
        chroma: Its CIELAB chroma; 0 without a recipe.
        clean: Whether it is clean.
        nearest: The clean recipe nearest in hue: `row` itself where that is clean, None where the
            set has no clean recipe at all.
        away: By how many degrees the hue of `nearest` is larger than the angle; 0 without one.
        steps: The build-up of `row`.
    """

    angle: float
    row: int | None
    off: float
    chroma: float
    clean: bool
    nearest: int | None
    away: float
    steps: tuple[laying.Step, ...]


def wheel(recipes: Recipes, hues: int = 12, *, allowed: Mask | None = None) -> tuple[Hue, ...]:
    """The hues at equal angles from 0 degrees on.

    Args:
        recipes: The recipes of a palette.
        hues: How many angles.
        allowed: Which recipes may be offered, shape (N,); all unless given.

    Raises:
        UsageError: Fewer than one hue, or more than `MOST_HUES`.
    """
    if not 1 <= hues <= MOST_HUES:
        raise UsageError(f"{hues} hues: give a whole number from 1 to {MOST_HUES}")
    chroma = np.hypot(recipes.lab[:, 1], recipes.lab[:, 2])
    angles = np.degrees(np.arctan2(recipes.lab[:, 2], recipes.lab[:, 1]))
    usable = (recipes.inks > 0) & (chroma > NEUTRAL_CHROMA)
    if allowed is not None:
        usable &= allowed
    clean = usable & (recipes.inks <= _CLEAN_INKS) & (chroma >= CLEAN_CHROMA)
    within = 180 / hues
    return tuple(
        _hue(recipes, 360 * i / hues, chroma, angles, usable, clean, within) for i in range(hues)
    )


def _hue(
    recipes: Recipes,
    angle: float,
    chroma: Array,
    angles: Array,
    usable: Mask,
    clean: Mask,
    within: float,
) -> Hue:
    turn = (angles - angle + 180) % 360 - 180
    far = np.asarray(np.round(np.abs(turn), DECIMALS), dtype=np.float64)
    holding, near = np.flatnonzero(usable & (far <= within)), np.flatnonzero(clean)
    row = best(recipes, holding, -chroma[holding], far[holding])
    is_clean = row is not None and bool(clean[row])
    nearest = row if is_clean else best(recipes, near, far[near], -chroma[near])
    return Hue(
        angle=angle,
        row=row,
        off=0.0 if row is None else float(turn[row]),
        chroma=0.0 if row is None else float(chroma[row]),
        clean=is_clean,
        nearest=nearest,
        away=0.0 if nearest is None else float(turn[nearest]),
        steps=() if row is None else laying.steps(recipes, row),
    )


def off_in_words(degrees: float) -> str:
    """How far a hue lies from an angle: ``4° off``."""
    size = round(abs(degrees))
    return f"{size}° off" if size else "exact"


def remark(recipes: Recipes, hue: Hue) -> str:
    """What must be said of a hue that is not clean, in one line; empty for a clean one."""
    if hue.clean:
        return ""
    if hue.row is None:
        why = "no recipe comes near it"
    elif recipes.inks[hue.row] > _CLEAN_INKS:
        why = "the third ink greys it"
    else:
        why = "it is hardly coloured"
    if hue.nearest is None:
        return f"not clean, {why}; these inks have no clean hue at all"
    nearest = recipes.palette.recipe_words(recipes.tints_of(hue.nearest))
    return f"not clean, {why}; the nearest clean hue is {off_in_words(hue.away)}: {nearest}"


def summary(hues: tuple[Hue, ...]) -> str:
    """How many hues the set has clean, in words."""
    clean = sum(hue.clean for hue in hues)
    every = f"{len(hues)} hue{'s' * (len(hues) > 1)}"
    return f"{clean or 'none'} of {every} clean (two inks at most)"
