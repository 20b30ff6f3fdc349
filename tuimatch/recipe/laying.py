"""Where the artist is in a recipe: the inks to lay in order, and how many are laid.

A halftone does not look right until the last ink is down. What should be there half-way is itself a
recipe of the palette: the same tints, with the inks still to come left out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
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
        row: The row of the recipe as it stands after this step: with the inks before it,
            and those laid already; where this one is laid, with what is laid up to it.
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
        laid: The names of those that are laid: mostly the first; by passes it may be any.
        srgb: What a screen shows of what is laid now, 0…255.
        canvas: What the drawing program shows of it; see `Step`.
    """

    tints: tuple[float, ...]
    steps: tuple[Step, ...]
    laid: frozenset[str]
    srgb: tuple[int, int, int]
    canvas: tuple[int, int, int] | None = None

    @property
    def next(self) -> Step | None:
        """The ink to lay now, or None when all are laid."""
        return next((step for step in self.steps if step.name not in self.laid), None)

    @property
    def done(self) -> bool:
        """Whether every ink is laid."""
        return self.next is None


def laying(recipes: Recipes, row: int, laid: Iterable[str] = ()) -> Laying:
    """A recipe of which some inks are laid.

    Args:
        recipes: The recipes of the palette.
        row: The row of the recipe.
        laid: The names of the inks that are laid.
    """
    taken = steps(recipes, row, has := frozenset(laid))
    now = _part(recipes, row, has)
    return Laying(
        recipes.tints_of(row),
        taken,
        has & {step.name for step in taken},
        recipes.rgb_of(now),
        recipes.canvas_rgb(recipes.tints_of(now)),
    )


def steps(recipes: Recipes, row: int, laid: Collection[str] = ()) -> tuple[Step, ...]:
    """The inks a recipe takes, in laying order, each with the colour seen after it."""
    taken = []
    tints, inks = recipes.tints_of(row), recipes.palette.inks
    for i, (ink, tint) in enumerate(zip(inks, tints, strict=True)):
        if not tint:
            continue
        up_to = {other.name for other in inks[: i + 1]}
        there = up_to.intersection(laid) if ink.name in laid else up_to.union(laid)
        part = _part(recipes, row, there)
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
                canvas=recipes.canvas_rgb(recipes.tints_of(part)),
            )
        )
    return tuple(taken)


def _part(recipes: Recipes, row: int, inks: Collection[str]) -> int:
    """The row of a recipe as far as some of its inks go."""
    own = zip(recipes.palette.inks, recipes.tints_of(row), strict=True)
    part = recipes.row_of(tuple(tint if ink.name in inks else 0.0 for ink, tint in own))
    assert part is not None  # Each of its tints is on a ladder, and so is 0 %.
    return part
