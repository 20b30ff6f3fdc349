"""A page to be matched together: where its colours come from, and what is kept of the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from tuimatch.colour import target
from tuimatch.colour.intent import Intent, usual
from tuimatch.colour.target import Target
from tuimatch.errors import UsageError
from tuimatch.log.area import folded_label
from tuimatch.log.choice import Choice, checked_name, new_choice
from tuimatch.match.any_tints import any_tints
from tuimatch.match.asked import meant
from tuimatch.match.limits import Narrowing, allowed
from tuimatch.match.typed_colours import Named
from tuimatch.match.verdict import REACHED, Reached, reached
from tuimatch.picture.flats import Flats, Neighbours
from tuimatch.planning.page_match import (
    SECONDS,
    PageMatch,
    Wanted,
    Watch,
    match_page,
    relations,
)
from tuimatch.recipe import typed_recipe
from tuimatch.recipe.recipes import Recipes

if TYPE_CHECKING:
    from tuimatch.log import Log
    from tuimatch.palette.model import Palette


@dataclass(frozen=True)
class Colour:
    """A colour of the page.

    Attributes:
        given: As it stands on the page.
        meant: As it is meant on the paper; recipes are compared with it.
        share: Its part of the page, 0…1.
        label: What the artist calls it; may be empty.
    """

    given: Target
    meant: Target
    share: float
    label: str = ""

    @property
    def name(self) -> str:
        """What to call it in a sentence."""
        return self.label or self.given.text


@dataclass(frozen=True, eq=False)
class Page:
    """Colours to be matched together.

    Attributes:
        recipes: Of the palette.
        intent: How the colours are taken.
        colours: The largest first, or in the order of a list.
        neighbours: Which of them touch, by their places; the border is 0 where it is not known.
    """

    recipes: Recipes
    intent: Intent
    colours: tuple[Colour, ...]
    neighbours: tuple[Neighbours, ...]

    def row_of(self, text: str) -> int:
        """The row of a recipe as it is typed.

        Raises:
            UsageError: It is none of the palette.
        """
        tints = typed_recipe.read(self.recipes.palette, text)
        row = None if tints is None else self.recipes.row_of(tints)
        if row is None:
            example = self.recipes.palette.recipe_text(self.recipes.tints_of(1))
            raise UsageError(f"{text!r} is no recipe of these inks; give one such as {example}")
        return row

    def place_of(self, name: str) -> int:
        """The place of a colour by its label, or by the colour itself.

        Raises:
            UsageError: The page has no such colour, or several.
        """
        wanted = name.strip().casefold()
        found = [i for i, c in enumerate(self.colours) if c.label and c.label.casefold() == wanted]
        if not found:
            rgb = target.parse(name).srgb
            found = [i for i, c in enumerate(self.colours) if c.given.srgb == rgb]
        if len(found) != 1:
            what = f"{len(found)} colours" if found else "no colour"
            raise UsageError(f"the page has {what} {name.strip()!r}; give one of its colours")
        return found[0]


def of_flats(
    found: Flats, recipes: Recipes, intent: Intent | None, labels: Mapping[str, str]
) -> Page:
    """A page that was read from a picture.

    Args:
        found: Its flats.
        recipes: Of the palette.
        intent: How the colours are taken; as the palette does it where it is None.
        labels: By colour, ``#rrggbb``.
    """
    intent = intent or usual(recipes.palette)
    given = [target.parse(flat.colour) for flat in found.flats]
    colours = tuple(
        Colour(one, meant(recipes, one, intent), flat.share, labels.get(flat.colour, ""))
        for one, flat in zip(given, found.flats, strict=True)
    )
    return Page(recipes, intent, colours, found.neighbours)


def of_list(named: Sequence[Named], recipes: Recipes, intent: Intent | None) -> Page:
    """A list of colours of which each may stand beside every other."""
    intent = intent or usual(recipes.palette)
    colours = tuple(
        Colour(one, meant(recipes, one, intent), 1 / len(named), label) for one, label in named
    )
    every = combinations(range(len(colours)), 2)
    return Page(recipes, intent, colours, tuple(Neighbours(i, j, 0) for i, j in every))


def solve(
    page: Page,
    narrowing: Narrowing,
    *,
    locked: Mapping[int, int] | None = None,
    tolerance: float | None = None,
    max_passes: int | None = None,
    seconds: float = SECONDS,
    watch: Watch | None = None,
) -> PageMatch:
    """Match all colours of a page together; see `match_page`.

    Args:
        page: The page.
        narrowing: The limits.
        locked: The rows of the recipes that colours keep, by their places.
        tolerance: How much ΔE over its nearest recipe a colour may have; any unless given.
        max_passes: At most so many tints of inks on the page; any number unless given.
        seconds: When to stop, about, with the best found so far.
        watch: Looks on and may stop it.
    """
    locked = locked or {}
    wanted = [
        Wanted(colour.meant.lab, colour.given.lab, colour.share, locked.get(place))
        for place, colour in enumerate(page.colours)
    ]
    kept = relations(wanted, ((n.first, n.second) for n in page.neighbours))
    return match_page(
        wanted,
        page.recipes,
        kept,
        allowed=allowed(page.recipes, narrowing),
        tolerance=tolerance,
        max_passes=max_passes,
        seconds=seconds,
        watch=watch,
    )


def verdict(page: Page, found: PageMatch, place: int, narrowing: Narrowing) -> Reached:
    """Whether a colour is within reach of the recipes, of other tints of the inks, or of none."""
    best = found.alone_delta_e[place]
    if best <= REACHED:
        return Reached.WITHIN
    could = any_tints(page.recipes, page.colours[place].meant.lab, narrowing)
    return reached(best, best if could is None else could.delta_e)


def labels_of_log(log: Log, project: str, page: str | None) -> dict[str, str]:
    """What a project calls colours, by colour; what is newer counts, this page before others."""
    found: dict[str, str] = {}
    choices = log.choices(project)
    ours = [c for c in choices if page is not None and c.page == page]
    for choice in (*choices, *ours):
        if choice.label:
            found[choice.target_text.casefold()] = choice.label
    return found


def choices(page: Page, found: PageMatch, project: str, number: str) -> list[Choice]:
    """A choice for each colour, ready to be kept.

    Raises:
        UsageError: Two colours have one label, and so would be one area.
        LogError: The page or a label is too long, or holds control characters.
    """
    number = checked_name(number, "the page")
    made: dict[str, Choice] = {}
    for colour, row, delta_e in zip(page.colours, found.rows, found.delta_e, strict=True):
        label = checked_name(colour.label, "the label")
        lightness, a, b = page.recipes.lab[row].tolist()
        choice = new_choice(
            page.recipes.palette,
            page.recipes.tints_of(row),
            project=project,
            label=label,
            page=number,
            target_text=colour.given.text,
            target_lab=colour.given.lab,
            meant_lab=colour.meant.lab,
            intent=page.intent.value,
            lab=(lightness, a, b),
            srgb=page.recipes.rgb_of(row),
            delta_e=delta_e,
        )
        before = made.setdefault(folded_label(label) or choice.identity, choice)
        if before is not choice:
            raise UsageError(
                f"{before.target_text} and {choice.target_text} are both called {label!r}; "
                "give each its own label"
            )
    return list(made.values())


def take(log: Log, palette: Palette, taken: Sequence[Choice], what: str) -> int:
    """Keep choices of one project in one transaction and one undo.

    What the log has for the same areas goes.

    Args:
        log: Where they are kept.
        palette: What they were made from.
        taken: The choices, at least one.
        what: What is done, in the past, as undoing it will say.

    Returns:
        How many choices of before were replaced.

    Raises:
        LogError: It could not be written; the log is as it was.
    """
    with log.together(what, taken[0].project):
        before = [{one.identity for one in log.same_area(choice)} for choice in taken]
        gone: set[str] = set()
        for choice, same in zip(taken, before, strict=True):
            log.keep(palette, choice, replacing=same - gone)
            gone |= same
    return len(gone)
