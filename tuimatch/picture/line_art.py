"""Which flat of a page looks like its line art: dark, thin, and between most of the others."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tuimatch.colour import target

if TYPE_CHECKING:
    from tuimatch.picture.flats import Flats

# Common practice, no source: L no more than that of a dark brown; lines of 5 mm on A4 at most,
# which leaves room for a few areas filled with the same ink; beside half of all flats.
_DARK, _THIN, _TOUCHED = 35.0, 1 / 60, 0.5


def likely(found: Flats) -> int | None:
    """The place of the darkest flat that may be line art; None where there is none.

    A line of breadth w and length l has w · l pixels and touches others along 2 · l, so w is twice
    its pixels over its border.
    """
    darkest = min(range(len(found.flats)), key=lambda i: _lightness(found, i))
    borders = [n.border for n in found.neighbours if darkest in (n.first, n.second)]
    others = len(found.flats) - 1
    longer = max(found.page.width, found.page.height)
    if (
        len(borders) < max(2, _TOUCHED * others)
        or _lightness(found, darkest) > _DARK
        or 2 * found.flats[darkest].pixels > _THIN * longer * sum(borders)
    ):
        return None
    return darkest


def _lightness(found: Flats, place: int) -> float:
    return target.parse(found.flats[place].colour).lab[0]
