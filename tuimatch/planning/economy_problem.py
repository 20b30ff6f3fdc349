"""What the economy may choose from, and the rows that say which choices are lawful.

Two areas that must stay apart may take neither one colour nor two that are too close. Said pair by
pair that is hundreds of thousands of rows. A clique of areas that must all stay apart and a clique
of colours that are all too close can be joined at most once, and one row says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from time import monotonic

import numpy as np
import numpy.typing as npt

from tuimatch.colour.ciede2000_bounds import CLOSE, pairs
from tuimatch.colour.colorimetry import delta_e
from tuimatch.match.limits import Mask
from tuimatch.planning.integer_programme import Programme

Ints = npt.NDArray[np.intp]
Array = npt.NDArray[np.float64]

# For each area the place of the colour it takes among those it may take.
Picks = tuple[int, ...]

# Totals of ΔE that differ by less are the same: the gap the solver is told to close.
SAME_TOTAL = 1e-6

# ΔE that agree to this many decimals are a tie, as in the ranking.
TIE = 1e-9

# Which of so many colours are too close is a table of 16 MB.
_MOST_COLOURS = 4_000

# Beyond so many areas nothing is searched exactly: which of them must stay apart is not written
# down whole, and pairs of them are looked at so many at a time.
MOST_AREAS, _PAIRS = 1_000, 1_000_000


@dataclass(frozen=True, eq=False)
class Problem:
    """n areas, at least one; u colours, p brushes; one column for each colour an area may take.

    Attributes:
        colours: For each area the colours it may take, as indices below u.
        costs: The ΔE of each of these.
        present: What the areas take now; lawful.
        uses: Which brushes each colour takes, shape (u, p).
        labs: Lab of each colour, shape (u, 3).
        labels: A number for the label of each area, shape (n,).
        now: For each area the place of its present colour in `alike`, shape (n,).
        alike: Which of the present colours are too close already, shape (m, m).
        nearest: A lower bound on the total ΔE of any assignment.
        whole: Whether nothing that an area may take was left out for want of time or room.
        deadline: When to stop, by `time.monotonic`; what takes long raises TimeoutError then.
        go_on: Asked again and again whether to go on; once it says no, the time is over too.
    """

    colours: tuple[Ints, ...]
    costs: tuple[Array, ...]
    present: Picks
    uses: Mask
    labs: Array
    labels: Ints
    now: Ints
    alike: Mask
    nearest: float
    whole: bool
    deadline: float
    go_on: Callable[[], bool]

    @property
    def small(self) -> bool:
        """Whether there is room to write it down for an exact search."""
        fits = len(self.labs) <= _MOST_COLOURS and len(self.colours) <= MOST_AREAS
        return self.whole and fits

    def check_time(self) -> None:
        """Raise TimeoutError once the time is over."""
        if monotonic() >= self.deadline or not self.go_on():
            raise TimeoutError

    @cached_property
    def close(self) -> Mask:
        """Which colours are too close to tell apart; true on the diagonal, shape (u, u)."""
        return close_pairs(self.labs, self.check_time)

    @cached_property
    def offsets(self) -> Ints:
        """The first column of each area, and at the end the number of columns, shape (n + 1,)."""
        return np.cumsum([0, *map(len, self.colours)])

    @cached_property
    def all_colours(self) -> Ints:
        """The colour of each column."""
        return np.concatenate(self.colours)

    @cached_property
    def all_costs(self) -> Array:
        """The ΔE of each column."""
        return np.concatenate(self.costs)

    @cached_property
    def crowds(self) -> list[list[int]]:
        """Cliques of areas that must all stay apart; every such pair is in one."""
        every = np.arange(len(self.colours))
        return cliques(self.apart(every[:, None], every), self.check_time)

    @cached_property
    def shades(self) -> list[list[int]]:
        """Cliques of colours that are all too close; every such pair is in one."""
        return cliques(self.close, self.check_time)

    def picks(self, values: Array) -> Picks:
        """For each area the colour whose column has the largest of the values, one a column."""
        return tuple(int(np.argmax(part)) for part in np.split(values, self.offsets[1:-1]))

    def total(self, picks: Picks) -> float:
        """The sum of ΔE of an assignment."""
        return float(sum(costs[pick] for costs, pick in zip(self.costs, picks, strict=True)))

    def brushes(self, picks: Picks) -> int:
        """How many brushes an assignment takes."""
        return int(self.uses[self._taken(picks)].any(axis=0).sum())

    def apart(self, first: Ints, second: Ints) -> Mask:
        """Which areas must stay apart from others, by their indices; shapes that broadcast."""
        alike = self.alike[self.now[first], self.now[second]]
        return np.asarray((self.labels[first] != self.labels[second]) & ~alike)

    def lawful(self, picks: Picks) -> bool:
        """Whether an assignment keeps apart what must stay apart."""
        colours, group = np.unique(self._taken(picks), return_inverse=True)
        ends = np.cumsum(np.bincount(group))[:-1]
        takers = np.split(np.argsort(group, kind="stable"), ends)
        return not any(
            self._any_apart(takers[one], takers[other]) for one, other in self._meeting(colours)
        )

    def _meeting(self, colours: Ints) -> Iterator[tuple[int, int]]:
        """The places in some colours of each pair that is too close, or is the same colour."""
        yield from ((place, place) for place in range(len(colours)))
        for first, second, _ in pairs(self.labs[colours], CLOSE - TIE):
            yield from zip(first.tolist(), second.tolist(), strict=True)

    def _any_apart(self, some: Ints, others: Ints) -> bool:
        """Whether any of some areas must stay apart from any of others."""
        step = max(_PAIRS // len(others), 1)
        parts = (some[first : first + step, None] for first in range(0, len(some), step))
        return any(self.apart(part, others).any() for part in parts)

    def meet(self, first: Ints, second: Ints) -> Mask:
        """Which colours are too close to others, by their indices; shapes that broadcast."""
        return delta_e(self.labs[first], self.labs[second]) < CLOSE - TIE

    def worth(self, picks: Picks) -> tuple[int, float]:
        """The number of brushes and the total ΔE of an assignment: less is better."""
        return self.brushes(picks), self.total(picks)

    def programme(self) -> Programme:
        """One colour for each area, and of each crowd in each shade one area at most."""
        programme = Programme()
        programme.columns(len(self.all_costs))
        for first, end in zip(self.offsets[:-1], self.offsets[1:], strict=True):
            programme.row(range(first, end), 1, 1, 1)
        columns = np.full((len(self.uses), len(self.colours)), -1)
        for area, (first, colours) in enumerate(zip(self.offsets, self.colours, strict=False)):
            columns[colours, area] = first + np.arange(len(colours))
        said = set()
        for crowd in self.crowds:
            for shade in self.shades:
                self.check_time()
                block = columns[np.ix_(shade, crowd)]
                members = tuple(np.sort(block[block >= 0]).tolist())
                if (block >= 0).any(axis=0).sum() > 1 and members not in said:
                    said.add(members)
                    programme.row(members, 1, upper=1)
        return programme

    def _taken(self, picks: Picks) -> Ints:
        return np.array([own[pick] for own, pick in zip(self.colours, picks, strict=True)])


def close_pairs(labs: Array, check: Callable[[], None] = lambda: None) -> Mask:
    """Which colours are too close to each other, and to themselves, shape (u, u).

    Args:
        labs: Shape (u, 3).
        check: Called again and again; what it raises is raised here.
    """
    close = np.eye(len(labs), dtype=np.bool_)
    for first, second, _ in pairs(labs, CLOSE - TIE):
        check()
        close[first, second] = close[second, first] = True
    return close


def cliques(related: Mask, check: Callable[[], None] = lambda: None) -> list[list[int]]:
    """Cliques of a graph that have every vertex and every edge in one of them, by greedy growth.

    Args:
        related: Which vertices are joined, symmetric, shape (v, v); the diagonal is not looked at.
        check: Called again and again; what it raises is raised here.
    """
    graph = related & ~np.eye(len(related), dtype=np.bool_)
    missing = graph.copy()
    found = []
    for vertex in range(len(graph)):
        check()
        if not graph[vertex].any():
            found.append([vertex])
        while missing[vertex].any():
            clique, common = [vertex], graph[vertex]
            gain = missing[vertex].astype(np.intp)
            while common.any():
                # The one that brings most edges that are in no clique yet.
                best = int(np.argmax(np.where(common, gain, -1)))
                clique.append(best)
                common, gain = common & graph[best], gain + missing[best]
            missing[np.ix_(clique, clique)] = False
            found.append(sorted(clique))
    return found
