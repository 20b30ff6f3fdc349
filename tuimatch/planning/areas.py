"""An area of a page that is to be coloured, and the brushes its recipe takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from tuimatch.colour.difference_words import colour_name
from tuimatch.errors import LogError, UsageError
from tuimatch.log.area import folded_pages, pages, pages_of
from tuimatch.palette.model import Palette, Triple

if TYPE_CHECKING:
    from tuimatch.log import Choice, Log


class Brush(NamedTuple):
    """One ink at one tint of one palette: what a brush, layer or swatch is set up for.

    Inks of the same name in two palettes are two inks. A palette file that was edited is still the
    same palette: a remark or a new measurement of another ink makes no difference.

    Attributes:
        palette: What the palette is called by, its stem.
        ink: The ink's name.
        tint: Percent, never 0.
    """

    palette: str
    ink: str
    tint: float


@dataclass(frozen=True)
class Area:
    """One area with the recipe it has now.

    Attributes:
        key: What tells it from every other area, whatever they are called.
        label: What the artist calls it; may be empty.
        target: Lab of the wanted colour as it was meant on the paper.
        palette: Where its recipe comes from.
        tints: The recipe, percent for every ink in laying order, 0 for none.
        page: The page it stands on; may be empty.
        unlabelled: What to call it where it has no label; its key unless given.
    """

    key: int
    label: str
    target: Triple
    palette: Palette = field(repr=False)
    tints: tuple[float, ...]
    page: str = ""
    unlabelled: str = ""

    @property
    def name(self) -> str:
        """What to call it on its page."""
        return self.label or self.unlabelled or str(self.key)

    @property
    def name_in_words(self) -> str:
        """The same for people: a colour without a label, written in hex, is called by a name."""
        if self.label or not self.name.startswith("#"):
            return self.name
        return f"{colour_name(self.target)} {self.name}"

    @property
    def name_with_page(self) -> str:
        """What to call it among areas of several pages."""
        return f"{self.page}: {self.name_in_words}" if self.page else self.name_in_words

    @property
    def brushes(self) -> tuple[Brush, ...]:
        """What lays it, in laying order; nothing for bare paper."""
        return brushes(self.palette, self.tints)


def brushes(palette: Palette, tints: tuple[float, ...]) -> tuple[Brush, ...]:
    """What lays a recipe, in laying order; nothing for bare paper."""
    laid = zip(palette.inks, tints, strict=True)
    return tuple(Brush(palette.stem, ink.name, tint) for ink, tint in laid if tint)


def checked(areas: tuple[Area, ...]) -> tuple[Area, ...]:
    """The same areas.

    Raises:
        UsageError: Two have the same key, or a recipe is not one of its palette.
    """
    seen = set()
    for area in areas:
        if area.key in seen:
            raise UsageError(f"area {area.key} is given twice; give every area once")
        seen.add(area.key)
        ladders = [ink.steps for ink in area.palette.inks]
        if len(area.tints) != len(ladders) or any(
            tint not in steps for tint, steps in zip(area.tints, ladders, strict=True)
        ):
            raise UsageError(
                f"area {area.name!r}: {area.tints} is not a recipe of palette "
                f"{area.palette.stem!r}; give one of its tints, or 0, for each of its inks"
            )
    return areas


def chosen(
    log: Log, project: str, page: str | None = None, only: Collection[int] | None = None
) -> list[Choice]:
    """The choices of a project that were asked for, oldest first.

    Args:
        log: Where they are kept.
        project: The project's name as it is spelled.
        page: Only those of this page; of all unless given.
        only: Only those with these numbers; all unless given.

    Raises:
        LogError: No choice has one of the numbers, or it is of another project.
        UsageError: The project has no such page.
    """
    choices = log.choices(project)
    if only is not None:
        for number in sorted(set(only) - {choice.id for choice in choices}):
            other = log.choice(number)
            raise LogError(
                f"recipe {number} ({other.name}) belongs to project {other.project!r}, not to "
                f"{project!r}; plan one project at a time"
            )
        choices = [choice for choice in choices if choice.id in only]
    if page is None:
        return choices
    known = pages_of(choices)
    folded = {one.casefold() for one in known}
    for wanted in pages(page):
        if wanted.casefold() not in folded:
            raise UsageError(f"no page {wanted!r} in project {project!r}; {_named(known)}")
    return on_page(choices, page)


def on_page(choices: Iterable[Choice], page: str | None) -> list[Choice]:
    """The choices of one page, in any letter case, or of all pages where it is None.

    A page written ``9, 10`` is both: what stands on it is found on either, and whoever asks for it
    gets what stands on any of the two.
    """
    if page is None:
        return list(choices)
    wanted = folded_pages(page)
    return [c for c in choices if wanted & folded_pages(c.page)]


def _named(known: list[str]) -> str:
    some = [page for page in known if page]
    if not some:
        return "none of its recipes has a page"
    return f"its pages are {', '.join(some)}" if len(some) > 1 else f"its only page is {some[0]}"


def areas_of_log(
    log: Log, choices: Iterable[Choice]
) -> tuple[tuple[Area, ...], tuple[Choice, ...]]:
    """Choices as areas, each with the palette it was made with as that was then.

    One without a label is called by its target as that was written, with its number where another
    of them would have that name too.

    Args:
        log: Where the choices are kept.
        choices: In the order they would be painted one by one.

    Returns:
        The areas, and the choices left out: their palette is lost or is not the one that their
        recipe was made with, and without it nothing can be said of them.

    Raises:
        LogError: The log cannot be read.
    """
    choices = list(choices)
    named = Counter(_plain_name(choice) for choice in choices)
    palettes: dict[str, Palette | None] = {}
    found, lost = [], []
    for choice in choices:
        if choice.palette_digest not in palettes:
            palettes[choice.palette_digest] = log.palette(choice)
        palette = palettes[choice.palette_digest]
        tints = None if palette is None else palette.tints_named(choice.tints)
        if palette is None or tints is None:
            lost.append(choice)
            continue
        alone = named[_plain_name(choice)] == 1
        found.append(
            Area(
                key=choice.id,
                label=choice.label,
                target=choice.meant_lab,
                palette=palette,
                tints=tints,
                page=choice.page,
                unlabelled=choice.target_text if alone else f"{choice.target_text} ({choice.id})",
            )
        )
    return tuple(found), tuple(lost)


def left_out_in_words(lost: Iterable[Choice]) -> str:
    """One line that names what `areas_of_log` left out; empty where that is nothing."""
    names = ", ".join(choice.name for choice in lost)
    return f"left out because their palette is lost: {names}" if names else ""


def _plain_name(choice: Choice) -> str:
    return (choice.label or choice.target_text).casefold()
