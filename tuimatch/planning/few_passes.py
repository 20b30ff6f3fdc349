"""Which tints of inks to lay on a page where only so many may be.

As one integer programme that is hopeless: with a part of every tint the page costs hardly more than
with all of them, so nearly nothing is ruled out. Set by set it is easy. A set of tints costs no
less than each colour with its nearest recipe in it, and the neighbours say more: what recipes break
of a relation is shared out between its two colours, recipe by recipe, so that no two of them are
charged more than they break; then the least that each colour costs adds up to a bound, and the
shares are improved relation by relation. That is the dual of the linear programme, ascended block
by block (Globerson & Jaakkola 2007, "Fixing max-product"). It leaves a handful of some hundred sets
to be solved.

What a choice is worth is its total of √share · ΔE, with `Page.weight` for each relation broken,
which is more than all of that total together; less is better.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import comb, inf

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array
from tuimatch.match.limits import Mask
from tuimatch.planning.relations import TIE, Relation, breaks

Ints = npt.NDArray[np.intp]

# Up to so many sets of tints are looked at one by one; of more, only a good one is sought.
MOST_SETS = 20_000
# Rounds over all relations at most; they end when less than a part of the bound is gained.
_ROUNDS, _GAIN = 12, 1e-3
# Sets whose bounds are made together, less where they have so many pairs of recipes.
_TOGETHER, _PAIRS = 64, 150_000


@dataclass(frozen=True, eq=False)
class Page:
    """f colours of a page and n recipes, of t tints of inks.

    Attributes:
        costs: √share · ΔE of each recipe; infinite where a colour may not take it, shape (f, n).
        lab: Of each recipe, shape (n, 3).
        uses: Which tints each recipe takes, shape (n, t).
        relations: What is to stay between the colours.
        most: The most tints that may be laid, from 1.
    """

    costs: Array
    lab: Array
    uses: Mask
    relations: tuple[Relation, ...]
    most: int

    @cached_property
    def weight(self) -> float:
        """What a broken relation is worth: more than any choice costs."""
        return 1.0 + float(np.where(np.isinf(self.costs), 0, self.costs).max(axis=1).sum())

    @property
    def few(self) -> bool:
        """Whether there are so few sets of tints that each can be looked at."""
        return comb(self.uses.shape[1], min(self.most, self.uses.shape[1])) <= MOST_SETS

    def sets(self) -> Mask:
        """Which recipes go with each set of as many tints as may be, shape (sets, n)."""
        tints = self.uses.shape[1]
        chosen = np.array(list(combinations(range(tints), min(self.most, tints))), dtype=np.intp)
        without = np.ones((len(chosen), tints), dtype=np.float32)
        np.put_along_axis(without, chosen, 0, axis=1)
        return np.asarray(without @ self.uses.T.astype(np.float32) == 0)

    def least(self, within: Mask) -> float:
        """What the page costs with some recipes and no relations, within of shape (n,)."""
        return float(self.costs[:, within].min(axis=1, initial=inf).sum())

    def bounds(self, sets: Mask, enough: float = inf) -> Array:
        """A lower bound on the worth of the page with each of some sets, shape (sets,).

        Args:
            sets: Which recipes are in each, shape (sets, n).
            enough: Once all bounds are over this, they are not improved further.
        """
        size = int(sets.sum(axis=1).max())
        rows = np.argsort(~sets, axis=1, kind="stable")[:, :size]
        never = 1000 * self.weight * (1 + len(self.relations))
        costs = np.where(np.isinf(self.costs), never, self.costs)
        absent = ~np.take_along_axis(sets, rows, axis=1)
        left = [np.where(absent, never, own[rows]) for own in costs]  # (sets, size) a colour
        lab = self.lab[rows]
        charged: dict[tuple[bool, int], Array] = {}
        for relation in self.relations:
            kind = (relation.apart, relation.lighter)
            if kind not in charged:
                broken = breaks(np.bool_(kind[0]), np.intp(kind[1]), lab[:, :, None], lab[:, None])
                charged[kind] = self.weight * broken
        shares = [[np.zeros(rows.shape)] * 2 for _ in self.relations]
        bounds = np.sum([own.min(axis=1) for own in left], axis=0)
        for _ in range(_ROUNDS):
            for own, relation in zip(shares, self.relations, strict=True):
                together = charged[relation.apart, relation.lighter]
                first = left[relation.first] - own[0]
                second = left[relation.second] - own[1]
                left[relation.first] = (first + (together + second[:, None]).min(axis=2)) / 2
                left[relation.second] = (second + (together + first[..., None]).min(axis=1)) / 2
                own[:] = left[relation.first] - first, left[relation.second] - second
            before, bounds = bounds, np.sum([own.min(axis=1) for own in left], axis=0)
            if (bounds >= enough).all() or (bounds - before < _GAIN * bounds).all():
                break
        return np.asarray(bounds)

    def best(
        self, solve: Callable[[Mask, float], tuple[float, float]], go_on: Callable[[], bool]
    ) -> float:
        """Solve the sets that may be the best.

        Args:
            solve: Solves the page with some recipes, shape (n,), given a known lower bound,
                and returns the worth of what it found and a lower bound on anything there.
            go_on: Whether to go on, once something is found.

        Returns:
            A lower bound on any choice; infinite where no set has a recipe for every colour.
        """
        sets = self.sets()
        least = np.array([self.least(within) for within in sets])
        order = np.argsort(least, kind="stable")[: np.isfinite(least).sum()]
        sets, least = sets[order], least[order]
        size = int(sets.sum(axis=1).max(initial=1))
        together = max(1, min(_TOGETHER, _PAIRS // size**2))
        found = open_ = inf
        for begin in range(0, len(sets), together):
            if least[begin] >= found - TIE:
                break
            some = slice(begin, begin + together)
            bounds = np.maximum(self.bounds(sets[some], found), least[some])
            for place in np.argsort(bounds, kind="stable").tolist():
                bound = float(bounds[place])
                if bound >= found - TIE:
                    break
                if found < inf and not go_on():
                    rest = least[begin + together :].min(initial=inf)
                    return min(found, open_, bound, float(rest))
                worth, bound = solve(sets[begin + place], bound)
                found, open_ = min(found, worth), min(open_, bound)
        return min(found, open_)

    def good_set(self) -> Mask | None:
        """The recipes that go with a good set of tints, shape (n,).

        Tints are given up one by one, each time the one missed least; then one is laid instead of
        another as long as something is gained. None where so many cannot be given up in this way.
        """
        laid = np.ones(self.uses.shape[1], dtype=np.bool_)
        cost = inf
        while laid.sum() > self.most:
            cost, laid = self._least_of([_changed(laid, one) for one in np.flatnonzero(laid)])
            if cost == inf:
                return None
        while True:
            swaps = [
                _changed(laid, one, other)
                for one in np.flatnonzero(laid)
                for other in np.flatnonzero(~laid)
            ]
            better, swapped = self._least_of([laid, *swaps])
            if better >= cost - TIE:
                return self._within(laid)
            cost, laid = better, swapped

    def _within(self, laid: Mask) -> Mask:
        """Which recipes take only tints that are laid, shape (n,)."""
        return np.asarray(~self.uses[:, ~laid].any(axis=1))

    def _least_of(self, sets: list[Mask]) -> tuple[float, Mask]:
        """The set of tints with which the page costs least, relations aside, and the cost."""
        costs = [self.least(self._within(laid)) for laid in sets]
        place = int(np.argmin(costs))
        return costs[place], sets[place]


def _changed(laid: Mask, *tints: np.intp) -> Mask:
    """The same, with some tints flipped: laid if they were not, given up if they were."""
    changed = laid.copy()
    changed[list(tints)] ^= True
    return changed
