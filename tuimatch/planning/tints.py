"""Which brush to make next: the one more tint that brings a project's areas nearest.

Every tint in steps of 1 % of every ink is tried with every recipe of the other inks. An area counts
with CIEDE2000 from its wanted colour, as it was meant on the paper, to the nearest recipe within
its palette's coverage limit: on the ladder as it is, and with the tint added. And the other way
round: what the areas that use a tint would lose if it were given up.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuimatch.colour.ciede2000_bounds import promising, within
from tuimatch.colour.colorimetry import Array, delta_e
from tuimatch.match.limits import allowed, obey, start
from tuimatch.match.one_more_tint import in_parts
from tuimatch.planning.areas import Area, Brush, checked
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.text import percent, printable

BEST = 5
# A gain or loss of an area below this is not mentioned.
_TOLD = 0.05


@dataclass(frozen=True)
class Moved:
    """What a tint does to one area: CIEDE2000 of the best recipe without it and with it."""

    area: Area
    without: float
    with_it: float

    @property
    def by(self) -> float:
        """How much nearer the area comes with it."""
        return self.without - self.with_it


@dataclass(frozen=True)
class OneMore:
    """A tint that could be made.

    Attributes:
        brush: The palette, the ink and the tint.
        total: Sum of CIEDE2000 over all areas with it.
        gains: The areas that come nearer, the most first.
    """

    brush: Brush
    total: float
    gains: tuple[Moved, ...]


@dataclass(frozen=True)
class InUse:
    """A tint that the ladder has.

    Attributes:
        uses: How many areas have it in their recipe.
        losses: Those of them that another recipe would serve worse, the most first.
    """

    brush: Brush
    label: str | None
    uses: int
    losses: tuple[Moved, ...]

    @property
    def cost(self) -> float:
        """How much CIEDE2000 its loss would cost over all areas."""
        return sum(loss.by for loss in self.losses)


@dataclass(frozen=True)
class Tints:
    """The answer for a project or a page.

    Attributes:
        areas: How many areas there are.
        total: Sum of CIEDE2000 of the nearest recipes as the ladders are now.
        best: The tints worth making, the best first, `BEST` at most; of each gap between two tints
            of a ladder the best one only.
        in_use: The tints of the ladders, least used first.
    """

    areas: int
    total: float
    best: tuple[OneMore, ...]
    in_use: tuple[InUse, ...]

    @property
    def several(self) -> bool:
        """Whether the areas are of several palettes."""
        return len({one.brush.palette for one in self.in_use}) > 1

    def in_words(self) -> str:
        """The areas as they are now, and whether one more tint would help, in one line."""
        if not self.areas:
            return "no areas yet: take a recipe first"
        areas = "1 area" if self.areas == 1 else f"{self.areas} areas"
        helps = "with one more tint:" if self.best else "no other tint would bring them nearer"
        return f"{areas}, total ΔE {self.total:.1f} to the nearest recipes; {helps}"

    def as_json(self) -> dict[str, Any]:
        """The answer as the command line prints it, nothing rounded."""
        return {
            "areas": self.areas,
            "total": self.total,
            "best": [
                {
                    **_brush_json(one.brush),
                    "total": one.total,
                    "gains": [_moved_json(gain) for gain in one.gains],
                }
                for one in self.best
            ],
            "in_use": [
                {
                    **_brush_json(one.brush),
                    "label": one.label,
                    "uses": one.uses,
                    "cost": one.cost,
                    "losses": [_moved_json(loss) for loss in one.losses],
                }
                for one in self.in_use
            ],
        }


def tints(areas: Sequence[Area], tables: dict[str, Recipes] | None = None) -> Tints:
    """Answer for some areas, each on its own palette.

    Args:
        areas: What is to be painted.
        tables: The recipes mixed so far, by the palette's digest; those lacking are added.

    Raises:
        UsageError: Two areas have the same key, or a recipe is not one of its palette.
    """
    tables = {} if tables is None else tables
    by_palette: dict[str, list[Area]] = {}
    for area in checked(tuple(areas)):
        by_palette.setdefault(area.palette.digest, []).append(area)
    total = 0.0
    best: list[tuple[float, OneMore]] = []
    in_use: list[InUse] = []
    for digest, own in by_palette.items():
        if digest not in tables:
            tables[digest] = mix(own[0].palette)
        recipes = tables[digest]
        now = _nearest_now(recipes, own)
        total += sum(now)
        best += _one_more(recipes, own, now)
        in_use += _in_use(recipes, own)
    best.sort(key=lambda found: -found[0])
    told = tuple(OneMore(one.brush, total - gained, one.gains) for gained, one in best[:BEST])
    in_use.sort(key=lambda one: (one.uses, one.cost))
    return Tints(len(areas), total, told, tuple(in_use))


def _nearest_now(recipes: Recipes, areas: Sequence[Area]) -> list[float]:
    lab = recipes.lab[allowed(recipes, start(recipes.palette))]
    return [_least(area, lab) for area in areas]


def _least(area: Area, lab: Array) -> float:
    rows = promising(area.target, lab, 1)
    return float(delta_e(area.target, lab[rows]).min())


def _one_more(
    recipes: Recipes, areas: Sequence[Area], now: Sequence[float]
) -> list[tuple[float, OneMore]]:
    """What the best tint in each gap of the ladders would gain, the best first, `BEST` at most."""
    palette, limits = recipes.palette, start(recipes.palette)
    found: list[tuple[float, int, float, Array]] = []
    for part in in_parts(recipes):
        rows = np.flatnonzero(obey(part.tints, limits))
        lab, tint = part.lab[rows], part.tint[rows]
        every = np.unique(part.tint)
        with_it = np.repeat(np.array(now)[:, None], len(every), axis=1)
        for place, area in enumerate(areas):
            near = within(area.target, lab, now[place])
            columns = np.searchsorted(every, tint[near])
            np.minimum.at(with_it[place], columns, delta_e(area.target, lab[near]))
        gained = (np.array(now)[:, None] - with_it).sum(axis=0)
        found += [
            (float(gained[i]), part.ink, float(every[i]), with_it[:, i]) for i in range(len(every))
        ]
    found.sort(key=lambda one: (-one[0], one[1], one[2]))
    # Of each gap of a ladder the best alone: its neighbours would make much the same brush.
    firsts: dict[tuple[int, int], tuple[float, int, float, Array]] = {}
    for one in found:
        firsts.setdefault((one[1], bisect(palette.inks[one[1]].tints, one[2])), one)
    return [
        (gained, OneMore(Brush(palette.stem, palette.inks[ink].name, tint), 0.0, gains))
        for gained, ink, tint, with_it in list(firsts.values())[:BEST]
        if gained >= _TOLD
        for gains in [_most_first(map(Moved, areas, now, with_it.tolist()))]
    ]


def _in_use(recipes: Recipes, areas: Sequence[Area]) -> list[InUse]:
    """Each tint of the ladders: who uses it, and what they would lose."""
    palette, mask = recipes.palette, allowed(recipes, start(recipes.palette))
    found = []
    for position, ink in enumerate(palette.inks):
        for tint in ink.tints:
            users = [area for area in areas if area.tints[position] == tint]
            lab = recipes.lab[mask & (recipes.tints[:, position] != tint)]
            moved = [Moved(area, _least(area, lab), _own(recipes, area)) for area in users]
            brush = Brush(palette.stem, ink.name, tint)
            found.append(InUse(brush, ink.label(tint), len(users), _most_first(moved)))
    return found


def _own(recipes: Recipes, area: Area) -> float:
    """CIEDE2000 of the recipe that an area has."""
    return float(delta_e(area.target, recipes.lab[recipes.row_of(area.tints)]))


def _most_first(moved: Iterable[Moved]) -> tuple[Moved, ...]:
    told = [one for one in moved if one.by >= _TOLD]
    return tuple(sorted(told, key=lambda one: -one.by))


def brush_in_words(brush: Brush, *, several: bool) -> str:
    """``magenta 40 %``, with the palette where areas are of several."""
    of = f" ({printable(brush.palette)})" if several else ""
    return f"{printable(brush.ink)} {percent(brush.tint)} %{of}"


def moved_in_words(moved: Sequence[Moved], most: int = 3, *, with_page: bool = True) -> str:
    """The areas that gain or lose most: ``lamp glass 5.3 → 1.9, gull 4.0 → 2.2 and 4 more``.

    Args:
        moved: Areas, the most first.
        most: How many to name.
        with_page: Whether areas of several pages stand together.
    """
    named = [
        f"{printable(one.area.name_with_page if with_page else one.area.name_in_words)} "
        f"{one.without:.1f} → {one.with_it:.1f}"
        for one in moved[:most]
    ]
    more = f" and {len(moved) - most} more" if len(moved) > most else ""
    return ", ".join(named) + more


def _brush_json(brush: Brush) -> dict[str, Any]:
    return {"palette": brush.palette, "ink": brush.ink, "tint": brush.tint}


def _moved_json(moved: Moved) -> dict[str, Any]:
    return {
        "id": moved.area.key,
        "name": moved.area.name,
        "page": moved.area.page,
        "without": moved.without,
        "with": moved.with_it,
    }
