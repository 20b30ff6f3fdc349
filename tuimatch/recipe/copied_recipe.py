"""A recipe as text to carry elsewhere: percentages, labels, hex, or CSS."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

from tuimatch.palette.model import Palette
from tuimatch.palette.process_inks import process_ink
from tuimatch.text import exact, hexed

if TYPE_CHECKING:
    from tuimatch.recipe.recipes import Recipes

# In the order of device-cmyk().
_PROCESS = ("cyan", "magenta", "yellow", "black")


class Wording(Enum):
    """How a recipe is worded; the value says it in the interface."""

    PERCENTAGES = "percentages"
    LABELS = "labels"
    HEX = "hex"
    DEVICE_CMYK = "device-cmyk()"


def wordings(palette: Palette) -> tuple[Wording, ...]:
    """The wordings that say something for a palette, in the order a key cycles them."""
    fits = {
        Wording.PERCENTAGES: True,
        Wording.LABELS: any(ink.labels for ink in palette.inks),
        Wording.HEX: True,
        Wording.DEVICE_CMYK: palette.is_process,
    }
    return tuple(wording for wording in Wording if fits[wording])


def after(wording: Wording, palette: Palette) -> Wording:
    """The next wording in the cycle; the first when a palette does not have this one."""
    cycle = wordings(palette)
    return cycle[(cycle.index(wording) + 1) % len(cycle)] if wording in cycle else cycle[0]


def word(recipes: Recipes, row: int, wording: Wording) -> str:
    """A recipe in a wording that its palette has, one of `wordings`."""
    palette, tints = recipes.palette, recipes.tints_of(row)
    match wording:
        case Wording.PERCENTAGES:
            return palette.recipe_text(tints)
        case Wording.LABELS:
            return palette.recipe_words(tints, roomy=False)
        case Wording.HEX:
            return hexed(recipes.rgb_of(row))
        case Wording.DEVICE_CMYK:
            return _device_cmyk(palette, tints)


def _device_cmyk(palette: Palette, tints: tuple[float, ...]) -> str:
    """``device-cmyk(50% 0% 100% 0%)``: CSS Color 5, the device-cmyk() function."""
    laid = {
        known.name: t
        for ink, t in zip(palette.inks, tints, strict=True)
        if (known := process_ink(ink.name))
    }
    return f"device-cmyk({' '.join(f'{exact(laid.get(ink, 0))}%' for ink in _PROCESS)})"
