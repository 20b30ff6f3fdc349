"""What the match screen says in words: few, and the most needed first."""

from __future__ import annotations

from tuimatch.colour.difference_words import fewer, size_in_words
from tuimatch.match.answer import Match
from tuimatch.match.limits import in_words as limits_in_words
from tuimatch.match.limits import limit_to_lift
from tuimatch.match.ranking import Candidate
from tuimatch.match.verdict import in_words as verdict_in_words
from tuimatch.recipe.copied_recipe import Wording, word
from tuimatch.recipe.dots import fusing_distance
from tuimatch.recipe.lettering import in_words, lettering
from tuimatch.text import hexed, percent, printable
from tuimatch.tui.match.state import Look
from tuimatch.tui.widgets.closeness import Closeness

_NARROW = 58  # cells for the words on a recipe in the narrowest window that shows them


def notice(match: Match, *, wide: bool = True) -> str:
    """What must be known before any candidate is looked at, in two lines at most.

    Args:
        match: The answer.
        wide: Whether the whole verdict finds room; else what can be made stands before what could.
    """
    nearest = match.ranking.nearest
    if nearest is None:
        lift = limit_to_lift(match.recipes, match.narrowing, match.meant.lab)
        if lift is None:
            return "no recipe left: press 0 to clear the limits"
        return f"no recipe left: remove the limit “{lift.limit}”, or press 0 to clear all"
    if match.is_judged and match.verdict is not None:
        first, *more = verdict_in_words(match.recipes.palette, match.verdict)
    else:  # with many inks it follows a moment later
        first, more = f"the nearest is ΔE {nearest.delta_e:.1f}, {nearest.differs}", []
    if match.without_limits is not None:
        more.insert(0, f"without these limits ΔE {match.without_limits.delta_e:.1f}")
    second = ["; ".join(more if wide else reversed(more))]
    if match.before is not None:
        before = match.before
        second.append(f"chosen before: {printable(before.label)}, ΔE {before.delta_e:.1f}")
    return "\n".join([first, " · ".join(filter(None, reversed(second)))]).rstrip()


def limits(match: Match) -> str:
    """Which limits are on and what they leave, in one line."""
    palette, total = match.recipes.palette, len(match.recipes)
    left = total - match.ranking.left_out
    on = limits_in_words(palette, match.narrowing)
    counted = f"{left:,} of {total:,} recipes" if on else f"all {total:,} recipes"
    return f"{counted}, {on}" if on else counted


def candidate_lines(
    match: Match,
    candidate: Candidate,
    look: Look,
    *,
    roomy: bool,
    room: int = 80,
) -> list[str]:
    """Lines on the candidate that is looked at: five where there is room, else three.

    Args:
        match: The answer.
        candidate: One of its recipes.
        look: How it is looked at.
        roomy: Whether there is room for five lines.
        room: For a line, in cells.
    """
    recipes, row = match.recipes, candidate.row
    palette, tints, srgb = recipes.palette, recipes.tints_of(row), hexed(recipes.rgb_of(row))
    recipe = palette.recipe_words(tints)
    screen = f"{srgb}, shown clipped" if recipes.clipped[row] else srgb
    copied = word(recipes, row, look.wording or Wording.PERCENTAGES)
    if copied not in (palette.recipe_text(tints), srgb):
        screen = copied
    first = f"ΔE {candidate.delta_e:.2f}  "
    first += fewer(candidate.differs, room - len(first)) or size_in_words(candidate.delta_e)
    if (
        look.closeness.dots
    ):  # who looks so closely does not ask for more, and the dots cost time enough
        last, off = _closer(match, row, look.ruling), _register(match, row, look.closeness)
    else:
        last, off = "".join(f"looks like {printable(name)}" for name in match.alike(row)[:1]), ""
    if roomy:
        return [first, recipe, screen, off or _lettering(match, row), last]
    last = "; ".join(filter(None, (off, last)))
    if len(recipe) + 3 + len(screen) > _NARROW:
        recipe = palette.recipe_words(tints, roomy=False)
    return [first, f"{recipe}   {screen}", last or _lettering(match, row)]


def _lettering(match: Match, row: int) -> str:
    """What letters can be read on the colour."""
    marks = lettering(match.recipes, row)
    return f"lettering: black {in_words(marks.black)}, paper {in_words(marks.paper)}"


def _closer(match: Match, row: int, ruling: int) -> str:
    if not any(0 < tint < 100 for tint in match.recipes.tints_of(row)):
        return "solids have no dots"
    return f"{ruling} lines an inch fuse from {fusing_distance(ruling):.1f} m"


def _register(match: Match, row: int, closeness: Closeness) -> str:
    """Which ink is out of register; empty when none that has dots is."""
    ink = closeness.shifted
    if ink is None or not 0 < match.recipes.tints_of(row)[ink] < 100:
        return ""
    return f"{match.recipes.palette.inks[ink].name} off by {percent(closeness.shift)} dot"
