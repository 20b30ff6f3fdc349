"""The search behind the economy: one recipe for every area with the fewest brushes, exactly.

Among assignments that keep apart what must stay apart, the number of brushes is least and, among
those, the total ΔE is least: one integer programme with a column for every brush, solved for the
fewest brushes and then, with a row that holds their number, for the least ΔE. The two are never
weighed into one cost. It begins with a good assignment that is quickly found, which is all there
is where the problem is too large to be written down.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf
from time import monotonic

import numpy as np

from tuimatch.planning.economy_problem import SAME_TOTAL, Ints, Picks, Problem
from tuimatch.planning.economy_start import good_start
from tuimatch.planning.integer_programme import TOLERANCE, Answer, Programme, Progress

# How much of the time the question for the fewest brushes may take.
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
        if problem.small:
            return _by_programme(problem, start)
    except TimeoutError:
        pass
    return Found(start, 0, problem.nearest)


def _by_programme(problem: Problem, start: Picks) -> Found:
    """The integer programme.

    Raises:
        TimeoutError: There was no time even to begin.
    """

    def watch(_: Progress) -> bool:
        return problem.go_on()

    programme, brushes = _with_brushes(problem)
    now = monotonic()
    none, one = np.zeros(len(problem.all_costs)), np.ones(len(brushes))
    deadline = now + _FIRST_SHARE * (problem.deadline - now)
    answer = programme.least(np.concatenate([none, one]), deadline=deadline, watch=watch)
    best = _better(problem, start, answer)
    count = problem.brushes(best)
    fewest = ceil(max(0, _believed(answer, count)) - SAME_TOTAL)

    programme.row(brushes, 1, upper=count)
    costs = np.concatenate([problem.all_costs, 0 * one])
    answer = programme.least(costs, deadline=problem.deadline, watch=watch)
    best = _better(problem, best, answer)
    total = problem.total(best)
    return Found(best, fewest, min(total, max(problem.nearest, _believed(answer, total))))


def _with_brushes(problem: Problem) -> tuple[Programme, Ints]:
    """The columns of the areas and then one for every brush, 1 where it is taken."""
    programme = problem.programme()
    brushes = programme.columns(problem.uses.shape[1])
    taking = problem.uses[problem.all_colours]
    for first, end in zip(problem.offsets[:-1], problem.offsets[1:], strict=True):
        problem.check_time()
        for b in np.flatnonzero(taking[first:end].any(axis=0)):
            # An area can take only one colour, so one row serves all of its colours.
            members = first + np.flatnonzero(taking[first:end, b])
            programme.row([*members, brushes[b]], [*np.ones(len(members)), -1], upper=0)
    return programme, brushes


def _better(problem: Problem, picks: Picks, answer: Answer) -> Picks:
    """The answer if it takes fewer brushes, or as many for less total ΔE; else what there was."""
    if answer.values is None:
        return picks
    found = problem.picks(answer.values[: len(problem.all_costs)])
    return min(picks, found, key=problem.worth) if problem.lawful(found) else picks


def _believed(answer: Answer, known: float) -> float:
    """A lower bound on the cost; −∞, nothing known, if an assignment at hand costs less."""
    return answer.bound if answer.bound <= known + TOLERANCE else -inf
