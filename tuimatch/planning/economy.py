"""Fewer passes for a little more ΔE: recipes for all areas at once.

Each area may take the recipes that are allowed, including the one it has now, and whose ΔE exceeds
the least among them by no more than the area's tolerance; the one it has now may always stay,
however far it is. So there is always an answer, and it never takes more passes than now. An area
that is begun on the page can be told to stay as it is.

Areas that are told apart now stay so: two areas with different labels whose recipes are predicted
`ciede2000_bounds.CLOSE` or further from each other must be so afterwards. An area without a label
counts as different from every other, since nothing says that it may look like one.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from math import isfinite
from time import monotonic

import numpy as np

from tuimatch.colour.colorimetry import delta_e
from tuimatch.errors import UsageError
from tuimatch.log.area import folded_label
from tuimatch.match.limits import Mask
from tuimatch.planning.areas import Area, Brush, checked
from tuimatch.planning.economy_problem import (
    MOST_AREAS,
    SAME_TOTAL,
    TIE,
    Array,
    Ints,
    Problem,
    close_pairs,
)
from tuimatch.planning.economy_search import search
from tuimatch.planning.passes import Plan, plan
from tuimatch.recipe.recipes import Recipes

ALLOWANCE = 1.0
SECONDS = 20.0

# A rise of the average ΔE that cannot be seen.
_NEARLY = 0.1

# Columns for all areas together; beyond it the furthest of what each may take are left out.
_MOST_OFFERED = 200_000


@dataclass(frozen=True)
class Change:
    """One area before and after.

    Attributes:
        area: The area with its recipe before.
        delta_e_before: CIEDE2000 of that recipe from the target.
        tints: The recipe after; the same where the area is left alone.
        delta_e_after: CIEDE2000 of the recipe after.
    """

    area: Area
    delta_e_before: float
    tints: tuple[float, ...]
    delta_e_after: float

    @property
    def changed(self) -> bool:
        """Whether the recipe is another one."""
        return self.tints != self.area.tints

    @property
    def after(self) -> Area:
        """The area with its recipe after."""
        return replace(self.area, tints=self.tints)


@dataclass(frozen=True)
class Economy:
    """What is saved, area by area, and how good the answer is known to be.

    Attributes:
        changes: One for each area, in the order given.
        before: The plan with the recipes before.
        after: The plan with the recipes after.
        fewest: Proved: it cannot be done with fewer passes than this.
        least: Proved: as many passes as `after` has cannot be reached with less total ΔE.
    """

    changes: tuple[Change, ...]
    before: Plan
    after: Plan
    fewest: int
    least: float

    @property
    def total_before(self) -> float:
        """The sum of ΔE before."""
        return sum(change.delta_e_before for change in self.changes)

    @property
    def total_after(self) -> float:
        """The sum of ΔE after."""
        return sum(change.delta_e_after for change in self.changes)

    @property
    def saved(self) -> int:
        """How many passes are saved."""
        return self.before.by_passes - self.after.by_passes

    @property
    def further(self) -> float:
        """How much further from its target an area is after, on average; negative if nearer."""
        return (self.total_after - self.total_before) / max(len(self.changes), 1)

    @property
    def gap(self) -> tuple[int, float]:
        """How many passes, and how much total ΔE at this number of passes, might still be saved."""
        return self.after.by_passes - self.fewest, max(0.0, self.total_after - self.least)

    @property
    def optimal(self) -> bool:
        """Whether nothing can be saved any more: the search was not stopped early."""
        passes, total = self.gap
        return passes == 0 and total <= 2 * SAME_TOTAL

    @property
    def worth_taking(self) -> Economy:
        """The same; where it saves no pass every area keeps the recipe it has now.

        Fewer passes are what is asked for. Which recipe is the best for one area is the artist's
        choice, who may have had reasons for one that is a little further.
        """
        if self.saved or not self.changes:
            return self
        stay = tuple(
            replace(one, tints=one.area.tints, delta_e_after=one.delta_e_before)
            for one in self.changes
        )
        return replace(self, changes=stay, after=self.before, least=self.total_before)

    def in_words(self) -> str:
        """What is saved, and what it costs."""
        passes = "pass" if self.after.by_passes == 1 else "passes"
        further = round(self.further, 2)
        far = f"on average ΔE {abs(further):.2f} {'further' if further > 0 else 'nearer'}"
        if not further:
            far = "as near as before"
        elif 0 < further < _NEARLY:
            far = f"nearly as near: {far}"
        if not self.saved:
            return f"nothing to save at this step: {self.after.by_passes} {passes}, {far}"
        return f"{self.before.by_passes} → {self.after.by_passes} {passes}, {far}"

    def in_short(self) -> str:
        """The same for a narrow pane."""
        far = f"ΔE {self.further:+.2f} each" if round(self.further, 2) else "as near"
        if not self.saved:
            return f"nothing to save: {self.after.by_passes} passes"
        return f"{self.before.by_passes} → {self.after.by_passes} passes, {far}"

    def certainty(self) -> str:
        """Whether more could be saved, in words."""
        if self.optimal:
            return "proved: no other choice saves more"
        passes, total = self.gap
        left = []
        if passes:
            left.append(f"{passes} {'pass' if passes == 1 else 'passes'} fewer")
        if total > 2 * SAME_TOTAL:
            left.append(f"ΔE {total:.1f} less with the same number")
        many = "; too many areas to search completely, plan one page"
        return (
            f"stopped early: perhaps {', or '.join(left)}{many * (len(self.changes) > MOST_AREAS)}"
        )


def economise(
    areas: Iterable[Area],
    tables: Mapping[str, Recipes],
    *,
    allowance: float = ALLOWANCE,
    allowances: Mapping[int, float] | None = None,
    allowed: Mapping[str, Mask] | None = None,
    stay: Collection[int] = (),
    seconds: float = SECONDS,
    go_on: Callable[[], bool] = lambda: True,
) -> Economy:
    """Choose recipes with the fewest passes and, among those, the least total ΔE.

    Args:
        areas: With the recipes they have now.
        tables: The recipes of each area's palette, by the palette's digest.
        allowance: How much extra ΔE an area accepts over its nearest allowed recipe.
        allowances: The same for single areas, by key.
        allowed: Which recipes may be offered, by the palette's digest, shape (N,); all of a
            palette that is not named.
        stay: The areas that keep their recipe, by key.
        seconds: When to stop with the best answer so far; about, as a step is not interrupted. No
            step is long: what would be too much to write down is not searched exactly.
        go_on: Asked again and again whether to go on; once it says no, the best so far is given.

    Raises:
        UsageError: An allowance is not a ΔE or is for no area, two areas have the same key, or a
            recipe is not one of its palette.
    """
    deadline = monotonic() + seconds
    given = checked(tuple(areas))
    tolerances = _allowances(given, allowance, allowances or {})
    before = plan(given)
    if not given:
        return Economy((), before, before, 0, 0.0)
    most = max(_MOST_OFFERED // len(given), 1)
    offers = [
        _offer(
            area,
            tables[area.palette.digest],
            extra,
            (allowed or {}).get(area.palette.digest),
            stays=area.key in stay,
            most=most if monotonic() < deadline else 0,
        )
        for area, extra in zip(given, tolerances, strict=True)
    ]
    found = search(_problem(given, tables, offers, deadline, go_on))
    changes = tuple(
        _change(area, tables[area.palette.digest], offer, pick)
        for area, offer, pick in zip(given, offers, found.picks, strict=True)
    )
    after = plan(change.after for change in changes)
    return Economy(changes, before, after, found.fewest, found.least)


@dataclass(frozen=True, eq=False)
class _Offer:
    """What an area may take: rows of its palette's recipes, their ΔE, where its present one is.

    Whole if that is all it may take. It may take nothing nearer than `nearest`.
    """

    rows: Ints
    delta_e: Array
    present: int
    nearest: float
    whole: bool


def _allowances(
    areas: tuple[Area, ...], allowance: float, single: Mapping[int, float]
) -> list[float]:
    for key in single.keys() - {area.key for area in areas}:
        raise UsageError(f"tolerance for area {key}: there is no such area")
    for value in (allowance, *single.values()):
        if not (isfinite(value) and value >= 0):
            raise UsageError(f"tolerance {value:g}: give a ΔE of 0 or more")
    return [single.get(area.key, allowance) for area in areas]


def _offer(
    area: Area, recipes: Recipes, extra: float, allowed: Mask | None, *, stays: bool, most: int
) -> _Offer:
    """What an area may take: its present recipe alone, or that and at most so many others."""
    present = recipes.row_of(area.tints)
    assert present is not None  # The areas are checked.
    if stays or not most:
        own = delta_e(area.target, recipes.lab[present : present + 1])
        return _Offer(np.array([present]), own, 0, float(own[0]) if stays else 0.0, whole=stays)
    distance = delta_e(area.target, recipes.lab)
    within = np.ones(len(recipes), dtype=np.bool_) if allowed is None else allowed.copy()
    within[present] = True
    nearest = float(distance[within].min())
    within &= distance <= nearest + extra + TIE
    within[present] = False
    others = np.flatnonzero(within)
    some = others[np.argsort(distance[others], kind="stable")[:most]]
    rows = np.sort(np.append(some, present))
    place = int(np.searchsorted(rows, present))
    return _Offer(rows, distance[rows], place, nearest, whole=len(some) == len(others))


def _problem(
    areas: tuple[Area, ...],
    tables: Mapping[str, Recipes],
    offers: list[_Offer],
    deadline: float,
    go_on: Callable[[], bool],
) -> Problem:
    """Number the offered recipes of all palettes in one sequence, and the brushes in another."""
    colours: list[Ints] = [np.empty(0, dtype=np.intp)] * len(areas)
    labs: list[Array] = []
    takers: dict[Brush, list[Ints]] = {}
    count = 0
    for digest in dict.fromkeys(area.palette.digest for area in areas):
        members = [i for i, area in enumerate(areas) if area.palette.digest == digest]
        recipes = tables[digest]
        rows = np.unique(np.concatenate([offers[i].rows for i in members]))
        for i in members:
            colours[i] = count + np.searchsorted(rows, offers[i].rows)
        labs.append(recipes.lab[rows])
        palette = areas[members[0]].palette
        for ink, steps in zip(palette.inks, recipes.steps[rows].T, strict=True):
            for step, tint in enumerate(ink.tints, start=1):
                own = count + np.flatnonzero(steps == step)
                if len(own):
                    takers.setdefault(Brush(palette.stem, ink.name, tint), []).append(own)
        count += len(rows)
    uses = np.zeros((count, len(takers)), dtype=np.bool_)
    for place, brush in enumerate(sorted(takers)):
        uses[np.concatenate(takers[brush]), place] = True
    lab = np.concatenate(labs)
    present = tuple(offer.present for offer in offers)
    taken = [own[pick] for own, pick in zip(colours, present, strict=True)]
    now, now_of = np.unique(taken, return_inverse=True)
    names = [f"= {folded_label(area.label)}" if area.label else f"{area.key}" for area in areas]
    return Problem(
        colours=tuple(colours),
        costs=tuple(offer.delta_e for offer in offers),
        present=present,
        uses=uses,
        labs=lab,
        labels=np.unique(names, return_inverse=True)[1],
        now=now_of,
        alike=close_pairs(lab[now]),
        nearest=sum(offer.nearest for offer in offers),
        whole=all(offer.whole for offer in offers),
        deadline=deadline,
        go_on=go_on,
    )


def _change(area: Area, recipes: Recipes, offer: _Offer, pick: int) -> Change:
    return Change(
        area=area,
        delta_e_before=float(offer.delta_e[offer.present]),
        tints=recipes.tints_of(int(offer.rows[pick])),
        delta_e_after=float(offer.delta_e[pick]),
    )
