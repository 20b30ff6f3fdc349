"""A page to be matched together: where its colours come from, and what is kept of the answer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e
from tuimatch.colour.difference_words import colour_name
from tuimatch.colour.intent import Intent, usual
from tuimatch.colour.target import Target
from tuimatch.errors import UsageError
from tuimatch.log.area import folded_label, folded_pages, is_same, pages_of
from tuimatch.log.choice import Choice, checked_name, new_choice
from tuimatch.match.answer import row_of
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
)
from tuimatch.planning.relations import relations
from tuimatch.recipe import typed_recipe
from tuimatch.recipe.recipes import Recipes

if TYPE_CHECKING:
    from tuimatch.log import Log
    from tuimatch.palette.model import Palette, Triple


# What another recipe changes of a choice.
_OF_RECIPE = (
    *("palette", "palette_digest", "recipe", "tints", "lab", "srgb", "delta_e"),
    *("meant_lab", "intent"),
)


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
        """What to call it in a line of its own."""
        return self.label or self.given.text

    @property
    def name_in_words(self) -> str:
        """The same in a sentence: a colour without a label, written in hex, is called by a name."""
        if self.label or not self.name.startswith("#"):
            return self.name
        return f"{colour_name(self.given.lab)} {self.name}"


@dataclass(frozen=True, eq=False)
class Page:
    """Colours to be matched together.

    Attributes:
        recipes: The recipes of the palette.
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
            UsageError: It is not one of the palette.
        """
        tints = typed_recipe.read(self.recipes.palette, text)
        row = None if tints is None else self.recipes.row_of(tints)
        if row is None:
            example = self.recipes.palette.recipe_text(self.recipes.tints_of(1))
            raise UsageError(f"{text!r} is not a recipe of these inks; give one such as {example}")
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
        recipes: The recipes of the palette.
        intent: How the colours are taken; as the palette usually does where it is None.
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


@dataclass(frozen=True, eq=False)
class Again:
    """Areas of a project to be matched again, perhaps on another palette.

    Attributes:
        page: Their colours; areas of one label and one colour are one of them.
        areas: The choices of each colour, in the same order.
        laid: The choices that stay, an ink of them being laid already.
    """

    page: Page
    areas: tuple[tuple[Choice, ...], ...]
    laid: tuple[Choice, ...]


def of_log(
    log: Log, meant_ones: Sequence[Choice], recipes: Recipes, intent: Intent | None
) -> Again:
    """What a project holds, to be matched together: colours of one page are kept apart.

    Args:
        log: Where the choices are kept.
        meant_ones: The choices.
        recipes: Of the palette that they are matched on.
        intent: How the colours are taken; as the palette usually does where it is None.
    """
    intent = intent or usual(recipes.palette)
    begun = log.ticks.laid(meant_ones)
    groups: dict[tuple[str, Triple], list[Choice]] = {}
    for choice in meant_ones:
        if choice.id not in begun:
            groups.setdefault((folded_label(choice.label), choice.target_lab), []).append(choice)
    areas = tuple(map(tuple, groups.values()))
    total = sum(map(len, areas))
    colours = []
    for own in areas:
        given = target.from_lab(own[0].target_lab, own[0].target_text)
        colours.append(Colour(given, meant(recipes, given, intent), len(own) / total, own[0].label))
    on = [set[str]().union(*(folded_pages(choice.page) for choice in own)) for own in areas]
    together = [(i, j) for i, j in combinations(range(len(areas)), 2) if on[i] & on[j]]
    neighbours = tuple(Neighbours(i, j, 0) for i, j in together)
    laid = tuple(choice for choice in meant_ones if choice.id in begun)
    return Again(Page(recipes, intent, tuple(colours), neighbours), areas, laid)


def replaced(again: Again, found: PageMatch) -> list[Choice]:
    """The choices that change, with their new recipes, ready to be put in their place."""
    made = []
    for own, new in zip(again.areas, choices(again.page, found.rows, "", ""), strict=True):
        recipe = {name: getattr(new, name) for name in _OF_RECIPE}
        made += [after for one in own if (after := replace(one, **recipe)) != one]
    return made


def put_back(log: Log, palette: Palette, changed: Sequence[Choice], what: str) -> None:
    """Put choices in the place of what they were, in one transaction and one undo.

    Raises:
        LogError: One is no longer there, or it could not be written; the log is as it was.
    """
    if changed:
        with log.together(what, changed[0].project):
            for choice in changed:
                log.replace(palette, choice)


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
        tolerance: How much ΔE over its nearest recipe a colour may have (no limit).
        max_passes: At most so many tints of inks on the page; any number unless given.
        seconds: When to stop, about, with the best found so far.
        watch: Looks on and may stop it.
    """
    locked = locked or {}
    wanted = [
        Wanted(colour.meant.lab, colour.given.lab, colour.share, locked.get(place))
        for place, colour in enumerate(page.colours)
    ]
    given = [colour.given.lab for colour in page.colours]
    kept = relations(given, ((n.first, n.second) for n in page.neighbours))
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
    """Whether a colour is within reach of the recipes, of other tints of the inks or of neither."""
    best = found.alone_delta_e[place]
    if best <= REACHED:
        return Reached.WITHIN
    could = any_tints(page.recipes, page.colours[place].meant.lab, narrowing)
    return reached(best, best if could is None else could.delta_e)


