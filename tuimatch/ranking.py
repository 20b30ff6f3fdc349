"""Recipes ordered by how near they come to a target."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
import numpy.typing as npt

from tuimatch.colorimetry import Array, Difference, difference
from tuimatch.narrowing import Mask
from tuimatch.promising import promising
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
        rank: From 1; 0 for a recipe that the limits leave out or that stands beyond the list.
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
    """The recipes for a target, nearest first; candidates are made as they are looked at.

    Attributes:
        rows: Rows of the recipes in order, as many as were asked for.
        terms: How each of them differs from the target, in the same order.
        nearest: The allowed recipe of least plain ΔE, whatever is held; None when none is allowed.
        left_out: How many recipes the limits left out.
        hold: What the order held.
    """

    target: Target
    recipes: Recipes
    rows: npt.NDArray[np.intp]
    terms: Difference
    nearest: Candidate | None
    left_out: int
    hold: Hold

    def __len__(self) -> int:
        return len(self.rows)

    def candidate(self, place: int) -> Candidate:
        """The candidate at a place, from 0."""
        return _candidate(self.target, self.recipes, int(self.rows[place]), self.terms, place)

    def beside(self, row: int) -> Candidate:
        """Any recipe beside the target, in the list or not."""
        place = self.place_of(row)
        if place is not None:
            return self.candidate(place)
        terms = difference(self.target.lab, self.recipes.lab[row : row + 1])
        return replace(_candidate(self.target, self.recipes, row, terms, 0), rank=0)

    def ordered_by(self, row: int) -> float:
        """The ΔE that a recipe is ordered by: plain, or weighted for what is held."""
        terms = difference(self.target.lab, self.recipes.lab[row])
        return float(terms.weighted(*self.hold.factors))

    def best_holding(self, hold: Hold) -> Candidate:
        """The nearest candidate when an attribute is held; there must be one."""
        ordered_by = self.terms.weighted(*hold.factors)
        return self.candidate(int(_first(ordered_by, self.recipes, self.rows, 1)[0]))

    def place_of(self, row: int) -> int | None:
        """The place of a recipe, from 0, or None when it is not in the list."""
        found = np.flatnonzero(self.rows == row)
        return int(found[0]) if len(found) else None

    @property
    def candidates(self) -> tuple[Candidate, ...]:
        """All candidates, in order."""
        return tuple(map(self.candidate, range(len(self))))

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
    left_out = len(recipes) - len(rows)
    if top:
        rows = _promising(target, recipes, rows, hold, top)
    terms = difference(target.lab, recipes.lab[rows])
    ordered_by = terms.delta_e if hold is Hold.NOTHING else terms.weighted(*hold.factors)
    order = _first(ordered_by, recipes, rows, len(rows) if top is None else top)
    best = order if hold is Hold.NOTHING else _first(terms.delta_e, recipes, rows, 1)
    nearest = None
    if len(best):
        nearest = _candidate(target, recipes, int(rows[best[0]]), terms.at(best[:1]), 0)
    return Ranking(target, recipes, rows[order], terms.at(order), nearest, left_out, hold)


def _promising(
    target: Target, recipes: Recipes, rows: npt.NDArray[np.intp], hold: Hold, top: int
) -> npt.NDArray[np.intp]:
    """Those of the rows that can be among the first, or the nearest whatever is held."""
    lab = recipes.lab if len(rows) == len(recipes) else recipes.lab[rows]
    found = promising(target.lab, lab, top, hold.factors)
    if hold is not Hold.NOTHING:
        found = np.union1d(found, promising(target.lab, lab, 1))
    return rows[found]


def _candidate(
    target: Target, recipes: Recipes, row: int, terms: Difference, place: int
) -> Candidate:
    lightness, a, b = recipes.lab[row].tolist()
    delta_e = float(terms.delta_e[place])
    words = differs(
        target.lab,
        (lightness, a, b),
        delta_e,
        float(terms.lightness[place]),
        float(terms.chroma[place]),
        float(terms.hue[place]),
    )
    return Candidate(place + 1, row, delta_e, words)


def _first(
    ordered_by: Array, recipes: Recipes, rows: npt.NDArray[np.intp], top: int
) -> npt.NDArray[np.intp]:
    """The positions among `rows` of the `top` least differences, in order."""
    key = np.round(ordered_by, _DECIMALS)
    positions = np.arange(len(key))
    if 0 < top < len(key):
        # Sorting all of them is the dearer part; ties with the last one stay in.
        positions = np.flatnonzero(key <= np.partition(key, top - 1)[top - 1])
    part = rows[positions]
    order = np.argsort(key[positions], kind="stable")
    if np.any(np.diff(key[positions[order]]) == 0):
        # There are ties, which is seldom. Rows stand in the order of their tints, so the row
        # number is the last tie break.
        order = np.lexsort((part, recipes.coverage[part], recipes.inks[part], key[positions]))
    return np.asarray(positions[order[:top]])
