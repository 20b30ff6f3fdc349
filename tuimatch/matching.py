"""A question asked of a palette, and its whole answer: the order and what the project knows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from tuimatch.colorimetry import delta_e, lab_to_xyz
from tuimatch.log import Choice
from tuimatch.narrowing import Mask, Narrowing, allowed
from tuimatch.ranking import Candidate, Hold, Ranking, rank
from tuimatch.recipes import Recipes
from tuimatch.target import Target
from tuimatch.vision import told_apart

# A colour this near to one chosen before is the same colour to the artist (common practice).
SAME_WITHIN = 2.0

# Nobody walks further down a list; a palette above this is cut here, so that a key stays a key.
_LONGEST = 20_000


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
        allowed: Which recipes obey them, shape (N,).
        used: The labels under which the project holds a recipe, by row.
        before: The choice that the target comes back to, if there is one.
    """

    question: Question
    ranking: Ranking
    narrowing: Narrowing
    allowed: Mask
    used: dict[int, tuple[str, ...]]
    before: Before | None

    @property
    def recipes(self) -> Recipes:
        """The recipes of the palette asked."""
        return self.ranking.recipes

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


def match(recipes: Recipes, question: Question, choices: Sequence[Choice] = ()) -> Match:
    """Answer a question.

    Args:
        recipes: The recipes of the palette.
        question: What is asked.
        choices: The choices of the project, oldest first.
    """
    rows = [(_row(recipes, choice), choice) for choice in choices]
    own = [(row, choice) for row, choice in rows if row is not None]
    used: dict[int, tuple[str, ...]] = {}
    for row, choice in own:
        label = choice.label or choice.recipe
        if label not in used.get(row, ()):
            used[row] = (*used.get(row, ()), label)
    narrowing = question.narrowing
    if question.used_only:
        narrowing = replace(narrowing, only=frozenset(map(recipes.tints_of, used)))
    mask = allowed(recipes, narrowing)
    top = None if len(recipes) <= _LONGEST else _LONGEST
    ranking = rank(question.target, recipes, allowed=mask, hold=question.hold, top=top)
    before = _before(question.target, [(row, choice) for row, choice in own if mask[row]])
    return Match(question, ranking, narrowing, mask, used, before)


def alike(recipes: Recipes, row: int, choices: Sequence[Choice]) -> list[str]:
    """The choices that a recipe cannot be told from under some dichromacy, though most can.

    Returns:
        Lines such as ``lamp glass (deuteranopia)``.
    """
    others = {choice.label or choice.recipe: choice.lab for choice in choices}
    if not others:
        return []
    found = told_apart(recipes.xyz[row], lab_to_xyz(list(others.values())))
    return [
        f"{label} ({', '.join(pair.alike_for)})"
        for label, pair in zip(others, found, strict=True)
        if pair.alike_for
    ]


def _row(recipes: Recipes, choice: Choice) -> int | None:
    """The row of a choice made from a palette with the same inks, whatever else has changed."""
    if list(choice.tints) != [ink.name for ink in recipes.palette.inks]:
        return None
    if choice.palette != recipes.palette.stem:
        return None
    return recipes.row_of(tuple(choice.tints.values()))


def _before(target: Target, own: list[tuple[int, Choice]]) -> Before | None:
    """The nearest earlier choice by its target or by the colour it gave; the newest of equals."""
    if not own:
        return None
    wanted = delta_e(target.lab, [choice.target_lab for _, choice in own])
    given = delta_e(target.lab, [choice.lab for _, choice in own])
    nearest = [min(pair) for pair in zip(wanted.tolist(), given.tolist(), strict=True)]
    least = min(nearest)
    if least > SAME_WITHIN:
        return None
    row, choice = next(
        pair for pair, d in zip(reversed(own), reversed(nearest), strict=True) if d == least
    )
    return Before(choice.label or choice.recipe, row, least)
