"""Recipes ordered by how near they come to a target."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tuimatch.colour.ciede2000_bounds import UNSEEN
from tuimatch.colour.colorimetry import Difference, difference
from tuimatch.colour.difference_words import differs
from tuimatch.colour.target import Target
from tuimatch.match.hold import Hold
from tuimatch.match.limits import Mask
from tuimatch.recipe.recipes import Recipes, Rows, nearest_first


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
        return float(self.hold.measure(self.target.lab, self.recipes.lab[row]))

    @cached_property
    def nearest(self) -> Candidate | None:
        """The first of the allowed recipes where nothing is held; None when none is allowed."""
        return self.best_holding(Hold.NOTHING) if len(self) else None

    def best_holding(self, hold: Hold) -> Candidate:
        """The nearest of all the allowed recipes when an attribute is held; there must be one."""
        if hold is self.hold:
            return self.candidate(0)
        # What is better than all that are listed may still stand beyond the list.
        target, lab = self.target.lab, self.recipes.lab
        most = float(hold.measure(target, lab[self.rows]).min()) + UNSEEN
        rows = hold.within(target, lab, most)
        rows = rows[self.allowed[rows]]
        first = nearest_first(self.recipes, rows, hold.measure(target, lab[rows]), 1)
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
        rows = rows[hold.promising(target.lab, lab, top)]
    rows = rows[nearest_first(recipes, rows, hold.measure(target.lab, recipes.lab[rows]), top)]
    return Ranking(target, recipes, rows, difference(target.lab, recipes.lab[rows]), mask, hold)


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