_HELD_OFF = "kept off by neighbours or a lock"


class FarOff(NamedTuple):
    """A colour that will look like another one: its recipe is over ΔE 5 from it.

    Attributes:
        place: Its place.
        reached: Whether it is within reach all the same, so that its neighbours or a lock keep it
            from its own best recipe.
    """

    place: int
    reached: Reached

    @property
    def words(self) -> str:
        """Why it is far off."""
        return _HELD_OFF if self.reached is Reached.WITHIN else self.reached.words


def far_off(page: Page, found: PageMatch, narrowing: Narrowing) -> tuple[FarOff, ...]:
    """The colours that are far off, the worst first."""
    far = [place for place, off in enumerate(found.delta_e) if off > REACHED]
    far.sort(key=lambda place: -found.delta_e[place])
    return tuple(FarOff(place, verdict(page, found, place, narrowing)) for place in far)


def overall(page: Page, found: PageMatch, far: Sequence[FarOff]) -> list[str]:
    """How near the whole page comes, in a line: in many words, and in ever fewer.

    Args:
        page: The page.
        found: Its recipes.
        far: Those of its colours that are far off, the worst first.
    """
    every = len(page.colours)
    if not far:
        return [f"all {every} within ΔE {max(found.delta_e):.1f}"]
    of = f"{len(far)} of {every}"
    counts = ", ".join(
        f"{n} {words}" for words, n in Counter(one.words for one in far).most_common()
    )
    worst = [f"{page.colours[o.place].name} {found.delta_e[o.place]:.1f}" for o in far[:3]]
    most = f"{found.delta_e[far[0].place]:.1f}"
    return [
        f"{of} far off (over ΔE 5): {counts}; worst: {', '.join(worst)}",
        f"{of} far off (over ΔE 5): {counts}",
        f"{of} far off, up to ΔE {most}",
    ]


def labels_by_colour(choices: Sequence[Choice], page: str | None = None) -> dict[str, str]:
    """What a project calls colours, by ``#rrggbb``; what is newer counts, this page before others.

    Args:
        choices: Those of the project, oldest first.
        page: The page meant; None for none in particular.
    """
    ours = [c for c in choices if page is not None and c.page == page]
    return {c.target_text.casefold(): c.label for c in (*choices, *ours) if c.label}


def recipes_by_colour(taken: Sequence[Choice], recipes: Recipes) -> dict[tuple[int, int, int], int]:
    """The recipes that a project holds for colours, by the colour as given, as 8-bit sRGB.

    Args:
        taken: The choices, oldest first; of one colour the newest counts.
        recipes: Of the palette; choices of other palettes are passed over.
    """
    found = {}
    for choice in taken:
        row = row_of(recipes, choice)
        if row is not None:
            found[target.from_lab(choice.target_lab, "").srgb] = row
    return found


def kept(page: Page, taken: Sequence[Choice], number: str) -> list[Choice | None]:
    """What a project holds for each colour on a page of it; of one colour the newest counts.

    Args:
        page: The colours.
        taken: The choices of the project, oldest first.
        number: The page's number; may be empty.
    """
    on = folded_pages(number)
    found = {
        target.from_lab(choice.target_lab, "").srgb: choice
        for choice in taken
        if not on.isdisjoint(folded_pages(choice.page))
    }
    return [found.get(colour.given.srgb) for colour in page.colours]


def number_held(page: Page, taken: Sequence[Choice]) -> str | None:
    """The number under which a project holds a page: at least half of its colours stand there.

    Args:
        page: The colours.
        taken: The choices of the project, oldest first; of two such numbers the newer counts.
    """
    for number in reversed(pages_of(taken)):
        if 2 * sum(one is not None for one in kept(page, taken, number)) >= len(page.colours):
            return number
    return None


