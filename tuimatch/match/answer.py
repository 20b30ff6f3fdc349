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
from tuimatch.colour.intent import Intent, usual
from tuimatch.colour.target import Target
from tuimatch.log import Choice
from tuimatch.match.asked import meant
from tuimatch.match.hold import HELD, Hold
from tuimatch.match.limits import Mask, Narrowing, allowed
from tuimatch.match.ranking import Candidate, Ranking, rank
from tuimatch.match.verdict import REACHED, Verdict, is_quick, verdict
from tuimatch.recipe.recipes import Recipes, Rows

# Nobody walks further down a list, so that of a larger palette is cut, and a key answers at once.
# The first of so many recipes are found in a part of the time that ordering more of them takes.
_WHOLE, _CUT = 5_000, 2_000


@dataclass(frozen=True)
class Question:
    """What is asked: a target, what is held, and the limits.

    Attributes:
        target: The colour as given.
        used_only: Only recipes the project already uses; the match knows which.
        intent: How the target is taken; as the palette usually does unless given.
    """

    target: Target
    hold: Hold = Hold.NOTHING
    narrowing: Narrowing = field(default_factory=Narrowing)
    used_only: bool = False
    intent: Intent | None = None

    def taken(self, intent: Intent) -> Question:
        """The same question with the target taken another way."""
        return replace(self, intent=intent, target=replace(self.target, taken=None))


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
        intent: How the target was taken.
        before: The choice that the target comes back to, if there is one.
    """

    question: Question
    ranking: Ranking
    narrowing: Narrowing
    held: Known
    intent: Intent
    before: Before | None

    @property
    def meant(self) -> Target:
        """The target as it is meant on the paper: what every recipe is compared with."""
        return self.ranking.target

    def alike(self, row: int) -> list[tuple[str, tuple[str, ...]]]:
        """The project's colours that some people cannot tell from a recipe, though most can.

        Returns:
            What each is called, and for which kinds of dichromacy it becomes alike.
        """
        if not self.held.colours:
            return []
        pairs = self.held.others.told_apart(self.recipes.xyz[row])
        return [
            (name, tuple(pair.alike_for))
            for name, pair in zip(self.held.colours, pairs, strict=True)
            if pair.alike_for
        ]

    @cached_property
    def verdict(self) -> Verdict | None:
        """Whether the target is within reach, between the tints or beyond the inks.

        None where the limits leave nothing. It may take a while with many inks: see
        `verdict.is_quick`.
        """
        nearest = self.ranking.nearest
        if nearest is None:
            return None
        limits = replace(self.narrowing, only=None)
        return verdict(self.recipes, self.meant.lab, limits, nearest.delta_e, nearest.differs)

    @property
    def is_judged(self) -> bool:
        """Whether the verdict is there, or will be before a frame is due."""
        nearest = self.ranking.nearest
        near = nearest is None or nearest.delta_e <= REACHED
        return near or "verdict" in self.__dict__ or is_quick(self.recipes.palette)

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
        return self.ranking.beside(int(self.listed[0])) if len(self.listed) else None

    @cached_property
    def without_limits(self) -> Candidate | None:
        """The nearest recipe of all, where only the limits keep the target out of reach."""
        nearest = self.ranking.nearest
        if nearest is None or nearest.delta_e <= REACHED or not self.ranking.left_out:
            return None
        least = rank(self.meant, self.recipes, top=1).candidate(0)
        return least if least.delta_e <= REACHED else None

    @cached_property
    def marks(self) -> dict[int, str]:
        """What is to be said of single recipes, by row; those that have it are listed first.

        The choice that the target comes back to. Where nothing is held and the target is not within
        reach, the recipes that are best for an attribute, if they are not the nearest.
        """
        said: dict[int, list[str]] = {}
        nearest = self.ranking.nearest
        if self.before is not None:
            said[self.before.row] = []  # what it is used for is said of every recipe
        far = nearest is not None and nearest.delta_e > REACHED
        if nearest is not None and far and self.question.hold is Hold.NOTHING:
            best = {hold: self.ranking.best_holding(hold).row for hold in HELD}
            others = {hold: row for hold, row in best.items() if row != nearest.row}
            if others:  # what they differ from stands above them
                said.setdefault(nearest.row, [])
            for row in dict.fromkeys(others.values()):
                for_what = " and ".join(hold.word for hold, own in others.items() if own == row)
                said.setdefault(row, []).append(f"best for {for_what}")
        return {row: ", ".join(words) for row, words in said.items()}

    @cached_property
    def listed(self) -> Rows:
        """The rows in the order of the list: what is marked, then all others by rank."""
        marked = np.array(list(self.marks), dtype=np.intp)
        rows = self.ranking.rows
        return np.concatenate([marked, rows[~np.isin(rows, marked)]])


@dataclass(frozen=True, eq=False)
class Known:
    """What a project holds, as one palette sees it; made once for its choices.

    Attributes:
        used: The labels under which it holds a recipe of the palette, by row.
        rows: The rows of those choices, oldest first, shape (n,).
        names: What they are called, n of them.
        targets: Lab of what was wanted, as given, shape (n, 3).
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


def match(recipes: Recipes, question: Question, held: Known, top: int | None = None) -> Match:
    """Answer a question.

    Args:
        recipes: The recipes of the palette.
        question: What is asked.
        held: What the project holds, as this palette sees it.
        top: How many candidates to list; all of a palette that is not very large unless given.
    """
    narrowing = question.narrowing
    if question.used_only:
        narrowing = replace(narrowing, only=frozenset(map(recipes.tints_of, held.used)))
    mask = allowed(recipes, narrowing)
    top = top or (None if len(recipes) <= _WHOLE else _CUT)
    intent = question.target.taken or question.intent or usual(recipes.palette)
    wanted = meant(recipes, question.target, intent)
    ranking = rank(wanted, recipes, allowed=mask, hold=question.hold, top=top)
    before = _before(question.target, wanted, held, mask)
    return Match(question, ranking, narrowing, held, intent, before)


def _before(target: Target, wanted: Target, held: Known, mask: Mask) -> Before | None:
    """The nearest earlier choice by its target or by the colour it gave; the newest of equals.

    The target as given is compared with targets as given, and as meant with what was printed.
    """
    offered = np.flatnonzero(mask[held.rows])
    if not len(offered):
        return None
    nearest = np.minimum(
        delta_e(target.lab, held.targets[offered]), delta_e(wanted.lab, held.given[offered])
    )
    least = float(nearest.min())
    if least > CLOSE:
        return None
    place = int(offered[np.flatnonzero(nearest == least)[-1]])
    return Before(held.names[place], int(held.rows[place]), least)


def row_of(recipes: Recipes, choice: Choice) -> int | None:
    """The row of a choice made from this palette, even if edited since; None if lost."""
    return recipes.row_named(choice.tints) if choice.palette == recipes.palette.stem else None
