"""All colours of a page matched together, so that what differs on it still differs in print.

Matched one by one, a light and its shade often get the same recipe. Here a recipe is chosen for
every colour at once. The total of √share · ΔE is least among the choices that break the least of
the relations between neighbours (`relations`).

It is an integer programme: a column for each colour and recipe, one recipe for each colour, and for
two neighbours no two recipes that break their relation. Said pair by pair that is slow. Where every
recipe of one set breaks the relation with every recipe of another, one row says that the neighbours
take at most one of them all.

Most recipes are far from a colour and never come into question. So the programme begins with the
few that are nearest to each, and with one column more that stands for all that are further: it
costs as little as the nearest of these and breaks no relation. No choice costs less than the answer
to that programme, and where the answer takes none of these columns, it is the answer over all
recipes. Where it takes one, that colour gets more recipes, and the programme is solved again.

Colours whose recipes cannot get in each other's way are solved apart from each other. Where the
answer has more passes than there may be, sets of tints are chosen first (`few_passes`), and what
goes with each is matched in the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite
from time import monotonic
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tuimatch.colour import ciede2000_bounds
from tuimatch.colour.colorimetry import Array, delta_e
from tuimatch.errors import UsageError
from tuimatch.match.limits import Mask
from tuimatch.palette.model import Triple
from tuimatch.planning import few_passes
from tuimatch.planning.integer_programme import TOLERANCE, Answer, Programme, Progress
from tuimatch.planning.relations import NEARER, TIE, Relation, breaks, broken
from tuimatch.recipe.recipes import Recipes

Ints = npt.NDArray[np.intp]

SECONDS = 20.0

# Recipes of each colour to begin with, and at most.
_FIRST, _MOST = 16, 1024
# Of a search that was stopped: recipes of each colour, and how often each colour is looked at.
_MENDED_FROM, _SWEEPS = 500, 10


@dataclass(frozen=True)
class Wanted:
    """A colour of the page.

    Attributes:
        aim: Lab that its recipe should come near to.
        given: Lab as it stands on the page; the relations are between these.
        share: Its part of the page, over 0.
        locked: The row of the recipe that it keeps; None where it is free.
    """

    aim: Triple
    given: Triple
    share: float
    locked: int | None = None


@dataclass(frozen=True)
class State:
    """How far the search has come.

    Attributes:
        open: How many colours want recipes that have not been looked at yet.
        bound: No choice has a total of √share · ΔE below this.
    """

    open: int
    bound: float


# Looks on and answers whether to go on; it must be quick and must not raise.
Watch = Callable[[State], bool]


@dataclass(frozen=True, eq=False)
class PageMatch:
    """A recipe for every colour of a page.

    Attributes:
        wanted: The colours.
        rows: The row of each one's recipe.
        delta_e: CIEDE2000 of each recipe from its aim.
        alone: The row of the recipe that each would get without the others.
        alone_delta_e: CIEDE2000 of that one.
        relations: What was to stay between neighbours.
        why_not: Why a relation is not kept, by its place, for each that is not.
        cost: The total of √share · ΔE.
        bound: A lower bound on the cost of the best choice.
        proved: Whether no better choice exists at all.
    """

    wanted: tuple[Wanted, ...]
    rows: tuple[int, ...]
    delta_e: tuple[float, ...]
    alone: tuple[int, ...]
    alone_delta_e: tuple[float, ...]
    relations: tuple[Relation, ...]
    why_not: dict[int, str]
    cost: float
    bound: float
    proved: bool

    def certainty(self) -> str:
        """Whether a better choice could exist, in words."""
        if self.proved:
            return "proved: no other choice is nearer"
        if self.why_not:
            return "stopped early: perhaps more of them can be kept, or with less ΔE"
        gap = (self.cost - self.bound) / max(self.cost, TIE)
        return f"stopped early: the total ΔE is at most {gap:.1%} above the least possible"


def match_page(
    wanted: Sequence[Wanted],
    recipes: Recipes,
    kept: Sequence[Relation],
    *,
    allowed: Mask | None = None,
    tolerance: float | None = None,
    max_passes: int | None = None,
    seconds: float = SECONDS,
    watch: Watch | None = None,
) -> PageMatch:
    """Choose a recipe for every colour of a page.

    Args:
        wanted: The colours, at least one.
        recipes: The recipes of the palette.
        kept: What should stay between neighbours.
        allowed: Which recipes may be offered, shape (N,); all unless given. A locked colour keeps
            its recipe even where it is not allowed.
        tolerance: How much ΔE over the nearest recipe allowed a colour may have (no limit).
        max_passes: At most so many tints of inks on the page; any number unless given.
        seconds: When to stop with the best answer so far; about, as a step is not interrupted.
        watch: Looks on and may stop it.

    Raises:
        UsageError: No recipe is allowed, or there are too few passes for what must be laid.
    """
    rows = np.arange(len(recipes)) if allowed is None else np.flatnonzero(allowed)
    if not len(rows):
        raise UsageError("the limits leave out every recipe; remove one of them")
    offers = [_Offer(one, recipes, _may_take(one, recipes, rows, tolerance)) for one in wanted]
    alone = [int(offer.rows[0]) for offer in offers]
    search = _Search(recipes, offers, tuple(kept), monotonic() + seconds, watch)
    found = search.run()
    if max_passes is not None and search.brushes(found.picks).any(axis=0).sum() > max_passes:
        found = _with_few_passes(search, max_passes, found.bound)
    breaks_, cost = search.worth(found.picks)
    # Where not all relations are kept, a search that was stopped does not know how many can be.
    bound = search.least if breaks_ and not found.proved else found.bound
    aims, lab = [one.aim for one in wanted], recipes.lab[found.picks]
    lost = (p for p, r in enumerate(kept) if broken(r, lab[r.first], lab[r.second]))
    return PageMatch(
        wanted=tuple(wanted),
        rows=tuple(found.picks),
        delta_e=tuple(delta_e(aims, lab).tolist()),
        alone=tuple(alone),
        alone_delta_e=tuple(delta_e(aims, recipes.lab[alone]).tolist()),
        relations=tuple(kept),
        why_not={place: search.why_not(kept[place]) for place in lost},
        cost=cost,
        bound=min(bound, cost),
        proved=found.proved and cost - bound <= TOLERANCE * len(wanted),
    )


def _may_take(wanted: Wanted, recipes: Recipes, allowed: Ints, tolerance: float | None) -> Ints:
    """The rows of the recipes that a colour may take."""
    if wanted.locked is not None:
        return np.array([wanted.locked])
    if tolerance is None:
        return allowed
    far = delta_e(wanted.aim, recipes.lab[allowed])
    return np.asarray(allowed[far <= far.min() + tolerance + TIE])


class _Offer:
    """What a colour may take: the nearest recipes, more of them as they are asked for.

    Attributes:
        allowed: Rows of all recipes that it may take.
        rows: Rows of those offered, the nearest first, shape (k,).
        cost: √share · ΔE of each, shape (k,).
        further: The least cost of those that are not among them; infinite where they are all.
        cut: Whether some that may be taken are left out for good, there being too many.
    """

    rows: Ints
    cost: Array
    further: float

    def __init__(self, wanted: Wanted, recipes: Recipes, allowed: Ints) -> None:
        self.wanted, self.weight = wanted, float(np.sqrt(wanted.share))
        self.recipes, self.allowed, self.cut = recipes, allowed, False
        self._take(_FIRST)

    def more(self) -> None:
        """Offer twice as many."""
        if 2 * len(self.rows) > _MOST:
            self.cut, self.further = True, inf
        else:
            self._take(2 * len(self.rows))

    def _take(self, count: int) -> None:
        """Offer so many, or all that there are."""
        rows, cost = self.nearest(count + 1)  # one more tells how far the next one is
        self.further = float(cost[count]) if len(cost) > count else inf
        self.rows, self.cost = rows[:count], cost[:count]

    def nearest(self, count: int) -> tuple[Ints, Array]:
        """The nearest recipes that are allowed, as many or fewer, and their cost."""
        lab = self.recipes.lab[self.allowed]
        some = ciede2000_bounds.promising(self.wanted.aim, lab, min(count, len(lab)))
        far = delta_e(self.wanted.aim, lab[some])
        order = np.argsort(far, kind="stable")[:count]
        return self.allowed[some[order]], self.weight * far[order]


class _Pair(NamedTuple):
    """Two neighbours, and which of the recipes offered them break their relation.

    Attributes:
        relation: What is to stay.
        conflict: Shape (offered to the first, offered to the second).
    """

    relation: Relation
    conflict: Mask


class _Part(NamedTuple):
    """The answer for colours that have nothing to do with the others.

    Attributes:
        picks: The row of each one's recipe; the nearest where it wants one that is not offered.
        open: The colours that want one.
        bound: A lower bound on their cost where every relation is kept; where none of them wants
            one that is not offered, also where no more are broken than must be.
        finished: Whether the programme was solved to its end.
    """

    picks: dict[int, int]
    open: list[int]
    bound: float
    finished: bool


class _Found(NamedTuple):
    """What a search found.

    Attributes:
        picks: The row of each colour's recipe.
        bound: No choice that keeps every relation costs less; where it is proved, none at all that
            breaks no more of them.
        proved: Whether nothing better exists.
    """

    picks: list[int]
    bound: float
    proved: bool


class _Search:
    """The programmes, solved one after another until their answer is one over all recipes."""

    def __init__(
        self,
        recipes: Recipes,
        offers: list[_Offer],
        relations: tuple[Relation, ...],
        deadline: float,
        watch: Watch | None,
        max_passes: int | None = None,
    ) -> None:
        self.recipes, self.offers, self.relations = recipes, offers, relations
        self.deadline, self.watch, self.max_passes = deadline, watch, max_passes
        self.least = sum(float(offer.cost[0]) for offer in offers)
        # Each relation from both sides.
        one, other = ([r.first for r in relations], [r.second for r in relations])
        self._of = np.array(one + other, dtype=np.intp)
        self._beside = np.array(other + one, dtype=np.intp)
        self._apart = np.array([r.apart for r in relations] * 2, dtype=np.bool_)
        lighter = np.array([r.lighter for r in relations], dtype=np.intp)
        self._lighter = np.concatenate([lighter, -lighter])
        self._known: dict[tuple[tuple[int, int], ...], _Part] = {}
        self._state = State(len(offers), self.least)

    def worth(self, picks: Sequence[int]) -> tuple[float, float]:
        """How much a choice breaks of the relations, and its total of √share · ΔE."""
        lab = self.recipes.lab[picks]
        lost = breaks(self._apart, self._lighter, lab[self._of], lab[self._beside]).sum() / 2
        aims = [offer.wanted.aim for offer in self.offers]
        return float(lost), float(delta_e(aims, lab) @ [offer.weight for offer in self.offers])

    def run(self) -> _Found:
        """The best choice; of a search that is stopped, a good one."""
        picks, bound = [int(offer.rows[0]) for offer in self.offers], self.least
        while True:
            parts = [self._part(group, pairs) for group, pairs in self._groups()]
            for part in parts:
                for place, row in part.picks.items():
                    picks[place] = row
            if not (cut := any(offer.cut for offer in self.offers)):
                bound = max(bound, sum(part.bound for part in parts))
            wanting = [place for part in parts for place in part.open]
            if not all(part.finished for part in parts):
                return _Found(self._mended(picks), bound, False)
            if not wanting:
                return _Found(picks, bound if cut else sum(p.bound for p in parts), not cut)
            self._state = State(len(wanting), bound)
            for place in wanting:
                self.offers[place].more()

    def lab(self, place: int) -> Array:
        """Lab of what is offered to a colour, shape (k, 3)."""
        return np.asarray(self.recipes.lab[self.offers[place].rows])

    def why_not(self, relation: Relation) -> str:
        """Why a relation is not kept."""
        one, other = self.offers[relation.first], self.offers[relation.second]
        locked = [offer for offer in (one, other) if offer.wanted.locked is not None]
        if len(locked) == 2:
            return "both are locked"
        first, second = self.lab(relation.first), self.lab(relation.second)
        whole = not (isfinite(one.further) or isfinite(other.further) or one.cut or other.cut)
        if whole and broken(relation, first[:, None], second[None]).all():
            return (
                "no recipe under the limits keeps it"
                if locked
                else "no two recipes under the limits keep it"
            )
        return "only by giving up another difference or a limit"

    def _groups(self) -> list[tuple[list[int], list[_Pair]]]:
        """The colours in groups that have nothing to do with each other, each with its pairs.

        Two neighbours have to do with each other where recipes offered to them break the relation;
        where passes are counted, all have.
        """
        group = list(range(len(self.offers)))
        pairs = []
        for relation in self.relations:
            first, second = self.lab(relation.first), self.lab(relation.second)
            conflict = broken(relation, first[:, None], second[None])
            if conflict.any():
                pairs.append(_Pair(relation, conflict))
                one, other = group[relation.first], group[relation.second]
                group = [one if number == other else number for number in group]
        if self.max_passes is not None:
            group = [0] * len(group)
        return [
            (
                [place for place, own in enumerate(group) if own == number],
                [pair for pair in pairs if group[pair.relation.first] == number],
            )
            for number in dict.fromkeys(group)
        ]

    def _part(self, group: list[int], pairs: list[_Pair]) -> _Part:
        """The answer for a group; what was solved with the same offers is known."""
        key = tuple((place, len(self.offers[place].rows)) for place in group)
        if key not in self._known:
            self._known[key] = _solved(self, group, pairs)
        return self._known[key]

    def go_on(self) -> bool:
        """Whether there is time and the caller has not stopped it."""
        return monotonic() < self.deadline and (self.watch is None or self.watch(self._state))

    def solve(self, programme: Programme, costs: Array) -> Answer:
        """The least cost of a programme, as far as there is time to find it."""

        def look(_: Progress) -> bool:
            return self.go_on()

        if not self.go_on():
            return Answer("stopped", None, -inf)
        return programme.least(costs, deadline=self.deadline, watch=self.watch and look)

    def brushes(self, rows: Sequence[int] | Ints) -> Mask:
        """Which tints of inks recipes take, shape (n, tints of all inks)."""
        steps = self.recipes.steps[np.asarray(rows)]
        inks = self.recipes.palette.inks
        return np.concatenate(
            [steps[:, [i]] == np.arange(1, len(ink.steps)) for i, ink in enumerate(inks)], axis=1
        )

    def _mended(self, picks: list[int]) -> list[int]:
        """A choice improved one colour at a time; unchanged where passes are counted."""
        if self.max_passes is not None:
            return picks
        lab, found = self.recipes.lab, np.array(picks)
        for _ in range(_SWEEPS):
            before = found.copy()
            for place, offer in enumerate(self.offers):
                rows, cost = offer.nearest(max(_MENDED_FROM, len(offer.rows)))
                at = self._of == place
                beside = lab[found[self._beside[at]]]
                lost = breaks(self._apart[at], self._lighter[at], lab[rows][:, None], beside)
                found[place] = rows[np.lexsort((cost, lost.sum(axis=1)))[0]]
            if (found == before).all():
                break
        return [int(row) for row in found]

    def within(self, rows: Ints) -> _Search:
        """The same search with some recipes only, at least one for each colour."""
        offers = [
            _Offer(own.wanted, self.recipes, np.intersect1d(own.allowed, rows))
            for own in self.offers
        ]
        return _Search(self.recipes, offers, self.relations, self.deadline, self.watch)

    def few_passes(self, most: int) -> tuple[few_passes.Page, Ints]:
        """The page for a search by sets of tints, and the rows of its recipes."""
        rows = np.unique(np.concatenate([offer.allowed for offer in self.offers]))
        costs = np.full((len(self.offers), len(rows)), inf)
        for own, offer in zip(costs, self.offers, strict=True):
            taken, cost = offer.nearest(len(offer.allowed))
            own[np.searchsorted(rows, taken)] = cost
        uses = self.brushes(rows)
        used = uses[:, uses.any(axis=0)]
        return few_passes.Page(costs, self.recipes.lab[rows], used, self.relations, most), rows


def _with_few_passes(search: _Search, most: int, bound: float) -> _Found:
    """The best choice with no more tints of inks than may be laid.

    Args:
        search: The search without that limit.
        most: How many may be laid.
        bound: No choice that keeps every relation costs less.
    """
    page, rows = search.few_passes(most)
    found: list[tuple[float, list[int]]] = []

    def worth(picks: list[int]) -> float:
        breaks_, cost = search.worth(picks)
        return page.weight * breaks_ + cost

    def solve(within: Mask, bound: float) -> tuple[float, float]:
        own = search.within(rows[within]).run()
        found.append((worth(own.picks), own.picks))
        return found[-1][0], found[-1][0] if own.proved else bound

    if page.few:
        least = page.best(solve, search.go_on)
    else:
        good = page.good_set()
        if good is not None:
            solve(good, 0.0)
        whole = _Search(
            search.recipes, search.offers, search.relations, search.deadline, search.watch, most
        ).run()
        if search.brushes(whole.picks).any(axis=0).sum() <= most:
            found.append((worth(whole.picks), whole.picks))
        least = found[-1][0] if whole.proved else whole.bound
    if not found and least == inf:
        raise _too_few(most)
    if not found:
        raise UsageError(f"found nothing with at most {most} passes in time; allow more passes")
    best, picks = min(found)
    if least >= best - TOLERANCE * len(picks):
        return _Found(picks, search.worth(picks)[1], proved=True)
    return _Found(picks, max(bound, least), proved=False)


class _Written:
    """The programme for a group of colours.

    Attributes:
        columns: The columns of each colour's recipes.
        further: The column of each colour that stands for all recipes that are not offered.
    """

    def __init__(
        self, search: _Search, group: list[int], pairs: list[_Pair], *, may_break: bool
    ) -> None:
        self.programme = Programme()
        self._costs: list[Array] = []
        self._breaks: list[Array] = []
        self.columns: dict[int, Ints] = {}
        self.further: dict[int, int] = {}
        for place in group:
            offer = search.offers[place]
            own = self.columns[place] = self._column(offer.cost)
            if isfinite(offer.further):
                self.further[place] = int(self._column([offer.further])[0])
                own = np.append(own, self.further[place])
            self.programme.row(own, 1, 1, 1)
        for pair in pairs:
            self._keep(pair.relation, pair.conflict, 1.0 if may_break else None)
            if may_break and pair.relation.apart:
                far = delta_e(
                    search.lab(pair.relation.first)[:, None], search.lab(pair.relation.second)
                )
                for near in NEARER:
                    self._keep(pair.relation, far < near, 1 / len(NEARER))
        if search.max_passes is not None:
            self._limit_passes(search, search.max_passes)

    @property
    def costs(self) -> Array:
        """What each column costs."""
        return np.concatenate(self._costs)

    @property
    def breaks(self) -> Array:
        """How much each column breaks."""
        return np.concatenate(self._breaks)

    def _column(self, costs: npt.ArrayLike, breaks: float = 0.0) -> Ints:
        own = np.asarray(costs, dtype=np.float64)
        self._costs.append(own)
        self._breaks.append(np.full(len(own), breaks))
        return self.programme.columns(len(own))

    def _keep(self, relation: Relation, conflict: Mask, breaks: float | None) -> None:
        """Of what is in conflict only one may be taken; where breaking has a price, both may."""
        first, second = self.columns[relation.first], self.columns[relation.second]
        slack = [] if breaks is None else self._column([0.0], breaks).tolist()
        said = set()
        for one, other, table in ((first, second, conflict), (second, first, conflict.T)):
            for some, against in _blocks(table):
                taken = frozenset([*one[some].tolist(), *other[against].tolist()])
                if taken not in said:
                    said.add(taken)
                    factors = [1.0] * len(taken) + [-1.0] * len(slack)
                    self.programme.row([*sorted(taken), *slack], factors, upper=1)

    def _limit_passes(self, search: _Search, most: int) -> None:
        """No more tints of inks on the page than there may be."""
        takes = {place: search.brushes(search.offers[place].rows) for place in self.columns}
        laid = self._column(np.zeros(search.brushes([0]).shape[1]))
        self.programme.row(laid, 1, upper=most)
        for place, own in takes.items():
            for brush in np.flatnonzero(own.any(axis=0)):
                takers = self.columns[place][own[:, brush]]
                factors = [1.0] * len(takers) + [-1.0]
                self.programme.row([*takers, laid[brush]], factors, upper=0)

    def part(self, search: _Search, answer: Answer, *, exact: bool) -> _Part:
        """What an answer says."""
        offers = {place: search.offers[place] for place in self.columns}
        least = sum(float(offer.cost[0]) for offer in offers.values())
        picks = {place: int(offer.rows[0]) for place, offer in offers.items()}
        open_ = []
        if answer.values is not None:
            open_ = [p for p, column in self.further.items() if answer.values[column] > 0.5]
            for place in picks.keys() - set(open_):
                own = answer.values[self.columns[place]]
                picks[place] = int(offers[place].rows[np.argmax(own)])
        bound = max(answer.bound, least) if exact or not open_ else least
        return _Part(picks, open_, bound, answer.status == "optimal")


def _solved(search: _Search, group: list[int], pairs: list[_Pair]) -> _Part:
    """The answer for a group; where no choice keeps every relation, one that breaks the least."""
    written = _Written(search, group, pairs, may_break=False)
    answer = search.solve(written.programme, written.costs)
    if answer.status != "infeasible":
        return written.part(search, answer, exact=True)
    written = _Written(search, group, pairs, may_break=True)
    first = search.solve(written.programme, written.breaks)
    if first.status == "infeasible":
        raise _too_few(search.max_passes)
    if first.status == "stopped" or first.values is None:
        return written.part(search, replace(first, bound=-inf), exact=False)
    breaks = np.flatnonzero(written.breaks)
    most = float(written.breaks @ first.values)
    written.programme.row(breaks, written.breaks[breaks], upper=most)
    answer = search.solve(written.programme, written.costs)
    if answer.values is None:
        answer = replace(answer, values=first.values)
    return written.part(search, answer, exact=False)


def _blocks(conflict: Mask) -> Iterator[tuple[Ints, Ints]]:
    """Sets of rows and of columns of a table where all is true; every true cell is in one.

    For each row: the columns it has, and all the rows that have these too.
    """
    size = conflict.sum(axis=1)
    shared = conflict.astype(np.float32) @ conflict.T.astype(np.float32)
    for row in np.flatnonzero(size):
        yield np.flatnonzero(shared[row] == size[row]), np.flatnonzero(conflict[row])


def _too_few(most: int | None) -> UsageError:
    return UsageError(
        f"at most {most} passes are too few for the recipes that are locked or allowed; allow more"
    )
