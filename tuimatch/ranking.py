"""Recipes ordered by how near they come to a target."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
import numpy.typing as npt

from tuimatch.colorimetry import Array, Difference, difference
from tuimatch.narrowing import Mask
from tuimatch.recipes import Recipes
from tuimatch.target import Target
from tuimatch.words import differs

OUT_OF_REACH = 5.0

# ΔE that agree to this many decimals are a tie: what is left is the noise of the arithmetic.
_DECIMALS = 9


class Hold(Enum):
    """The attribute that must stay; the factors of the other two become 2 for the ordering."""

    NOTHING = "nothing"
    LIGHTNESS = "lightness"
    HUE = "hue"
    CHROMA = "chroma"

    @property
    def factors(self) -> tuple[float, float, float]:
        """The parametric factors kL, kC, kH of CIEDE2000."""
        if self is Hold.NOTHING:
            return 1, 1, 1
        return (
            1 if self is Hold.LIGHTNESS else 2,
            1 if self is Hold.CHROMA else 2,
            1 if self is Hold.HUE else 2,
        )


@dataclass(frozen=True)
class Candidate:
    """One recipe beside the target.

    Attributes:
        rank: From 1.
        row: Its row in the recipes.
        delta_e: Plain CIEDE2000, whatever is held.
        differs: How it differs in words; empty when nothing is to be said.
    """

    rank: int
    row: int
    delta_e: float
    differs: str


@dataclass(frozen=True, eq=False)
class Ranking:
    """The candidates for a target, nearest first.

    Attributes:
        candidates: As many as were asked for.
        nearest: The allowed recipe of least plain ΔE, whatever is held; None when none is allowed.
        left_out: How many recipes the limits left out.
        hold: What the order held.
    """

    target: Target
    recipes: Recipes
    candidates: tuple[Candidate, ...]
    nearest: Candidate | None
    left_out: int
    hold: Hold

    @property
    def out_of_reach(self) -> bool:
        """Whether even the nearest recipe is another colour; false when none is allowed."""
        return self.nearest is not None and self.nearest.delta_e > OUT_OF_REACH


def rank(
    target: Target,
    recipes: Recipes,
    *,
    allowed: Mask | None = None,
    hold: Hold = Hold.NOTHING,
    top: int | None = None,
) -> Ranking:
    """Order recipes by CIEDE2000; ties by fewer inks, less coverage, then tints in laying order.

    Args:
        target: The wanted colour.
        recipes: The recipes of a palette.
        allowed: Which of them may be offered, shape (N,); all unless given.
        hold: The attribute to hold.
        top: How many candidates to give; all unless given.
    """
    rows = np.arange(len(recipes)) if allowed is None else np.flatnonzero(allowed)
    terms = difference(target.lab, recipes.lab[rows])
    ordered_by = terms.delta_e if hold is Hold.NOTHING else terms.weighted(*hold.factors)
    chosen = _first(ordered_by, recipes, rows, len(rows) if top is None else top)
    candidates = tuple(
        _candidate(place, int(i), rows, terms, target, recipes) for place, i in enumerate(chosen, 1)
    )
    nearest = candidates[0] if candidates else None
    if candidates and hold is not Hold.NOTHING:
        (best,) = _first(terms.delta_e, recipes, rows, 1)
        nearest = _candidate(1, int(best), rows, terms, target, recipes)
    return Ranking(
        target=target,
        recipes=recipes,
        candidates=candidates,
        nearest=nearest,
        left_out=len(recipes) - len(rows),
        hold=hold,
    )


def _first(
    ordered_by: Array, recipes: Recipes, rows: npt.NDArray[np.intp], top: int
) -> npt.NDArray[np.intp]:
    """Positions of the `top` least differences, in order."""
    key = np.round(ordered_by, _DECIMALS)
    positions = np.arange(len(key))
    if 0 < top < len(key):
        # Sorting all of them is the dearer part; ties with the last one stay in.
        positions = np.flatnonzero(key <= np.partition(key, top - 1)[top - 1])
    part = rows[positions]
    # Rows stand in the order of their tints, so the row number is the last tie break.
    order = np.lexsort((part, recipes.coverage[part], recipes.inks[part], key[positions]))
    return positions[order[:top]]


def _candidate(
    place: int,
    i: int,
    rows: npt.NDArray[np.intp],
    terms: Difference,
    target: Target,
    recipes: Recipes,
) -> Candidate:
    row, delta_e = int(rows[i]), float(terms.delta_e[i])
    lightness, a, b = (float(x) for x in recipes.lab[row])
    return Candidate(
        rank=place,
        row=row,
        delta_e=delta_e,
        differs=differs(
            target.lab,
            (lightness, a, b),
            delta_e,
            float(terms.lightness[i]),
            float(terms.chroma[i]),
            float(terms.hue[i]),
        ),
    )
