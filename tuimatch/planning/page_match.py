"""All colours of a page matched together, so that what differs on it still differs in print.

Matched one by one, a light and its shade often get the same recipe. Here a recipe is chosen for
every colour at once. The total of √share · ΔE is least among the choices that keep the most
relations between neighbours:

- where the colours given differ by `APART` or more, their recipes differ by `APART` or more;
- where one colour given is lighter by `LIGHTER` or more, its recipe is lighter too.

It is an integer programme: a column for each colour and recipe, one recipe for each colour, and for
two neighbours no two recipes that break their relation. Said pair by pair that is slow. Where every
recipe of one set breaks the relation with every recipe of another, one row says that the neighbours
take one of them all at most.

Most recipes are far from a colour and never come into question. So the programme begins with the
few that are nearest to each, and with one column more that stands for all that are further: it
costs as little as the nearest of these and breaks no relation. Nothing costs less than the answer
to that programme, and where the answer takes none of these columns, it is the answer over all
recipes. Where it takes one, that colour gets more recipes, and the programme is solved again.

Colours whose recipes cannot get in each other's way are solved apart from each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite
from time import monotonic
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tuimatch.colour.ciede2000_bounds import promising
from tuimatch.colour.colorimetry import Array, delta_e
from tuimatch.errors import UsageError
from tuimatch.match.limits import Mask
from tuimatch.palette.model import Triple
from tuimatch.planning.integer_programme import TOLERANCE, Answer, Programme, Progress
from tuimatch.recipe.recipes import Recipes

Ints = npt.NDArray[np.intp]

# Neighbours that differ so far in CIEDE2000, or in L, are meant to be told apart.
APART, LIGHTER = 5.0, 2.0
SECONDS = 20.0

# What differs by less is the noise of the arithmetic.
_TIE = 1e-9
# Recipes of each colour to begin with, and at most.
_FIRST, _MOST = 16, 1024
# Where not every relation can be kept, two recipes nearer than one of these break it further; all
# of them together weigh as much as a relation broken.
_NEARER = (4.0, 3.0, 2.0, 1.0)
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
class Relation:
    """What is to stay between two colours of the page.

    Attributes:
        first: The place of one of them.
        second: The place of the other.
        apart: Whether their recipes must differ by `APART`.
        lighter: 1 where the first must be lighter, -1 where the second must, 0 for neither.
    """

    first: int
    second: int
    apart: bool
    lighter: int


def relations(wanted: Sequence[Wanted], neighbours: Iterable[tuple[int, int]]) -> list[Relation]:
    """What is to stay between neighbours; those that hardly differ have nothing to keep."""
    found = []
    for first, second in neighbours:
        one, other = wanted[first].given, wanted[second].given
        apart = bool(delta_e(one, other) >= APART)
        more = one[0] - other[0]
        lighter = int(np.sign(more)) if abs(more) >= LIGHTER else 0
        if apart or lighter:
            found.append(Relation(first, second, apart, lighter))
    return found


def broken(relation: Relation, first: Array, second: Array) -> Mask:
    """Which recipes break a relation, of Lab arrays that broadcast, last axis 3."""
    found = np.zeros(np.broadcast_shapes(first.shape, second.shape)[:-1], dtype=np.bool_)
    if relation.apart:
        found |= delta_e(first, second) < APART - _TIE
    if relation.lighter:
        found |= relation.lighter * (first[..., 0] - second[..., 0]) <= _TIE
    return found


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
        bound: No choice that keeps as many relations costs less.
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
        gap = max(self.cost - self.bound, 0) / max(self.cost, _TIE)
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
    offers = [_Offer(one, recipes, rows, tolerance) for one in wanted]
    alone = tuple(int(offer.rows[0]) for offer in offers)
    search = _Search(recipes, offers, tuple(kept), max_passes, monotonic() + seconds, watch)
    picks, bound, proved = search.run()
    lab, cost = recipes.lab[picks], search.cost(picks)
    aims = [one.aim for one in wanted]
    lost = (p for p, r in enumerate(kept) if broken(r, lab[r.first], lab[r.second]))
    return PageMatch(
        wanted=tuple(wanted),
        rows=tuple(picks),
        delta_e=tuple(delta_e(aims, lab).tolist()),
        alone=alone,
        alone_delta_e=tuple(delta_e(aims, recipes.lab[list(alone)]).tolist()),
        relations=tuple(kept),
        why_not={place: search.why_not(kept[place]) for place in lost},
        cost=cost,
        bound=min(bound, cost),
        proved=proved and cost - bound <= TOLERANCE * len(wanted),
    )


class _Offer:
    """What a colour may take: the nearest recipes, more of them as they are asked for.

    Attributes:
        rows: Rows of the recipes, the nearest first, shape (k,).
        cost: √share · ΔE of each, shape (k,).
        further: The least cost of those that are not among them; infinite where they are all.
        cut: Whether some that may be taken are left out for good, there being too many.
    """

    def __init__(
        self, wanted: Wanted, recipes: Recipes, allowed: Ints, tolerance: float | None
    ) -> None:
        self.wanted, self.weight = wanted, float(np.sqrt(wanted.share))
        self._recipes, self._tolerance = recipes, tolerance
        self.allowed = allowed if wanted.locked is None else np.array([wanted.locked])
        self.cut = False
        self.rows: Ints
        self.cost: Array
        self.further: float
        self._take(_FIRST)

    def more(self) -> None:
        """Offer twice as many."""
        if 2 * len(self.rows) > _MOST:
            self.cut, self.further = True, inf
        else:
            self._take(2 * len(self.rows))

    def _take(self, count: int) -> None:
        """Offer so many, or all that there are within the tolerance."""
        rows, far = self.nearest(count + 1)  # one more tells how far the next one is
        if self._tolerance is not None:
            within = far <= far[0] + self._tolerance + _TIE
            rows, far = rows[within], far[within]
        self.further = self.weight * float(far[count]) if len(far) > count else inf
        self.rows, self.cost = rows[:count], self.weight * far[:count]

    def nearest(self, count: int) -> tuple[Ints, Array]:
        """The nearest recipes that are allowed, as many or fewer, and their CIEDE2000."""
        lab = self._recipes.lab[self.allowed]
        some = promising(self.wanted.aim, lab, min(count, len(lab)))
        far = delta_e(self.wanted.aim, lab[some])
        order = np.argsort(far, kind="stable")[:count]
        return self.allowed[some[order]], far[order]


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
        bound: These colours cost no less.
        finished: Whether the programme was solved to its end.
    """

    picks: dict[int, int]
    open: list[int]
    bound: float
    finished: bool


