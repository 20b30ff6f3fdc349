"""The search behind the economy: one recipe for every area with the fewest brushes, exactly.

Among assignments that keep apart what must stay apart, the number of brushes is least and, among
those, the total ΔE is least. It begins with a good assignment that is quickly found. Where the
problem is small enough to be written down (60 areas that may take any of 125 recipes are), two
exact ways follow, both with HiGHS for the part that is hard:

- Few brushes (up to `MOST_IN_SETS`; quarter tints of three inks have 12): go through the sets of
  brushes by size, and in each size by the total ΔE they would allow if nothing had to stay apart.
  That bound is a table over all sets, made in milliseconds. Only a set it cannot rule out goes to
  HiGHS, as an assignment without brushes. The first size that has an answer is the least.
- More brushes: one integer programme with a column for every brush, solved for the fewest brushes
  and then for the least ΔE with that many.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from time import monotonic
from typing import Any

import numpy as np
import numpy.typing as npt

from tuimatch.planning.economy_problem import SAME_TOTAL, Picks, Problem
from tuimatch.planning.economy_start import good_start
from tuimatch.planning.integer_programme import Answer

# A table over all sets of 16 brushes has 65,536 places.
MOST_IN_SETS = 16

# How much of the time the first question of the integer programme may take.
_FIRST_SHARE = 0.75


@dataclass(frozen=True)
class Found:
    """The best assignment found, and how good it is known to be.

    Attributes:
        picks: For each area the place among its colours.
        fewest: No assignment takes fewer brushes.
        least: No assignment with as many brushes as this one has less total ΔE.
    """

    picks: Picks
    fewest: int
    least: float


def search(problem: Problem) -> Found:
    """The best assignment; once the time is over, the best so far with what is proved of it."""
    start = good_start(problem)
    try:
        if problem.small and problem.uses.shape[1] <= MOST_IN_SETS:
            return by_sets(problem, start)
        if problem.small:
            return by_programme(problem, start)
    except TimeoutError:
        pass
    return Found(start, 0, problem.nearest)


def by_sets(problem: Problem, start: Picks) -> Found:
    """Go through sets of brushes, smallest first; for up to `MOST_IN_SETS` brushes.

    Raises:
        TimeoutError: There was no time even to begin.
    """
    sets = _Sets(problem)
    best = start
    fewest, total = problem.worth(best)
    size, bound = 0, 0.0
    try:
        for size in range(fewest + 1):
            for brushes in sets.of_size(size):
                bound = float(sets.bounds[brushes])
                last = size == fewest
                if last and bound >= total - SAME_TOTAL:
                    break
                picks = sets.solve(brushes)
                if picks is not None and (not last or problem.total(picks) < total):
                    best, fewest, total = picks, size, problem.total(picks)
            if size == fewest:
                break
    except TimeoutError:
        # The sets of one size come by rising bound, so nothing that is left is below this one.
        below = bound if size == fewest else sets.least_bound(fewest)
        return Found(best, size, min(below, total))
    return Found(best, fewest, total)


class _Sets:
    """All sets of brushes; a set is a number whose bit b says that it has brush b.

    Attributes:
        bounds: For each set the least total ΔE if nothing had to stay apart; infinite where an
            area has no colour at all or a crowd has not enough shades. Shape (2^p,).
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.brushes = problem.uses.shape[1]
        self.count = 1 << self.brushes
        masks = problem.uses @ (1 << np.arange(self.brushes))
        self.column_masks = masks[problem.all_colours]
        self.sizes = np.array([brushes.bit_count() for brushes in range(self.count)])
        self.bounds = np.zeros(self.count)
        for colours, costs in zip(problem.colours, problem.costs, strict=True):
            problem.check_time()
            nearest = np.full(self.count, np.inf)
            np.minimum.at(nearest, masks[colours], costs)
            self.bounds += self._to_supersets(nearest, np.minimum)
        shades = np.zeros(self.count, dtype=np.intp)
        for shade in problem.shades:
            problem.check_time()
            reached = np.zeros(self.count, dtype=np.bool_)
            reached[masks[shade]] = True
            shades += self._to_supersets(reached, np.logical_or)
        # A crowd needs a shade for each of its areas.
        self.bounds[shades < max(map(len, problem.crowds))] = np.inf
        self.programme = problem.programme()

    def _to_supersets(self, values: npt.NDArray[Any], join: np.ufunc) -> npt.NDArray[Any]:
        """Join into each set the values of all its subsets, in place."""
        for b in range(self.brushes):
            halves = values.reshape(-1, 2, 1 << b)
            join(halves[:, 1], halves[:, 0], out=halves[:, 1])
        return values

    def of_size(self, size: int) -> Iterator[int]:
        """The sets of one size that may do, by rising bound."""
        some = np.flatnonzero((self.sizes == size) & np.isfinite(self.bounds))
        yield from some[np.argsort(self.bounds[some], kind="stable")].tolist()

    def least_bound(self, size: int) -> float:
        """The least bound among the sets of one size."""
        return float(self.bounds[self.sizes == size].min())

    def solve(self, brushes: int) -> Picks | None:
        """The assignment of least total ΔE within a set, or None if there is none.

        Args:
            brushes: The set; its bound is finite.

        Raises:
            TimeoutError: The time is over.
        """
        keep = (self.column_masks & ~brushes) == 0
        # With a finite bound each area has a colour; if the nearest ones are lawful, that is all.
        picks = self.problem.picks(np.where(keep, -self.problem.all_costs, -np.inf))
        if self.problem.lawful(picks):
            return picks
        answer = self.programme.least(
            self.problem.all_costs, deadline=self.problem.deadline, only=keep
        )
        if not answer.proved:
            raise TimeoutError
        return None if answer.values is None else self.problem.picks(answer.values)


def by_programme(problem: Problem, start: Picks) -> Found:
    """One integer programme, solved for the fewest brushes and then for the least total ΔE.

    Its columns are those of the areas and then one for every brush, 1 where it is taken.

    Raises:
        TimeoutError: There was no time even to begin.
    """
    programme = problem.programme()
    brushes = programme.columns(problem.uses.shape[1])
    taking = problem.uses[problem.all_colours]
    for first, end in zip(problem.offsets[:-1], problem.offsets[1:], strict=True):
        problem.check_time()
        for b in np.flatnonzero(taking[first:end].any(axis=0)):
            # An area can take only one colour, so one row serves all of its colours.
            members = first + np.flatnonzero(taking[first:end, b])
            programme.row([*members, brushes[b]], [*np.ones(len(members)), -1], upper=0)

    now = monotonic()
    none, one = np.zeros(len(taking)), np.ones(len(brushes))
    answer = programme.least(
        np.concatenate([none, one]),
        deadline=now + _FIRST_SHARE * (problem.deadline - now),
    )
    best = _better(problem, start, answer)
    count = problem.brushes(best)
    fewest = ceil(max(0, min(answer.bound, count)) - SAME_TOTAL)

    programme.row(brushes, 1, upper=count)
    costs = np.concatenate([problem.all_costs, 0 * one])
    answer = programme.least(costs, deadline=problem.deadline)
    best = _better(problem, best, answer)
    total = problem.total(best)
    bound = max(problem.nearest, answer.bound)
    return Found(best, fewest, total if answer.status == "optimal" else min(total, bound))


def _better(problem: Problem, picks: Picks, answer: Answer) -> Picks:
    """The answer if it takes fewer brushes, or as many for less total ΔE; else what there was."""
    if answer.values is None:
        return picks
    found = problem.picks(answer.values[: len(problem.all_costs)])
    return min(picks, found, key=problem.worth)
