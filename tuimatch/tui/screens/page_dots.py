"""A page made small enough for a screen: the picture of its flats, or a square for each colour.

A dot is a pixel of the screen, half a cell of the terminal.
"""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tuimatch.picture.flats import RGB, Flats
    from tuimatch.planning.page import Colour

# What lies between the squares; a place that no flat has.
_GROUND, _BETWEEN = (43, 43, 43), 255
# A square is a little broader than high, so that its name has room.
_BROADER = 1.6
# The least square that leaves room for a gap beside it, and for a name on it.
_GAP_FROM, _NAME_FROM = 4, 5


class Name(NamedTuple):
    """A line of what stands on a square.

    Attributes:
        text: Of a label, or a colour.
        left: The column of its first cell.
        line: The line of cells it stands in.
        room: Cells that it may take.
    """

    text: str
    left: int
    line: int
    room: int


class Dots(NamedTuple):
    """A page made small.

    Attributes:
        given: 8-bit sRGB as it is, shape (rows, columns, 3).
        printed: The same as it will come out.
        places: The place of the flat in the middle of each dot, shape (rows, columns).
        names: What stands on squares; a picture has none.
    """

    given: npt.NDArray[np.uint8]
    printed: npt.NDArray[np.uint8]
    places: npt.NDArray[np.uint8]
    names: tuple[Name, ...] = ()


def of_flats(small: Flats, printed: Sequence[RGB], columns: int, rows: int) -> Dots:
    """A picture in dots, as large as the columns and rows allow.

    Args:
        small: Its flats.
        printed: What each of them comes out as.
        columns: The most dots across.
        rows: The most dots down.
    """
    given = small.page.view(columns, rows)
    painted = replace(small.page, pixels=small.painted(printed)).view(columns, rows)
    x = (given.x[:-1] + given.x[1:]) // 2
    y = (given.y[:-1] + given.y[1:]) // 2
    places = np.array(small.map[y[:, None], x])
    _point_at_tiny_ones(places, small)
    return Dots(given.pixels, painted.pixels, places)


def _point_at_tiny_ones(places: npt.NDArray[np.uint8], small: Flats) -> None:
    """A flat that is in the middle of no dot gets the one it lies in, so that it is found."""
    rows, columns = places.shape
    height, width = small.map.shape
    seen = set(places.reshape(-1).tolist())
    for place, flat in enumerate(small.flats):
        if place not in seen:
            x, y = flat.place
            places[y * rows // height, x * columns // width] = place


def of_list(colours: Sequence[Colour], printed: Sequence[RGB], columns: int, rows: int) -> Dots:
    """A square for each colour of a list, line by line, each with its name where there is room.

    Args:
        colours: The list.
        printed: What each of them comes out as.
        columns: Dots across.
        rows: Dots down, an even number.
    """
    across = max(
        range(1, min(len(colours), columns) + 1),
        key=lambda across: _size(len(colours), across, columns, rows),
    )
    width, height = _square(len(colours), across, columns, rows)
    free_x, free_y = (1, 2) if min(width, height) >= _GAP_FROM else (0, 0)
    places = np.full((rows, columns), _BETWEEN, dtype=np.uint8)
    names = []
    for place, colour in enumerate(colours):
        top, left = place // across * height, place % across * width
        places[top : top + height - free_y, left : left + width - free_x] = place
        room, lines = width - free_x - 1, max((height - free_y) // 2 - 1, 1)
        if room >= _NAME_FROM and top + height <= rows:
            parts = textwrap.wrap(colour.name, room, max_lines=lines, placeholder="…")
            names += [Name(text, left + 1, top // 2 + n, room) for n, text in enumerate(parts)]
    given, painted = np.full((2, 256, 3), _GROUND, dtype=np.uint8)
    given[: len(colours)] = [colour.given.srgb for colour in colours]
    painted[: len(colours)] = printed
    return Dots(given[places], painted[places], places, tuple(names))


def _square(count: int, across: int, columns: int, rows: int) -> tuple[int, int]:
    """Dots of a square, gap included, with so many side by side: whole cells if possible."""
    high = rows // -(-count // across)
    return columns // across, high if high < 2 else high // 2 * 2


def _size(count: int, across: int, columns: int, rows: int) -> float:
    width, height = _square(count, across, columns, rows)
    return min(width / _BROADER, height)
