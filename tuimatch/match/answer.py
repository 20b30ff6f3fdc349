"""A question asked of a palette, and its whole answer: the order and what the project knows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tuimatch.colour.ciede2000_bounds import CLOSE
from tuimatch.colour.colorimetry import Array, delta_e, lab_to_xyz
from tuimatch.colour.dichromacy import Others
from tuimatch.colour.target import Target
from tuimatch.log import Choice
from tuimatch.match.limits import Mask, Narrowing, allowed
from tuimatch.match.ranking import Candidate, Hold, Ranking, rank
from tuimatch.recipe.recipes import Recipes

# Nobody walks further down a list: a larger palette is cut, so that a key stays a key. The first
# of so many recipes are found in a part of the time that ordering more of them takes.
_WHOLE, _CUT = 20_000, 2_000


@dataclass(frozen=True)
class Question:
    """What is asked: a target, what is held, and the limits.

    Attributes:
        used_only: Only recipes the project already uses; which they are, the match knows.
    """

    target: Target
    hold: Hold = Hold.NOTHING
    narrowing: Narrowing = field(default_factory=Narrowing)
    used_only: bool = False


@dataclass(frozen=True)
class Before:
    """A choice of the project that the target comes back to."""

    label: str
    row: int
    delta_e: float


@dataclass(frozen=True, eq=False)
class Match:
    """The answer.

    Attributes:
        narrowing: The limits as they were applied, the recipes in use included.
        held: What the project holds.
        before: The choice that the target comes back to, if there is one.
    """

    question: Question
    ranking: Ranking
    narrowing: Narrowing
    held: Known
    before: Before | None

    def alike(self, row: int) -> list[str]:
        """The project's colours that a recipe becomes alike with for some, though not for most.

        Returns:
            Lines such as ``lamp glass (deutan)``.
        """
        if not self.held.colours:
            return []
        pairs = self.held.others.told_apart(self.recipes.xyz[row])
        return [
            f"{name} ({', '.join(pair.alike_for)})"
            for name, pair in zip(self.held.colours, pairs, strict=True)
            if pair.alike_for
        ]

    @property
    def recipes(self) -> Recipes:
        """The recipes of the palette asked."""
        return self.ranking.recipes

    @property
    def allowed(self) -> Mask:
        """Which recipes obey the limits, shape (N,)."""
        return self.ranking.allowed

    @property
    def top(self) -> Candidate | None:
        """The candidate that the list begins with; None where nothing is left."""
        if self.offered_first:
            return self.offered_first[0][1]
        return self.ranking.candidate(0) if len(self.ranking) else None

    @cached_property
    def offered_first(self) -> list[tuple[str, Candidate]]:
        """What to offer above the order, each with why.

        The choice that the target comes back to; and when the target is out of reach the nearest
        recipe, with the best of those that hold lightness, hue or chroma.
        """
        found = []
        if self.before is not None:
            found.append(("again", self.ranking.beside(self.before.row)))
        if self.ranking.out_of_reach and self.question.hold is Hold.NOTHING:
            found.append(("", self.ranking.candidate(0)))
            for hold in (Hold.LIGHTNESS, Hold.HUE, Hold.CHROMA):
                found.append((f"best for {hold.value}", self.ranking.best_holding(hold)))
        # One recipe may be several of these: it is offered for the first reason.
        first = {candidate.row: (why, candidate) for why, candidate in reversed(found)}
        return [first[row] for row in dict.fromkeys(candidate.row for _, candidate in found)]


@dataclass(frozen=True, eq=False)
class Known:
    """What a project holds, as one palette sees it; made once for its choices.

    Attributes:
        used: The labels under which it holds a recipe of the palette, by row.
        rows: The rows of those choices, oldest first, shape (n,).
        names: What they are called, n of them.
        targets: Lab of what was wanted, shape (n, 3).
        given: Lab of what was taken, shape (n, 3).
        colours: What each distinct colour of the project is called, whatever palette it is of.
        others: The same colours, ready to be compared with.
    """

    used: dict[int, tuple[str, ...]]
    rows: npt.NDArray[np.intp]
    names: tuple[str, ...]
    targets: Array
    given: Array
    colours: tuple[str, ...]
    others: Others


def known(recipes: Recipes, choices: Sequence[Choice] = ()) -> Known:
    """What a project holds.

    Args:
        recipes: The recipes of the palette that looks at it.
        choices: The choices of the project, oldest first.
    """
    own = [(row, c) for c in choices if (row := row_of(recipes, c)) is not None]
    used: dict[int, dict[str, None]] = {}
    for row, choice in own:
        used.setdefault(row, {})[choice.label or choice.recipe] = None
    colours = {choice.lab: choice.label or choice.recipe for choice in choices}
    return Known(
        used={row: tuple(labels) for row, labels in used.items()},
        rows=np.array([row for row, _ in own], dtype=np.intp),
        names=tuple(choice.label or choice.recipe for _, choice in own),
        targets=np.array([choice.target_lab for _, choice in own]).reshape(-1, 3),
        given=np.array([choice.lab for _, choice in own]).reshape(-1, 3),
        colours=tuple(colours.values()),
        others=Others(lab_to_xyz(np.array(list(colours)).reshape(-1, 3))),
    )


def match(recipes: Recipes, question: Question, held: Known) -> Match:
    """Answer a question.

    Args:
        recipes: The recipes of the palette.
        question: What is asked.
        held: What the project holds, as this palette sees it.
    """
    narrowing = question.narrowing
    if question.used_only:
        narrowing = replace(narrowing, only=frozenset(map(recipes.tints_of, held.used)))
    mask = allowed(recipes, narrowing)
    top = None if len(recipes) <= _WHOLE else _CUT
    ranking = rank(question.target, recipes, allowed=mask, hold=question.hold, top=top)
    before = _before(question.target, held, mask)
    return Match(question, ranking, narrowing, held, before)


def _before(target: Target, held: Known, mask: Mask) -> Before | None:
    """The nearest earlier choice by its target or by the colour it gave; the newest of equals."""
    offered = np.flatnonzero(mask[held.rows])
    if not len(offered):
        return None
    nearest = np.minimum(
        delta_e(target.lab, held.targets[offered]), delta_e(target.lab, held.given[offered])
    )
    least = float(nearest.min())
    if least > CLOSE:
        return None
    place = int(offered[np.flatnonzero(nearest == least)[-1]])
    return Before(held.names[place], int(held.rows[place]), least)


def row_of(recipes: Recipes, choice: Choice) -> int | None:
    """The row of a choice made from a palette with the same inks, whatever else has changed."""
    if list(choice.tints) != [ink.name for ink in recipes.palette.inks]:
        return None
    if choice.palette != recipes.palette.stem:
        return None
    return recipes.row_of(tuple(choice.tints.values()))