class _Search:
    """The programmes, solved one after another until their answer is one over all recipes."""

    def __init__(
        self,
        recipes: Recipes,
        offers: list[_Offer],
        relations: tuple[Relation, ...],
        max_passes: int | None,
        deadline: float,
        watch: Watch | None,
    ) -> None:
        self.recipes, self.offers, self.relations = recipes, offers, relations
        self.max_passes, self._deadline, self._watch = max_passes, deadline, watch
        self._known: dict[tuple[tuple[int, int], ...], _Part] = {}
        self._state = State(len(offers), 0.0)

    def cost(self, picks: Sequence[int]) -> float:
        """The total of √share · ΔE."""
        aims = [offer.wanted.aim for offer in self.offers]
        weights = [offer.weight for offer in self.offers]
        return float(delta_e(aims, self.recipes.lab[picks]) @ weights)

    def run(self) -> tuple[list[int], float, bool]:
        """The row of each colour's recipe, the bound, and whether it is the best of all."""
        picks = [int(offer.rows[0]) for offer in self.offers]
        bound = self.cost(picks)
        while True:
            self._state = State(self._state.open, bound)
            parts = [self._part(group, pairs) for group, pairs in self._groups()]
            for part in parts:
                for place, row in part.picks.items():
                    picks[place] = row
            bound = max(bound, sum(part.bound for part in parts))
            wanting = [place for part in parts for place in part.open]
            if not all(part.finished for part in parts):
                return self._mended(picks), bound, False
            if not wanting:
                return picks, bound, not any(offer.cut for offer in self.offers)
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
            return "no allowed recipe keeps it" if locked else "no two allowed recipes keep it"
        return "only if another or the limits are broken"

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

    def solve(self, programme: Programme, costs: Array) -> Answer:
        """The least cost of a programme, while there is time and the caller has not stopped it."""
        look, state = self._watch, self._state

        def go_on(_: Progress) -> bool:
            return look is None or look(state)

        if look is not None and not look(state):
            return Answer("stopped", None, -inf)
        return programme.least(costs, deadline=self._deadline, watch=look and go_on)

    def brushes(self, rows: Sequence[int] | Ints) -> Mask:
        """Which tints of inks recipes take, shape (n, tints of all inks)."""
        steps = self.recipes.steps[np.asarray(rows)]
        inks = self.recipes.palette.inks
        return np.concatenate(
            [steps[:, [i]] == np.arange(1, len(ink.steps)) for i, ink in enumerate(inks)], axis=1
        )

    def _mended(self, picks: list[int]) -> list[int]:
        """A choice bettered one colour at a time, with no more passes than there may be."""
        some = None if self.max_passes is not None else _MENDED_FROM
        offered = [offer.nearest(some or len(offer.allowed)) for offer in self.offers]
        if self.max_passes is not None:
            laid = self._few_brushes(picks, offered, self.max_passes)
            within = [~(self.brushes(own) & ~laid).any(axis=1) for own, _ in offered]
            offered = [(own[ok], far[ok]) for (own, far), ok in zip(offered, within, strict=True)]
            picks = [int(own[0]) for own, _ in offered]
        lab = self.recipes.lab
        for _ in range(_SWEEPS):
            before = list(picks)
            for place, (rows, far) in enumerate(offered):
                lost = np.zeros(len(rows))
                for relation in self.relations:
                    if relation.first == place:
                        lost += broken(relation, lab[rows], lab[picks[relation.second]])
                    elif relation.second == place:
                        lost += broken(relation, lab[picks[relation.first]], lab[rows])
                picks[place] = int(rows[np.lexsort((far, lost))[0]])
            if picks == before:
                break
        return picks

    def _few_brushes(
        self, picks: list[int], offered: list[tuple[Ints, Array]], most: int
    ) -> npt.NDArray[np.bool_]:
        """At most so many tints of inks, given up one by one, each time the one missed least."""
        takes = [self.brushes(own) for own, _ in offered]
        laid: Mask = np.asarray(self.brushes(picks).any(axis=0))
        while laid.sum() > most:
            within = [~(own & ~laid).any(axis=1) for own in takes]
            losses = {}
            for brush in np.flatnonzero(laid).tolist():
                without = [ok & ~own[:, brush] for ok, own in zip(within, takes, strict=True)]
                if all(ok.any() for ok in without):
                    losses[brush] = sum(
                        offer.weight * float(far[np.argmax(ok)])  # the first one is the nearest
                        for offer, (_, far), ok in zip(self.offers, offered, without, strict=True)
                    )
            if not losses:
                raise _too_few(most)
            laid[min(losses, key=losses.__getitem__)] = False
        return laid


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
                for near in _NEARER:
                    self._keep(pair.relation, far < near, 1 / len(_NEARER))
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
        """Of what is in conflict one may be taken; where breaking it counts something, both may."""
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
