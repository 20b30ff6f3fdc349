"""Recipes ordered by how near they come to a target."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from functools import cached_property

import numpy as np

from tuimatch.colour.ciede2000_bounds import UNSEEN, promising, within
from tuimatch.colour.colorimetry import Difference, difference
from tuimatch.colour.difference_words import differs
from tuimatch.colour.target import Target
from tuimatch.match.limits import Mask
from tuimatch.recipe.recipes import Recipes, Rows, nearest_first

OUT_OF_REACH = 5.0


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
        allowed: Which recipes the limits let through, listed or not, shape (N,).
        hold: What the order held.
    """

    target: Target
    recipes: Recipes
    rows: Rows
    terms: Difference
    allowed: Mask
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

    @cached_property
    def nearest(self) -> Candidate | None:
        """The first of the allowed recipes where nothing is held; None when none is allowed."""
        return self.best_holding(Hold.NOTHING) if len(self) else None

    @cached_property
    def without_limits(self) -> Candidate | None:
        """The nearest recipe of all, where only the limits put the target out of its reach."""
        if not (self.out_of_reach and self.left_out):
            return None
        nearest = rank(self.target, self.recipes, top=1).nearest
        return nearest if nearest is not None and nearest.delta_e <= OUT_OF_REACH else None

    def best_holding(self, hold: Hold) -> Candidate:
        """The nearest of all the allowed recipes when an attribute is held; there must be one."""
        if hold is self.hold:
            return self.candidate(0)
        # What is better than all that are listed may still stand beyond the list.
        most = float(self.terms.weighted(*hold.factors).min()) + UNSEEN
        rows = within(self.target.lab, self.recipes.lab, most, hold.factors)
        rows = rows[self.allowed[rows]]
        terms = difference(self.target.lab, self.recipes.lab[rows])
        first = nearest_first(self.recipes, rows, terms.weighted(*hold.factors), 1)
        return self.beside(int(rows[first[0]]))

    def place_of(self, row: int) -> int | None:
        """The place of a recipe, from 0, or None when it is not in the list."""
        found = np.flatnonzero(self.rows == row)
        return int(found[0]) if len(found) else None

    @property
    def candidates(self) -> tuple[Candidate, ...]:
        """All candidates, in order."""
        return tuple(map(self.candidate, range(len(self))))

    @property
    def left_out(self) -> int:
        """How many recipes the limits leave out."""
        return len(self.recipes) - int(np.count_nonzero(self.allowed))

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
    """Order recipes by CIEDE2000, as `nearest_first` does it.

    Args:
        target: The wanted colour.
        recipes: The recipes of a palette.
        allowed: Which of them may be offered, shape (N,); all unless given.
        hold: The attribute to hold.
        top: How many candidates to give; all unless given.
    """
    mask = np.ones(len(recipes), dtype=np.bool_) if allowed is None else allowed
    rows = np.flatnonzero(mask)
    if top is not None:
        lab = recipes.lab if len(rows) == len(recipes) else recipes.lab[rows]
        rows = rows[promising(target.lab, lab, top, hold.factors)]
    terms = difference(target.lab, recipes.lab[rows])
    order = nearest_first(recipes, rows, terms.weighted(*hold.factors), top)
    return Ranking(target, recipes, rows[order], terms.at(order), mask, hold)


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
