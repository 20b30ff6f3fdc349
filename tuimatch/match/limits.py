"""Limits on which recipes may be offered: what they are, what is on, and which one to remove."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from tuimatch.palette.model import Palette, Triple
from tuimatch.text import percent

if TYPE_CHECKING:
    from tuimatch.colour.colorimetry import Array
    from tuimatch.recipe.recipes import Recipes

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Narrowing:
    """What a recipe must obey to be offered.

    Attributes:
        max_inks: Most inks; None for no limit.
        without: Positions of the inks that may not be used.
        fixed: Position and tint in percent of the inks whose layer is already down.
        max_coverage: Most total area coverage in percent; None for no limit.
        only: The recipes that may be offered, as tints in percent for every ink; None for all.
    """

    max_inks: int | None = None
    without: frozenset[int] = frozenset()
    fixed: frozenset[tuple[int, float]] = frozenset()
    max_coverage: float | None = None
    only: frozenset[tuple[float, ...]] | None = None


# The rounding error of a sum of tints is far smaller.
_SLACK = 1e-9


def obey(tints: Array, narrowing: Narrowing) -> Mask:
    """Which recipes obey, of a palette's own tints or of any, shape (N,).

    Args:
        tints: Percent for every ink in laying order, shape (N, k).
        narrowing: The limits; which recipes are in use is not looked at.
    """
    inks = tints.T
    mask = np.ones(len(tints), dtype=np.bool_)
    if narrowing.max_inks is not None:
        mask &= sum(ink != 0 for ink in inks) <= narrowing.max_inks
    for ink in narrowing.without:
        mask &= inks[ink] == 0
    for ink, tint in narrowing.fixed:
        mask &= inks[ink] == tint
    if narrowing.max_coverage is not None:
        mask &= sum(inks) <= narrowing.max_coverage + _SLACK
    return mask


def allowed(recipes: Recipes, narrowing: Narrowing) -> Mask:
    """Which recipes of a palette obey, shape (N,)."""
    mask = obey(recipes.tints, narrowing)
    if narrowing.only is not None:
        rows = [recipes.row_of(tints) for tints in narrowing.only]
        named = np.zeros(len(recipes), dtype=np.bool_)
        named[[row for row in rows if row is not None]] = True
        mask &= named
    return mask


def limits(palette: Palette, narrowing: Narrowing) -> list[tuple[str, Narrowing]]:
    """Every limit that is on, in words, with the narrowing that is left when it is removed."""
    found: list[tuple[str, Narrowing]] = []
    if narrowing.max_inks is not None:
        inks = "ink" if narrowing.max_inks == 1 else "inks"
        text = f"at most {narrowing.max_inks} {inks}"
        found.append((text, replace(narrowing, max_inks=None)))
    for ink in sorted(narrowing.without):
        rest = replace(narrowing, without=narrowing.without - {ink})
        found.append((f"without {palette.inks[ink].name}", rest))
    for ink, tint in sorted(narrowing.fixed):
        rest = replace(narrowing, fixed=narrowing.fixed - {(ink, tint)})
        own = palette.inks[ink]
        found.append((f"with {own.tint_words(tint)}" if tint else f"no {own.name} laid", rest))
    if narrowing.max_coverage is not None:
        most = 100 * len(palette.inks)
        text = f"coverage at most {percent(narrowing.max_coverage)} % of {most}"
        found.append((text, replace(narrowing, max_coverage=None)))
    if narrowing.only is not None:
        found.append(("only recipes in use", replace(narrowing, only=None)))
    return found


def in_words(palette: Palette, narrowing: Narrowing) -> str:
    """What is on, in one line; empty when nothing is."""
    return ", ".join(text for text, _ in limits(palette, narrowing))


@dataclass(frozen=True)
class Removal:
    """What removing one limit gives.

    Attributes:
        limit: The limit, in words.
        rest: The narrowing that is left.
        row: The nearest recipe it then allows.
        delta_e: Plain CIEDE2000 of that one.
    """

    limit: str
    rest: Narrowing
    row: int
    delta_e: float


def limit_to_remove(recipes: Recipes, narrowing: Narrowing, target: Triple) -> Removal | None:
    """The limit best removed where no recipe is left: the one that costs most.

    Args:
        recipes: The recipes of a palette.
        narrowing: Limits that leave no recipe.
        target: Lab of the wanted colour.

    Returns:
        None when no limit alone stands in the way.
    """
    from tuimatch.colour.ciede2000_bounds import promising
    from tuimatch.colour.colorimetry import delta_e

    found = []
    for limit, rest in limits(recipes.palette, narrowing):
        rows = np.flatnonzero(allowed(recipes, rest))
        if len(rows):
            rows = rows[promising(target, recipes.lab[rows], 1)]
            off = delta_e(target, recipes.lab[rows])
            found.append(Removal(limit, rest, int(rows[off.argmin()]), float(off.min())))
    return min(found, key=lambda removal: removal.delta_e, default=None)


# Rungs for the coverage key, percent, beside the palette's own limit. 220-240 is newspaper practice
# (WAN-IFRA recommends 220 %).
_COVERAGES = (300.0, 260.0, 240.0, 220.0, 200.0, 150.0)


def start(palette: Palette) -> Narrowing:
    """The limits a palette comes with."""
    return Narrowing(max_coverage=palette.coverage_limit)


def next_ink_count(narrowing: Narrowing, palette: Palette) -> Narrowing:
    """No limit, one ink, two inks … and round again."""
    count = (narrowing.max_inks or 0) + 1
    return replace(narrowing, max_inks=None if count >= len(palette.inks) else count)


def next_without(narrowing: Narrowing, palette: Palette) -> Narrowing:
    """No ink left out, the first, the second … and round again; an ink that is fixed stays in."""
    fixed = {ink for ink, _ in narrowing.fixed}
    cycle = [None, *(ink for ink in range(len(palette.inks)) if ink not in fixed)]
    current = min(narrowing.without) if narrowing.without else None
    following = cycle[(cycle.index(current) + 1) % len(cycle)] if current in cycle else None
    return replace(narrowing, without=frozenset() if following is None else frozenset({following}))


def fix_next(narrowing: Narrowing, tints: tuple[float, ...]) -> Narrowing:
    """The next ink in laying order is down, at the tint of a recipe; after the last, none is."""
    laid = len(narrowing.fixed)
    if laid >= len(tints):
        return replace(narrowing, fixed=frozenset())
    without = narrowing.without - {laid}  # that it is down at 0 % says the same
    return replace(narrowing, fixed=narrowing.fixed | {(laid, tints[laid])}, without=without)


def next_coverage(narrowing: Narrowing, palette: Palette) -> Narrowing:
    """The palette's own limit, then ever less, then none, and round again."""
    most = 100.0 * len(palette.inks)
    own = palette.coverage_limit
    rungs = [c for c in _COVERAGES if c < (own or most)]
    cycle = [own, *rungs, None] if own is not None else [None, *rungs]
    current = narrowing.max_coverage
    place = cycle.index(current) if current in cycle else -1
    return replace(narrowing, max_coverage=cycle[(place + 1) % len(cycle)])
