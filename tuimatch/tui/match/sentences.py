"""What the match screen says in words: few, and the most needed first."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from tuimatch.colour.difference_words import SAME_BELOW, shorter, size_in_words
from tuimatch.match.answer import Match
from tuimatch.match.limits import limit_to_remove
from tuimatch.match.limits import limits as limits_of
from tuimatch.match.ranking import Candidate
from tuimatch.match.verdict import wordings
from tuimatch.palette.model import Palette
from tuimatch.recipe.copied_recipe import Wording, word
from tuimatch.recipe.lettering import in_words, lettering
from tuimatch.text import hexed, printable
from tuimatch.tui.match.look import Look
from tuimatch.tui.match.state import BEYOND_SCREEN
from tuimatch.tui.widgets.lines import shortened, whole

_ROOMY = 5  # lines: where there are fewer, what belongs together shares one
_ROOM = 1_000  # cells, where nobody has said how many there are


def notice(match: Match, room: int = _ROOM) -> str:
    """What must be known before any candidate is looked at, in two lines at most.

    Args:
        match: The answer.
        room: For a line, in cells. What does not fit is said in fewer words, and then not at all.
    """
    nearest = match.ranking.nearest
    if nearest is None:
        return whole(room, *_nothing_left(match))
    if match.is_judged and match.verdict is not None:
        first, *more = wordings(match.recipes.palette, match.verdict)
    else:  # with many inks it follows a moment later
        size = f"the best is ΔE {nearest.delta_e:.1f}"
        first, more = (*(f"{size}, {words}" for words in shorter(nearest.differs)), size), []
    if match.without_limits is not None:
        more.insert(0, (f"without these limits it would be ΔE {match.without_limits.delta_e:.1f}",))
    second = _as_fit(more, room)
    if match.before is not None:
        # Without a number: beside the recipe's own ΔE a second one would be taken for it.
        has = " has this colour" if match.before.delta_e < SAME_BELOW else " is nearly this colour"
        where = ": its recipe is first"
        palette, row = match.recipes.palette, match.before.row
        name = match.before.label
        if name == palette.recipe_text(match.recipes.tints_of(row)):
            name, short = "an area without a label", "an area"
        else:
            name = printable(name)
            short = shortened(name, room - cell_len(has))
        said = whole(room, f"{name}{has}{where}", f"{name}{has}", f"{short}{has}")
        both = f"{said} · {second}"
        second = both if second and cell_len(both) <= room else said
    return f"{whole(room, *first)}\n{second}".rstrip()


def _nothing_left(match: Match) -> tuple[str, ...]:
    short = ("no recipe left: 0 clears the limits", "no recipe left: press 0")
    removal = limit_to_remove(match.recipes, match.narrowing, match.meant.lab)
    if removal is None:
        return ("no recipe left: press 0 to clear the limits", *short)
    named = f"no recipe left: remove the limit “{removal.limit}”"
    return (f"{named}, or press 0 to clear all", named, *short)


def _as_fit(parts: Sequence[tuple[str, ...]], room: int) -> str:
    """Parts of a sentence with semicolons between them, as many as fit, each as long as fits."""
    said = ""
    for part in parts:
        begun = f"{said}; " if said else ""
        fits = (begun + words for words in part if cell_len(begun + words) <= room)
        said = next(fits, said)
    return said


def limits(match: Match, room: int = _ROOM) -> str:
    """Which limits are on and what they leave, in one line."""
    palette, total = match.recipes.palette, len(match.recipes)
    left = total - match.ranking.left_out
    on = [text for text, _ in limits_of(palette, match.narrowing)]
    if not on:
        return whole(room, f"all {total:,} recipes")
    said = f"{left:,} of {total:,} recipes"
    shown = (
        f"{said}: "
        + ", ".join((*on[:count], *([f"and {len(on) - count} more"] * (count < len(on)))))
        for count in range(len(on), 0, -1)
    )
    count = f"{len(on)} limit{'s' * (len(on) > 1)}"
    explained = f"{said}: {', '.join(on)} (all inks added up)"
    full = [explained] if match.narrowing.max_coverage is not None else []
    return whole(room, *full, *shown, f"{said}: {count}", said)


def candidate_lines(
    match: Match, candidate: Candidate, look: Look, *, lines: int = 5, room: int = _ROOM
) -> list[str]:
    """Lines on the candidate that is looked at.

    Args:
        match: The answer.
        candidate: One of its recipes.
        look: How it is looked at.
        lines: How many there may be: the difference and the recipe, and what else fits.
        room: For a line, in cells.
    """
    recipes, row = match.recipes, candidate.row
    palette, tints, srgb = recipes.palette, recipes.tints_of(row), hexed(recipes.rgb_of(row))
    screen = f"{srgb}, {BEYOND_SCREEN}" if recipes.clipped[row] else srgb
    copied = word(recipes, row, look.wording or Wording.PERCENTAGES)
    if copied not in (palette.recipe_text(tints), srgb):
        screen = shortened(copied, room)
    recipe = _recipe(palette, tints, room, spacious=lines >= _ROOMY)
    beside = f"{recipe[0]}   {screen}"
    if lines < _ROOMY and len(recipe) == 1 and cell_len(beside) <= room:
        recipe, screen = [beside], ""
    said = [_difference(candidate, room), *recipe]
    last, register = look.preview.says(match, row, look, room)
    both = f"{register}; {last}"
    if register and lines < _ROOMY and cell_len(both) <= room:
        last, register = both, ""
    letters = "" if register else _lettering(match, row, room)
    spare = max(lines - len(said), 0)
    kept = [text for text in (register, last, letters, screen) if text][:spare]
    return [*said, *(text for text in (screen, register, letters, last) if text in kept)][:lines]


def _difference(candidate: Candidate, room: int) -> str:
    """How far off a recipe is, and which way."""
    number, size = f"ΔE {candidate.delta_e:.2f}", size_in_words(candidate.delta_e)
    ways = [words for words in shorter(candidate.differs) if words]
    if not ways:
        return whole(room, f"{number}  {size}", number)
    return whole(
        room, f"{number}  {size}: {ways[0]}", *(f"{number}  {way}" for way in ways), number
    )


def _recipe(palette: Palette, tints: tuple[float, ...], room: int, *, spacious: bool) -> list[str]:
    """A recipe in one line where it fits, else in two, broken between inks."""
    words = palette.recipe_words(tints)
    if cell_len(words) > room and not spacious:
        words = palette.recipe_words(tints, roomy=False)
    if cell_len(words) <= room:
        return [words]
    parts = words.split(", ")
    first = parts.pop(0)
    while parts and cell_len(f"{first}, {parts[0]},") <= room:
        first += f", {parts.pop(0)}"
    rest = ", ".join(parts)
    return [shortened(f"{first},", room), shortened(rest, room)] if rest else [whole(room, first)]


def _lettering(match: Match, row: int, room: int) -> str:
    """What letters can be read on the colour: black ones and bare paper, or the better of both."""
    marks = lettering(match.recipes, row)
    black, white = in_words(marks.black), in_words(marks.paper)
    better = f"black letters {black}" if marks.black >= marks.paper else f"white letters {white}"
    return whole(room, f"black letters {black}, white {white}", better)