def laid(log: Log, page: Page, project: str, number: str) -> dict[int, int]:
    """The recipes of the colours of which an ink is laid already: they are to keep them.

    Args:
        log: Where they are kept.
        page: The colours.
        project: Whose choices they are.
        number: The page's number; may be empty.

    Returns:
        The rows of the recipes, by the colours' places; those of other palettes have none.
    """
    own = kept(page, log.choices(project), number)
    begun = log.ticks.laid(choice for choice in own if choice is not None)
    rows = {
        place: row_of(page.recipes, choice)
        for place, choice in enumerate(own)
        if choice is not None and choice.id in begun
    }
    return {place: row for place, row in rows.items() if row is not None}


def choices(page: Page, rows: Sequence[int], project: str, number: str) -> list[Choice]:
    """A choice for each colour, made now.

    Args:
        page: The page.
        rows: The row of each colour's recipe.
        project: Whose choices they are.
        number: The page's number; may be empty.

    Raises:
        LogError: The page or a label is too long, or holds control characters.
    """
    recipes, palette = page.recipes, page.recipes.palette
    made = []
    for colour, row in zip(page.colours, rows, strict=True):
        lightness, a, b = recipes.lab[row].tolist()
        choice = new_choice(
            palette,
            recipes.tints_of(row),
            project=project,
            label=checked_name(colour.label, "the label"),
            page=checked_name(number, "the page"),
            target_text=colour.given.text,
            target_lab=colour.given.lab,
            meant_lab=colour.meant.lab,
            intent=page.intent.value,
            lab=(lightness, a, b),
            srgb=recipes.rgb_of(row),
            delta_e=float(delta_e(colour.meant.lab, recipes.lab[row])),
        )
        made.append(choice)
    return made


class Taken(NamedTuple):
    """What taking choices changed in the log.

    Attributes:
        new: How many were put there; the others were there already, unchanged.
        replaced: How many earlier ones went.
        laid: What stays although it is another recipe, since an ink of it is laid.
    """

    new: int
    replaced: int
    laid: tuple[Choice, ...] = ()

    @property
    def instead(self) -> str:
        """How many earlier ones were replaced, in words after a comma; empty if none were."""
        many = "one" if self.replaced == 1 else "ones"
        return f", {self.replaced} earlier {many} replaced" if self.replaced else ""

    @property
    def remark(self) -> str:
        """What stays since it is laid, in words; empty where nothing does."""
        return laid_in_words(self.laid)


def laid_in_words(laid: Sequence[Choice]) -> str:
    """Which choices stay since they are laid; empty for none."""
    return f"laid already, so kept: {', '.join(one.name for one in laid)}" if laid else ""


def take(log: Log, palette: Palette, taken: Sequence[Choice], what: str) -> Taken:
    """Keep choices of one project in one transaction and one undo.

    Choices for the same areas are removed, and for their colours where those had no label.
    But one with the same recipe stays, and so does one with an ink ticked off as laid.

    Args:
        log: Where they are kept.
        palette: What they were made from.
        taken: The choices, at least one.
        what: What is done, in the past, as undoing it will say.

    Raises:
        UsageError: Two of them are for the same area.
        LogError: It could not be written; the log is as it was.
    """
    for one, other in combinations(taken, 2):
        if is_same(one, other):
            raise UsageError(
                f"{one.target_text} and {other.target_text} are both "
                f"{f'called {one.label!r}' if one.label else 'without a label'}; "
                "give each its own label"
            )
    with log.together(what, taken[0].project):
        before = [log.same_area(choice) + _unnamed(log, choice, taken) for choice in taken]
        begun = log.ticks.laid(one for same in before for one in same)
        gone: set[str] = set()
        laid: list[Choice] = []
        new = 0
        for choice, same in zip(taken, before, strict=True):
            if [_said(one) for one in same] == [_said(choice)]:
                continue
            if stays := [one for one in same if one.id in begun and _lays(one) != _lays(choice)]:
                laid += stays
                continue
            replacing = {one.identity for one in same}
            log.keep(palette, choice, replacing=replacing - gone)
            gone |= replacing
            new += 1
    return Taken(new, len(gone), tuple(laid))


def _unnamed(log: Log, choice: Choice, taken: Sequence[Choice]) -> list[Choice]:
    """What the log has of a colour that had no label on this page and is called something now."""
    if not choice.label:
        return []
    found = log.same_area(choice, label="")
    return [one for one in found if not any(is_same(one, other) for other in taken)]


def _lays(choice: Choice) -> tuple[object, ...]:
    """What is laid for a choice."""
    return choice.palette, choice.tints


def _said(choice: Choice) -> tuple[object, ...]:
    """What a choice says, but for when it was made."""
    return tuple(getattr(choice, name) for name in ("label", "page", "target_lab", *_OF_RECIPE))
