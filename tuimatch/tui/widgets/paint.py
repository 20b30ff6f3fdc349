"""Exact colours as Rich styles, shared by every widget that shows a colour."""

from __future__ import annotations

from functools import lru_cache

from rich.color import Color
from rich.segment import Segment
from rich.style import Style

from tuimatch.recipe.lettering import contrast_ratio

RGB = tuple[int, int, int]


@lru_cache(maxsize=4096)
def ground(rgb: RGB) -> Style:
    """A background of exactly this colour."""
    return Style(bgcolor=Color.from_rgb(*rgb))


def block(rgb: RGB, width: int) -> Segment:
    """A run of cells of exactly this colour."""
    return Segment(" " * width, ground(rgb))


@lru_cache(maxsize=4096)
def _upper(rgb: RGB) -> Style:
    return Style(color=Color.from_rgb(*rgb))


@lru_cache(maxsize=4096)
def lettered(rgb: RGB) -> Style:
    """Black or white letters on exactly this colour, whichever stand out from it more."""
    black, white = (contrast_ratio(rgb, ink) for ink in ((0, 0, 0), (255, 255, 255)))
    return Style(color="#000000" if black > white else "#ffffff", bgcolor=Color.from_rgb(*rgb))


def half_block(rgb: RGB, width: int) -> Segment:
    """Such a run in the upper half of a line; below it is the ground."""
    return Segment("▀" * width, _upper(rgb))


def beside(canvas: RGB | None, print_: RGB, width: int) -> list[Segment]:
    """A colour on the canvas with a third of it as in print; print alone where both are one."""
    if canvas is None:
        return [block(print_, width)]
    return [block(canvas, width - width // 3), block(print_, width // 3)]
