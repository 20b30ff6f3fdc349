"""The build-up of a recipe: the colour expected after each pass, from bare paper to done.

A halftone does not look right until the last ink is down. What should be there half-way is itself a
recipe of the palette: the same tints, with the inks still to come left out.
"""

from __future__ import annotations

from dataclasses import dataclass

from tuimatch.palette import Triple
from tuimatch.recipes import Recipes


@dataclass(frozen=True)
class Pass:
    """What is on the sheet after one ink, or before the first.

    Attributes:
        ink: The position of the ink just laid; None for bare paper.
        tint: Its nominal tint in percent; 0 for bare paper.
        row: The recipe on the sheet, as a row of the recipes.
        lab: The colour expected, CIELAB.
        srgb: What a screen shows of it, 0…255.
        clipped: Whether sRGB cannot hold it.
    """

    ink: int | None
    tint: float
    row: int
    lab: Triple
    srgb: tuple[int, int, int]
    clipped: bool


def build_up(recipes: Recipes, row: int) -> tuple[Pass, ...]:
    """The passes of a recipe in laying order: bare paper, then each ink it uses."""
    tints = recipes.tints_of(row)
    laid = [0.0] * len(tints)
    passes = [_pass(recipes, None, 0, laid)]
    for ink, tint in enumerate(tints):
        if tint:
            laid[ink] = tint
            passes.append(_pass(recipes, ink, tint, laid))
    return tuple(passes)


def _pass(recipes: Recipes, ink: int | None, tint: float, laid: list[float]) -> Pass:
    row = recipes.row_of(tuple(laid))
    assert row is not None, "leaving inks out of a recipe gives a recipe of the same palette"
    lightness, a, b = (float(x) for x in recipes.lab[row])
    return Pass(ink, tint, row, (lightness, a, b), recipes.rgb_of(row), bool(recipes.clipped[row]))
