"""What the guide says: each choice with its laying order, its dots and what to beware of."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tuimatch.colour.intent import Intent
from tuimatch.log.area import pages
from tuimatch.log.choice import Choice, seconds_now
from tuimatch.palette.model import Palette
from tuimatch.palette.uncertainty import ESTIMATED_IN_WORDS
from tuimatch.text import percent

if TYPE_CHECKING:
    from tuimatch.log import Log
    from tuimatch.match.verdict import Verdict
    from tuimatch.recipe.dots import Picture
    from tuimatch.recipe.recipes import Recipes

NO_PROOF = (
    "A colour on a screen is not a proof: screens differ, and paper is not lit from behind. "
    "What counts is the recipe, and the printer's word on ink limits and paper."
)

# The close-up of the dots, in pixels: some six dots high.
_HEIGHT, _WIDTH, _PERIOD = 80, 120, 13.0


@dataclass(frozen=True)
class Lay:
    """One ink to lay.

    Attributes:
        tint: Percent.
        label: What the artist calls this tint, or None.
        text: Ink and tint as the guide writes them: ``yellow: pale 25 %``.
    """

    ink: str
    tint: float
    label: str | None
    text: str


@dataclass(frozen=True, eq=False)
class Entry:
    """A choice as the guide shows it.

    Attributes:
        laying: The inks in the order they are laid.
        dots: The close-up as 8-bit sRGB, shape (height, width, 3); None when the palette is lost.
        cautions: What to beware of, in sentences.
        verdict: How far the palette, within its coverage limit, reaches the colour; None when the
            palette is lost.
    """

    choice: Choice
    laying: tuple[Lay, ...]
    dots: Picture | None
    cautions: tuple[str, ...]
    verdict: Verdict | None


@dataclass(frozen=True)
class Used:
    """A palette that choices of the project were made with.

    Attributes:
        stem: The name it went by.
        palette: As it was; None when its text is lost.
        choices: How many were made with it.
        dated: Whether another text of the same name was used too.
    """

    stem: str
    digest: str
    palette: Palette | None
    choices: int
    dated: bool

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to beware of with this palette, in sentences."""
        said = []
        if self.palette is None:
            said.append("This palette is lost; its recipes are listed as they were taken.")
        elif self.palette.estimated:
            said.append(ESTIMATED_IN_WORDS)
        if self.dated:
            said.append("Another version of this palette was used too; both are listed.")
        return tuple(said)


@dataclass(frozen=True, eq=False)
class Sheet:
    """The guide of a project.

    Attributes:
        made_at: UTC, ISO 8601.
        entries: By page, then as they were taken.
        palettes: In order of first use.
    """

    project: str
    made_at: str
    entries: tuple[Entry, ...]
    palettes: tuple[Used, ...]

    @property
    def pages(self) -> list[tuple[str, list[Entry]]]:
        """The entries of each page, those without a page last; what is on two stands on both."""
        found: dict[str, tuple[str, list[Entry]]] = {}
        for entry in sorted(self.entries, key=lambda entry: entry.choice.id):
            for page in pages(entry.choice.page):
                _, entries = found.setdefault(page.casefold(), (page, []))
                if entry not in entries[-1:]:
                    entries.append(entry)
        return sorted(found.values(), key=lambda page: _page_order(page[0]))


def page_title(page: str) -> str:
    """The heading of a page: ``Page 12``, ``Cover``."""
    if not page:
        return "Without a page"
    return f"Page {page}" if page[0].isdecimal() else page[0].upper() + page[1:]


def gather(log: Log, project: str, choices: Sequence[Choice] | None = None) -> Sheet:
    """The guide of a project as it stands.

    Args:
        log: Where it is kept.
        project: Its name.
        choices: Its choices to put into the guide; all of them unless given.

    Raises:
        LogError: There is no such project, or the log cannot be read.
    """
    _, name = log.projects.existing(project)
    if choices is None:
        choices = log.choices(name)
    palettes = {choice.palette_digest: log.palette(choice) for choice in choices}
    mixed = {digest: _mix(palette) for digest, palette in palettes.items() if palette}
    used: dict[tuple[str, str], int] = {}
    for choice in choices:
        key = choice.palette, choice.palette_digest
        used[key] = used.get(key, 0) + 1
    stems = [stem for stem, _ in used]
    return Sheet(
        project=name,
        made_at=seconds_now(),
        entries=tuple(
            _entry(choice, mixed.get(choice.palette_digest))
            for choice in sorted(choices, key=lambda choice: (_page_order(choice.page), choice.id))
        ),
        palettes=tuple(
            Used(stem, digest, palettes[digest], count, stems.count(stem) > 1)
            for (stem, digest), count in used.items()
        ),
    )


def _mix(palette: Palette) -> Recipes:
    from tuimatch.recipe import recipes

    return recipes.mix(palette)


def _page_order(page: str) -> tuple[object, ...]:
    """The cover and the like first, then by number; without a page last."""
    parts = re.split(r"(\d{1,9})", page.casefold(), flags=re.ASCII)
    natural = tuple((int(p), "") if i % 2 else (-1, p) for i, p in enumerate(parts) if p)
    return (not page, natural and natural[0][0] >= 0, natural)


def _entry(choice: Choice, mixed: Recipes | None) -> Entry:
    palette = None if mixed is None else mixed.palette
    laying = []
    for ink, tint in choice.tints.items():
        position = palette.ink_position(ink) if palette else None
        own = palette.inks[position] if palette and position is not None else None
        if tint:
            words = own.tint_words(tint) if own else f"{ink} {percent(tint)} %"
            laying.append(Lay(ink, tint, own.label(tint) if own else None, words))
    from tuimatch.match.answer import Question, known, match, row_of

    row = None if mixed is None else row_of(mixed, choice)
    if mixed is None or row is None:
        return Entry(choice, tuple(laying), None, (), None)
    from tuimatch.colour import target
    from tuimatch.match import limits
    from tuimatch.match.verdict import Reached, in_short
    from tuimatch.recipe import dots

    wanted = target.from_lab(choice.meant_lab, choice.target_text, Intent.ABSOLUTE)
    question = Question(wanted, narrowing=limits.start(mixed.palette))
    answer = match(mixed, question, known(mixed), top=1)
    judged, limit = answer.verdict, mixed.palette.coverage_limit
    above = limit is not None and not answer.allowed[row]
    cautions = []
    if judged is not None and judged.reached is not Reached.WITHIN:
        words = in_short(judged)
        within = " within the coverage limit" if above else ""
        cautions.append(f"{words[0].upper()}{words[1:]}{within}.")
    if mixed.clipped[row]:
        cautions.append("Beyond the screen (outside sRGB): it is shown as near as a screen can.")
    if limit is not None and above:
        cautions.append(f"Above the coverage limit of {percent(limit)} %.")
    picture = dots.Press(mixed).picture(row, dots.View(_HEIGHT, _WIDTH, _PERIOD))
    return Entry(choice, tuple(laying), picture, tuple(cautions), judged)
