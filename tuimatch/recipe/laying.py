"""Where the artist is in a recipe: the inks to lay in order, and how many are laid.

A halftone does not look right until the last ink is down. What should be there half-way is itself a
recipe of the palette: the same tints, with the inks still to come left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tuimatch.palette.model import Triple

if TYPE_CHECKING:
    from tuimatch.recipe.recipes import Recipes


@dataclass(frozen=True)
class Step:
    """One ink to lay.

    Attributes:
        ink: Its position in laying order.
        name: The ink's name.
        symbol: One or two characters for narrow columns.
        tint: Percent.
        label: What the artist calls the tint, or None.
        words: The ink and the tint in the artist's words, with the percentage.
        row: The row of the recipe as far as it is laid after this step.
        lab: The colour that should be seen then.
        srgb: What a screen shows of it, 0…255.
        clipped: Whether sRGB cannot hold it.
        canvas: What the drawing program shows then, 0…255; None where the palette describes it
            already.
    """

    ink: int
    name: str
    symbol: str
    tint: float
    label: str | None
    words: str
    row: int
    lab: Triple
    srgb: tuple[int, int, int]
    clipped: bool
    canvas: tuple[int, int, int] | None = None


@dataclass(frozen=True)
class Laying:
    """A recipe being laid.

    Attributes:
        tints: The recipe, percent for every ink in laying order, 0 for none.
        steps: The inks it takes, in laying order; none for bare paper.
        laid: How many are ticked. Inks are laid in order, so those are the first ones.
    """

    tints: tuple[float, ...]
    steps: tuple[Step, ...]
    laid: int = 0

    @property
    def next(self) -> Step | None:
        """The ink to lay now, or None when all are laid."""
        return None if self.done else self.steps[self.laid]

    @property
    def done(self) -> bool:
        """Whether every ink is laid."""
        return self.laid >= len(self.steps)

    def tick(self) -> Laying:
        """The next ink is laid; when all are, nothing changes."""
        return self.at(self.laid + 1)

    def untick(self) -> Laying:
        """The last ink is not laid after all; when none is, nothing changes."""
        return self.at(self.laid - 1)

    def at(self, laid: int) -> Laying:
        """The same recipe with so many inks laid, within what it has: where a restart goes on."""
        return replace(self, laid=min(max(laid, 0), len(self.steps)))


def start(recipes: Recipes, row: int) -> Laying:
    """A recipe of which nothing is laid yet."""
    return Laying(recipes.tints_of(row), steps(recipes, row))


def steps(recipes: Recipes, row: int) -> tuple[Step, ...]:
    """The inks a recipe takes, in laying order, each with the colour seen after it."""
    taken = []
    tints = recipes.tints_of(row)
    for i, (ink, tint) in enumerate(zip(recipes.palette.inks, tints, strict=True)):
        if not tint:
            continue
        laid = tuple(t if j <= i else 0.0 for j, t in enumerate(tints))
        part = recipes.row_of(laid)
        assert part is not None  # Each of its tints is on a ladder, and so is none of an ink.
        lightness, a, b = (float(x) for x in recipes.lab[part])
        taken.append(
            Step(
                ink=i,
                name=ink.name,
                symbol=ink.symbol,
                tint=tint,
                label=ink.label(tint),
                words=ink.tint_words(tint),
                row=part,
                lab=(lightness, a, b),
                srgb=recipes.rgb_of(part),
                clipped=bool(recipes.clipped[part]),
                canvas=recipes.canvas_rgb(laid),
            )
        )
    return tuple(taken)
