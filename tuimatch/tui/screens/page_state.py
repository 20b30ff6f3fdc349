"""The page without a terminal: its flats, what they are matched to, and where one looks.

The screen shows a state and calls it. What takes long is a function of values, for a thread:
`opened` reads the page, unless that is done, and matches it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from rich.cells import cell_len

from tuimatch.text import printable

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    import numpy.typing as npt

    from tuimatch.colour.intent import Intent
    from tuimatch.match.limits import Narrowing
    from tuimatch.picture.flats import Flats
    from tuimatch.picture.picture import Picture
    from tuimatch.planning.page import Colour, Page
    from tuimatch.planning.page_match import PageMatch, Watch
    from tuimatch.recipe.recipes import Recipes

Look = Literal["printed", "split", "given"]
LOOKS: tuple[Look, ...] = ("printed", "split", "given")
# A page is looked at in some hundred dots: that many pixels on its longer side are enough.
_SMALL = 1600


class Beside(NamedTuple):
    """A neighbour of the flat looked at.

    Attributes:
        place: Its place among the flats.
        delta_e: Between the two recipes.
        given: Between the two flats as given.
        why_not: Why their relation is not kept; empty where it is, or there is none.
    """

    place: int
    delta_e: float
    given: float
    why_not: str


@dataclass(frozen=True)
class Asked:
    """What a page is to be: everything that reading and matching it depends on.

    Attributes:
        picture: The page.
        keep: The colours of the line art, as hex.
        labels: What colours are called, by hex.
        locked: Recipes that colours keep, as tints in percent, by hex.
        narrowing: The limits.
        intent: How colours are taken; as the palette does it where it is None.
        least_share: What a flat must have of the page, percent.
        tolerance: How much ΔE over its nearest recipe a colour may have; any where it is None.
        max_passes: At most so many tints of inks; any number where it is None.
    """

    picture: Picture
    narrowing: Narrowing
    keep: tuple[str, ...] = ()
    labels: dict[str, str] = field(default_factory=dict)
    locked: dict[str, tuple[float, ...]] = field(default_factory=dict)
    intent: Intent | None = None
    least_share: float = 0.005
    tolerance: float | None = None
    max_passes: int | None = None


@dataclass(frozen=True, eq=False)
class Opened:
    """A page that is read and matched.

    Attributes:
        asked: What was asked.
        flats: What was read.
        small: The same with fewer pixels, to be looked at.
        page: The colours.
        match: Their recipes.
    """

    asked: Asked
    flats: Flats
    small: Flats
    page: Page
    match: PageMatch


def opened(
    asked: Asked,
    recipes: Recipes,
    watch: Watch | None = None,
    known: Flats | None = None,
) -> Opened:
    """Read the page, unless that is done, and match it.

    Args:
        asked: What the page is to be.
        recipes: Of the palette.
        watch: Looks on and may stop the matching.
        known: The flats, where they are known.

    Raises:
        TuimatchError: It does not consist of flats, or nothing may be offered.
    """
    from tuimatch.colour import target
    from tuimatch.picture import flats
    from tuimatch.planning import page as pages

    found = known
    if found is None:
        keep = [target.parse(text) for text in asked.keep]
        found = flats.find(asked.picture, keep, least_share=asked.least_share)
    page = pages.of_flats(found, recipes, asked.intent, asked.labels)
    locked = {}
    for place, flat in enumerate(found.flats):
        row = recipes.row_of(asked.locked[flat.colour]) if flat.colour in asked.locked else None
        if row is not None:
            locked[place] = row
    match = pages.solve(
        page,
        asked.narrowing,
        locked=locked,
        tolerance=asked.tolerance,
        max_passes=asked.max_passes,
        watch=watch,
    )
    return Opened(asked, found, _small(found), page, match)


def _small(found: Flats) -> Flats:
    """Every so many-th pixel of a large page."""
    from tuimatch.picture.picture import Picture

    page = found.page
    step = -(-max(page.width, page.height) // _SMALL)
    if step == 1:
        return found
    alpha = None if page.alpha is None else page.alpha[::step, ::step]
    picture = Picture(page.file, page.pixels[::step, ::step].copy(), alpha, page.notes)
    return replace(found, page=picture, map=found.map[::step, ::step].copy())


class PageState:
    """A page that is looked at.

    Attributes:
        asked: What the page is to be; what is shown may still be of an older question.
        shown: The page as it was last read and matched; None before that.
        order: The places of the flats in the order of the cursor.
        by_size: Whether the largest is first, rather than in reading order.
        place: The flat under the cursor.
        look: Whether the page is seen as printed, as given, or split.
        split: Where the line between is, 0…1.
        number: The page's number in the log.
    """

    def __init__(self, asked: Asked, found: Flats | None = None) -> None:
        """Begin.

        Args:
            asked: What the page is to be.
            found: Its flats, where they are read already.
        """
        self.asked = asked
        self._read = None if found is None else (asked.keep, found)
        self.shown: Opened | None = None
        self.order: list[int] = []
        self.by_size = False
        self.place = 0
        self.look: Look = "printed"
        self.split = 0.5
        self.number = ""

    @property
    def known(self) -> Flats | None:
        """The flats, where they are read with the line art that is asked for."""
        return self._read[1] if self._read and self._read[0] == self.asked.keep else None

    def show(self, shown: Opened) -> None:
        """Show a new answer, the cursor on the colour where it was."""
        self._read = (shown.asked.keep, shown.flats)
        before = self.colour.given.text if self.shown and self.order else None
        self.shown = shown
        self._order()
        again = [i for i, c in enumerate(shown.page.colours) if c.given.text == before]
        self.place = again[0] if again else self.order[0]

    def _order(self) -> None:
        assert self.shown is not None
        flats = self.shown.flats.flats
        # Rows of a page, as they are read: a band of a tenth of its height is one line.
        band = max(self.shown.flats.page.height // 10, 1)
        self.order = list(range(len(flats)))
        if not self.by_size:
            self.order.sort(key=lambda i: (flats[i].place[1] // band, flats[i].place[0]))

    @property
    def colour(self) -> Colour:
        """The colour under the cursor."""
        assert self.shown is not None
        return self.shown.page.colours[self.place]

    @property
    def row(self) -> int:
        """The row of its recipe."""
        assert self.shown is not None
        return self.shown.match.rows[self.place]

    def move(self, by: int) -> None:
        """To the next flat, or another; round at the ends."""
        if self.order:
            at = (self.order.index(self.place) + by) % len(self.order)
            self.place = self.order[at]

    def turn_order(self) -> None:
        """In reading order, or the largest first."""
        self.by_size = not self.by_size
        if self.shown is not None:
            self._order()

    def next_look(self) -> None:
        """As printed, split, as given."""
        self.look = LOOKS[(LOOKS.index(self.look) + 1) % len(LOOKS)]

    def move_split(self, by: float) -> None:
        """Move the line between given and printed, which makes it seen."""
        if self.look == "split":
            self.split = min(max(self.split + by, 0.0), 1.0)
        self.look = "split"

    # What is to be changed.

    @property
    def is_locked(self) -> bool:
        """Whether the flat under the cursor keeps its recipe."""
        return self.colour.given.text in self.asked.locked

    def lock(self, place: int, row: int) -> None:
        """Let a flat keep a recipe."""
        assert self.shown is not None
        colour = self.shown.page.colours[place].given.text
        tints = self.shown.page.recipes.tints_of(row)
        self.asked = replace(self.asked, locked={**self.asked.locked, colour: tints})

    def turn_lock(self) -> None:
        """Let the flat under the cursor keep the recipe it has, or free it."""
        if self.is_locked:
            colour = self.colour.given.text
            rest = {c: tints for c, tints in self.asked.locked.items() if c != colour}
            self.asked = replace(self.asked, locked=rest)
        else:
            self.lock(self.place, self.row)

    def keep_out(self) -> None:
        """Take the colour under the cursor for line art."""
        self.asked = replace(self.asked, keep=(*self.asked.keep, self.colour.given.text))

    def bring_back(self) -> bool:
        """Take what was kept out last for a flat again; whether there was any."""
        had = bool(self.asked.keep)
        self.asked = replace(self.asked, keep=self.asked.keep[:-1])
        return had

    def label(self, text: str) -> None:
        """Name the flat under the cursor."""
        assert self.shown is not None
        colour = self.colour.given.text
        self.asked = replace(self.asked, labels={**self.asked.labels, colour: text})
        colours = tuple(
            replace(one, label=text) if place == self.place else one
            for place, one in enumerate(self.shown.page.colours)
        )
        page = replace(self.shown.page, colours=colours)
        self.shown = replace(self.shown, asked=self.asked, page=page)

    # What there is to say.

    def beside(self) -> Iterator[Beside]:
        """The neighbours of the flat under the cursor, the longest border first."""
        from tuimatch.colour.colorimetry import delta_e

        assert self.shown is not None
        page, match = self.shown.page, self.shown.match
        lab, colours = page.recipes.lab, page.colours
        why_not = {
            frozenset((match.relations[i].first, match.relations[i].second)): why
            for i, why in match.why_not.items()
        }
        for n in sorted(page.neighbours, key=lambda n: -n.border):
            if self.place in (n.first, n.second):
                other = n.second if n.first == self.place else n.first
                yield Beside(
                    other,
                    float(delta_e(lab[self.row], lab[match.rows[other]])),
                    float(delta_e(self.colour.given.lab, colours[other].given.lab)),
                    why_not.get(frozenset((self.place, other)), ""),
                )

    def head(self, width: int) -> str:
        """The page, and what came of matching it: two lines, in as many words as there is room."""
        assert self.shown is not None
        page, match, found = self.shown.page, self.shown.match, self.shown.flats
        name = f"{printable(Path(found.page.file).name)}: {len(page.colours)} flats"
        on = f"on {printable(page.recipes.palette.name)}"
        line_art = ", line art kept out" if found.kept_out else ""
        every = len(match.relations)
        kept = f"{every - len(match.why_not)} of {every}"
        certainty = match.certainty()
        whole = (
            (f"{name}{line_art}, {on}", f"{name}, {on}", name),
            (
                f"{kept} pairs of neighbours still differ; {certainty}",
                f"{kept} still differ; {certainty}",
                f"{kept} still differ",
            ),
        )
        return "\n".join(
            next((words for words in line if cell_len(words) <= width), line[-1]) for line in whole
        )

    def facts(self) -> list[str]:
        """What there is to say of the flat under the cursor."""
        from tuimatch.planning.page import verdict

        assert self.shown is not None
        page, match, colour = self.shown.page, self.shown.match, self.colour
        alone = match.alone_delta_e[self.place]
        moved = "" if self.row == match.alone[self.place] else f"; alone it would be {alone:.1f}"
        reached = verdict(page, match, self.place, self.asked.narrowing).words
        locked = ", locked" if self.is_locked else ""
        return [
            f"{colour.label or 'no label yet'}  {colour.given.text}  {colour.share:.1%}",
            f"{page.recipes.palette.recipe_words(page.recipes.tints_of(self.row))}{locked}",
            f"ΔE {match.delta_e[self.place]:.1f}, {reached}{moved}",
        ]

    # The picture.

    def dots(self, columns: int, rows: int) -> Dots:
        """The page in dots, as large as fits into so many."""
        import numpy as np

        assert self.shown is not None
        small, match, recipes = self.shown.small, self.shown.match, self.shown.page.recipes
        given = small.page.view(columns, rows)
        painted = small.painted([recipes.rgb_of(row) for row in match.rows])
        printed = replace(small.page, pixels=painted).view(columns, rows)
        x = (given.x[:-1] + given.x[1:]) // 2
        y = (given.y[:-1] + given.y[1:]) // 2
        places = np.array(small.map[y[:, None], x])
        self._point_at_tiny_ones(places)
        return Dots(given.pixels, printed.pixels, places, given.x, given.y)

    def _point_at_tiny_ones(self, places: npt.NDArray[np.uint8]) -> None:
        """A flat that is in the middle of no dot gets the one it lies in, so that it is found."""
        assert self.shown is not None
        page = self.shown.flats.page
        rows, columns = places.shape
        seen = set(places.reshape(-1).tolist())
        for place, flat in enumerate(self.shown.flats.flats):
            if place not in seen:
                x, y = flat.place
                places[y * rows // page.height, x * columns // page.width] = place


class Dots(NamedTuple):
    """A page made small.

    Attributes:
        given: 8-bit sRGB as it is, shape (rows, columns, 3).
        printed: The same as it will come out.
        places: The place of the flat in the middle of each dot, shape (rows, columns).
        x: Where each column starts in the small page, and where the last ends.
        y: The same for rows.
    """

    given: npt.NDArray[np.uint8]
    printed: npt.NDArray[np.uint8]
    places: npt.NDArray[np.uint8]
    x: npt.NDArray[np.intp]
    y: npt.NDArray[np.intp]
