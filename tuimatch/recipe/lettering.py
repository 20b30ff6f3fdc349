"""How well lettering reads on a colour: the contrast ratio of WCAG 2.2.

The formula is one for screens. For print it says which of two letterings reads better, and roughly
how well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tuimatch.recipe.recipes import Recipes

Rgb = tuple[int, int, int]

# WCAG 2.2, success criteria 1.4.3 and 1.4.6. Large is from 18 points, or from 14 in bold.
ENHANCED = 7.0
ENOUGH = 4.5
ENOUGH_IF_LARGE = 3.0


@dataclass(frozen=True)
class Lettering:
    """Lettering on a colour.

    Attributes:
        black: Contrast ratio of black.
        paper: Contrast ratio of the bare paper, for lettering left out of the inks.
    """

    black: float
    paper: float


def relative_luminance(rgb: Rgb) -> float:
    """Relative luminance of 8-bit sRGB, 0 to 1; WCAG 2.2, definition 'relative luminance'."""
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (x / 255 for x in rgb)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(first: Rgb, second: Rgb) -> float:
    """(L1 + 0.05) / (L2 + 0.05), L1 the lighter; WCAG 2.2, definition 'contrast ratio'."""
    darker, lighter = sorted(map(relative_luminance, (first, second)))
    return (lighter + 0.05) / (darker + 0.05)


def lettering(recipes: Recipes, row: int) -> Lettering:
    """How black and the bare paper read on a recipe.

    Black is the palette's black ink laid solid over the recipe, as lettering is; a palette without
    one is taken to be lettered in #000000.
    """
    ground = recipes.rgb_of(row)
    return Lettering(
        contrast_ratio(_black(recipes, row), ground), contrast_ratio(recipes.rgb_of(0), ground)
    )


def in_words(ratio: float) -> str:
    """Which letters a ratio is enough for, by the levels of WCAG 2.2."""
    if ratio >= ENHANCED:
        return "clear"
    if ratio >= ENOUGH:
        return "readable"
    return "only if large" if ratio >= ENOUGH_IF_LARGE else "too faint"


def _black(recipes: Recipes, row: int) -> Rgb:
    position = recipes.palette.black
    if position is None:
        return 0, 0, 0
    tints = list(recipes.tints_of(row))
    tints[position] = 100.0
    over = recipes.row_of(tuple(tints))
    return (0, 0, 0) if over is None else recipes.rgb_of(over)
