"""The verdict on a colour: within reach, between the tints, or beyond the inks.

d is CIEDE2000 of the best recipe under the limits, c the least that any tints of the same inks
reach. Up to 5 a colour is reached; 5 is common practice, no source.

- within: d ≤ 5.
- between: d > 5 ≥ c. The inks could, the ladder cannot.
- beyond: c > 5.

All words for it are made here: for the screen, the table and the guide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

from tuimatch.colour.colorimetry import difference
from tuimatch.colour.difference_words import differs, shorter
from tuimatch.match import one_more_tint as more
from tuimatch.match.any_tints import AnyTints, any_tints
from tuimatch.match.limits import Narrowing
from tuimatch.match.one_more_tint import OneMoreTint
from tuimatch.palette.model import Palette, Triple
from tuimatch.recipe.recipes import Recipes
from tuimatch.text import percent

REACHED = 5.0


class Reached(Enum):
    """The three verdicts; the value is what JSON calls them, `words` what people read."""

    WITHIN = "within", "within reach"
    BETWEEN = "between", "between your tints"
    BEYOND = "beyond", "beyond these inks"

    words: str

    def __new__(cls, value: str, words: str = "") -> Reached:
        """A member whose value is its name in JSON."""
        member = object.__new__(cls)
        member._value_ = value
        member.words = words
        return member


@dataclass(frozen=True)
class Verdict:
    """How far a colour is reached, and what would reach it.

    Attributes:
        reached: Which of the three.
        delta_e: d, of the best recipe.
        differs: How that differs from the target in words.
        any_tint: The tints that come nearest, and c; None within reach, where it is not needed.
        any_tint_differs: How their colour differs from the target.
        one_more: The tint of one ink that would help most; between the tints only, and None where
            trying them all would take long.
    """

    reached: Reached
    delta_e: float
    differs: str
    any_tint: AnyTints | None = None
    any_tint_differs: str = ""
    one_more: OneMoreTint | None = None


def reached(d: float, c: float) -> Reached:
    """The verdict from the two differences."""
    if d <= REACHED:
        return Reached.WITHIN
    return Reached.BETWEEN if c <= REACHED else Reached.BEYOND


def is_quick(palette: Palette) -> bool:
    """Whether a verdict is there before the next frame; others are reckoned in a thread."""
    return more.size(palette) <= more.QUICK


@lru_cache(maxsize=256)
def verdict(
    recipes: Recipes, target: Triple, narrowing: Narrowing, delta_e: float, lean: str = ""
) -> Verdict:
    """Judge a colour.

    Args:
        recipes: The recipes of the palette.
        target: CIELAB of the wanted colour as it is meant on the paper.
        narrowing: The limits.
        delta_e: CIEDE2000 of the best recipe under the limits.
        lean: How that differs from the target in words.
    """
    if delta_e <= REACHED:
        return Verdict(Reached.WITHIN, delta_e, lean)
    could = any_tints(recipes, target, narrowing)
    assert could is not None  # the limits let a recipe through
    found = reached(delta_e, could.delta_e)
    terms = difference(target, could.lab)
    parts = (float(terms.lightness), float(terms.chroma), float(terms.hue))
    one_more = None
    if found is Reached.BETWEEN and more.size(recipes.palette) <= more.MOST:
        one_more = more.one_more_tint(recipes, target, narrowing)
        if one_more is not None and one_more.delta_e >= delta_e:
            one_more = None
    return Verdict(
        found, delta_e, lean, could, differs(target, could.lab, could.delta_e, *parts), one_more
    )


def in_short(judged: Verdict) -> str:
    """A verdict and the ΔE it goes by, in a few words."""
    best = "" if judged.reached is Reached.WITHIN else "the best is "
    return f"{judged.reached.words}: {best}ΔE {judged.delta_e:.1f}"


def in_words(palette: Palette, judged: Verdict) -> list[str]:
    """A verdict in words, the most needed first; parts of one sentence, without a full stop."""
    return [longest for longest, *_ in wordings(palette, judged)]


def wordings(palette: Palette, judged: Verdict) -> list[tuple[str, ...]]:
    """The same parts, each in all the ways it can be said, from the longest to the shortest."""
    could, one_more = judged.any_tint, judged.one_more
    terse = f"{judged.reached.words}: ΔE {judged.delta_e:.1f}"
    said = [(*_leaning(in_short(judged), judged.differs), terse)]
    if could is None:
        return said
    if judged.reached is Reached.BEYOND:
        short = f"whatever the tints: ΔE {could.delta_e:.1f}"
        even = f"whatever the tints, these inks stay ΔE {could.delta_e:.1f} away"
        return [*said, (*_leaning(even, judged.any_tint_differs), short)]
    recipe = recipe_in_whole_percent(palette, could.tints)
    short = f"other tints could come to ΔE {could.delta_e:.1f}"
    said.append((f"{short}: {recipe}", short))
    if one_more is not None:
        ink = palette.inks[one_more.ink].name
        tint, comes_to = f"{ink} {percent(one_more.tint)} %", f"ΔE {one_more.delta_e:.1f}"
        said.append(
            (f"one more tint, {tint}, would come to {comes_to}", f"with {tint} too: {comes_to}")
        )
    return said


def _leaning(text: str, differs: str) -> tuple[str, ...]:
    """A text with a difference in ever fewer words after it, and at last alone."""
    return (*(f"{text}, {words}" for words in shorter(differs) if words), text)


def recipe_in_whole_percent(palette: Palette, tints: Sequence[float]) -> str:
    """Tints as a recipe, rounded to whole percents: nobody makes a brush finer than that."""
    return palette.recipe_words(tuple(float(round(tint)) for tint in tints))
