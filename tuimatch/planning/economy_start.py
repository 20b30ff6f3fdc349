"""A good assignment to begin the search from, found in a fraction of the time an exact one takes.

A set of brushes lets each area take the colours that need no others. Beginning with all brushes,
one after another is put away, the one first that leaves the areas most choice. Then, as long as
something is gained: one more is put away, or two for one that is taken up instead, or one for
another that lets the total ΔE be less. What is found is lawful but proves nothing.

Measured with 14,641 recipes: up to 3 ΔE for 30 areas HiGHS alone finds as much in the same time.
For 60 areas it ends 31 ΔE higher in total, and 4 ΔE is too much for it, while this goes from 40
passes to 14; without one of its three steps it takes up to two passes or 10 ΔE more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import combinations

import numpy as np

from tuimatch.match.limits import Mask
from tuimatch.planning.economy_problem import SAME_TOTAL, Array, Ints, Picks, Problem

# So many of an area's colours are looked at together for one that may stand beside the others.
_TOGETHER = 64


def good_start(problem: Problem) -> Picks:
    """The best assignment found; what is taken now if there is no time for more."""
    found = _Descent(problem)
    with suppress(TimeoutError):
        found.go_down()
    return found.best


class _Descent:
    """The state of the descent.

    Attributes:
        best: The best assignment so far.
        kept: The brushes not put away, shape (p,).
        total: The total ΔE within them.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.best = problem.present
        self.kept = np.ones(problem.uses.shape[1], dtype=np.bool_)
        self.total = problem.total(problem.present)

    def go_down(self) -> None:
        """Put brushes away until no single step gains anything.

        Raises:
            TimeoutError: The time is over.
        """
        self.problem.check_time()
        self.uses = self.problem.uses[self.problem.all_colours]
        self.areas = np.repeat(np.arange(len(self.problem.colours)), np.diff(self.problem.offsets))
        while any(self._try(sets()) for sets in (self._one_less, self._two_for_one, self._cheaper)):
            pass

    def _try(self, sets: Iterable[Mask]) -> bool:
        """Go on to the first of some sets that has a lawful assignment which is an improvement."""
        for kept in sets:
            self.problem.check_time()
            picks = self._assigned(kept)
            if picks is None:
                continue
            total = self.problem.total(picks)
            if kept.sum() == self.kept.sum() and total > self.total - SAME_TOTAL:
                continue
            self.kept, self.total = kept, total
            self.best = min(self.best, picks, key=self.problem.worth)
            return True
        return False

    def _live(self, brush: int | None = None) -> Ints:
        """The columns that need no brush but those kept, and perhaps one more."""
        away = ~self.kept
        if brush is not None:
            away[brush] = False
        return np.flatnonzero(~self.uses[:, away].any(axis=1))

    def _without(self, live: Ints) -> tuple[Array, Array]:
        """How many live columns each area has, shape (n,), and without each brush, (n, p)."""
        starts = self._starts(live)
        count = np.diff(np.append(starts, len(live))).astype(np.float64)
        taking = np.add.reduceat(self.uses[live], starts, axis=0, dtype=np.float64)
        return count, count[:, None] - taking

    def _starts(self, live: Ints) -> Ints:
        # Each area has a live column, so no two begin at the same place.
        return np.searchsorted(self.areas[live], np.arange(len(self.problem.colours)))

    def _one_less(self) -> Iterator[Mask]:
        """One brush put away; first the one that leaves most choice."""
        count, left = self._without(self._live())
        can = self.kept & (left > 0).all(axis=0)
        choice = np.log(np.maximum(left, 1) / count[:, None]).sum(axis=0)
        for brush in sorted(np.flatnonzero(can).tolist(), key=lambda b: (-choice[b], b)):
            yield self._changed([brush])

    def _two_for_one(self) -> Iterator[Mask]:
        """One brush taken up, and two put away for it."""
        for new in np.flatnonzero(~self.kept).tolist():
            self.problem.check_time()
            live, old = self._live(new), np.flatnonzero(self.kept)
            lacks = (~self.uses[np.ix_(live, old)]).astype(np.float32)
            starts = self._starts(live)
            can = np.ones((len(old), len(old)), dtype=np.bool_)
            for part in np.split(lacks, starts[1:]):
                can &= part.T @ part > 0
            for one, two in combinations(range(len(old)), 2):
                if can[one, two]:
                    yield self._changed(old[[one, two]].tolist(), new)

    def _cheaper(self) -> Iterator[Mask]:
        """One brush for another, where that might make the total ΔE less; the most first."""
        found = []
        for new in np.flatnonzero(~self.kept).tolist():
            self.problem.check_time()
            live = self._live(new)
            starts = self._starts(live)
            for old in np.flatnonzero(self.kept).tolist():
                costs = np.where(self.uses[live, old], np.inf, self.problem.all_costs[live])
                total = float(np.minimum.reduceat(costs, starts).sum())
                if total < self.total - SAME_TOTAL:
                    found.append((total, old, new))
        for _, old, new in sorted(found):
            yield self._changed([old], new)

    def _changed(self, away: list[int], new: int | None = None) -> Mask:
        kept = self.kept.copy()
        kept[away] = False
        if new is not None:
            kept[new] = True
        return kept

    def _assigned(self, kept: Mask) -> Picks | None:
        """A lawful assignment within some brushes, each area with its nearest colour if it can."""
        problem = self.problem
        live = ~self.uses[:, ~kept].any(axis=1)
        picks = problem.picks(np.where(live, -problem.all_costs, -np.inf))
        if problem.lawful(picks):
            return picks
        own = [np.flatnonzero(part) for part in np.split(live, problem.offsets[1:-1])]
        found = np.full(len(own), -1)
        taken = np.full(len(own), -1)
        for area in sorted(range(len(own)), key=lambda a: len(own[a])):
            problem.check_time()
            others = np.flatnonzero(found >= 0)
            beside = np.unique(taken[others[problem.apart(np.array(area), others)]])
            pick = self._beside(area, own[area], beside)
            if pick is None:
                return None
            found[area], taken[area] = pick, problem.colours[area][pick]
        return tuple(found.tolist())

    def _beside(self, area: int, own: Ints, beside: Ints) -> int | None:
        """The nearest colour of an area that is not too close to any it must stay apart from."""
        problem = self.problem
        own = own[np.argsort(problem.costs[area][own], kind="stable")]
        for first in range(0, len(own), _TOGETHER):
            some = own[first : first + _TOGETHER]
            free = ~problem.meet(problem.colours[area][some][:, None], beside[None]).any(axis=1)
            if free.any():
                return int(some[np.argmax(free)])
        return None
