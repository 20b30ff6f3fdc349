"""One key's step for each limit, so that a hand that draws can set it without typing."""

from __future__ import annotations

from dataclasses import replace

from tuimatch.match.limits import Narrowing
from tuimatch.palette.model import Palette

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
