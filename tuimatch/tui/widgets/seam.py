"""The large seam: target and candidate touch, so that the edge one sees is the difference.

The candidate is a colour, or a picture with two pixels in each cell.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

import rich.style
from rich.color import Color
from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.tui.widgets.paint import RGB, block

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# A colour, or what draws one of so many pixels: width and height, to shape (height, width, 3).
Shown = RGB | Callable[[int, int], "npt.NDArray[np.uint8]"]


class Seam(Widget):
    """Target on the left, candidate on the right, no line between.

    Attributes:
        given: The colour as it was given, where the target was adapted to the paper: a small field
            in the corner of the target.
    """

    ALLOW_SELECT = False
    DEFAULT_CSS = "Seam { width: 1fr; height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.given: RGB | None = None
        self._target: RGB | None = None
        self._candidate: Shown | None = None
        self._strips: list[Strip] = []

    def show(self, target: RGB | None, candidate: Shown | None) -> None:
        """Show a colour and what stands beside it; None leaves that half empty."""
        self._target, self._candidate, self._strips = target, candidate, []
        self.refresh()

    def on_resize(self) -> None:
        """The picture fills what there is."""
        self._strips = []

    def render_line(self, y: int) -> Strip:
        """One row of cells; the whole picture is made with the first of them."""
        self._strips = self._strips or self._picture()
        return self._strips[y] if y < len(self._strips) else Strip.blank(self.size.width)

    def _picture(self) -> list[Strip]:
        width, height = self.size
        left = width // 2
        if callable(self._candidate):
            rows = half_block_rows(self._candidate(width - left, 2 * height))
        else:
            rows = [[self._half(self._candidate, width - left)]] * height
        whole, corner = [self._half(self._target, left)], self._with_given(left)
        first = height - max(1, height // 4)
        return [
            Strip([*(corner if y >= first else whole), *row], width) for y, row in enumerate(rows)
        ]

    def _with_given(self, width: int) -> list[Segment]:
        """The target's half where the colour as given stands in its corner."""
        if self.given is None:
            return [self._half(self._target, width)]
        small = max(2, width // 5)
        return [block(self.given, small), self._half(self._target, width - small)]

    def _half(self, rgb: RGB | None, width: int) -> Segment:
        return Segment(" " * width, self.rich_style) if rgb is None else block(rgb, width)


def half_block_rows(picture: npt.NDArray[np.uint8]) -> list[list[Segment]]:
    """A picture (2 · rows, columns, 3) as rows of half blocks, equal neighbours joined."""
    import numpy as np

    wide = picture.astype(np.int64)
    codes = wide[..., 0] << 16 | wide[..., 1] << 8 | wide[..., 2]
    pairs = codes[0::2] << 24 | codes[1::2]
    rows = []
    for row in pairs:
        starts = np.flatnonzero(np.diff(row, prepend=-1))
        lengths = np.diff(starts, append=len(row))
        runs = zip(row[starts].tolist(), lengths.tolist(), strict=True)
        rows.append([_run(code, length) for code, length in runs])
    return rows


def _run(code: int, length: int) -> Segment:
    """Cells of one pair of pixels; two equal ones are a plain ground, half as long to send."""
    alike = code >> 24 == code & 0xFFFFFF
    return Segment((" " if alike else "▀") * length, _pair(code))


@lru_cache(maxsize=16384)  # a style that was drawn once keeps its escape codes
def _pair(code: int) -> rich.style.Style:
    """Two pixels in one cell, 24 bits each: the upper half block takes the foreground."""
    top, bottom = code >> 24, code & 0xFFFFFF
    return rich.style.Style(color=None if top == bottom else _colour(top), bgcolor=_colour(bottom))


def _colour(code: int) -> Color:
    return Color.from_rgb(code >> 16, code >> 8 & 255, code & 255)
