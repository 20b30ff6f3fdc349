"""The page without a terminal: its flats, their recipes, and where the cursor is.

The screen shows a state and calls it. What takes long is a function of values, for a thread:
`opened` reads the page, unless that is done, and matches it. A list of colours is a page as well:
a square for each, of which every one may stand beside every other.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from rich.cells import cell_len

from tuimatch.errors import UsageError
from tuimatch.text import printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tuimatch.colour.intent import Intent
    from tuimatch.colour.target import Target
    from tuimatch.match.limits import Narrowing
    from tuimatch.match.typed_colours import Named
    from tuimatch.picture.flats import Flats
    from tuimatch.picture.picture import Picture
    from tuimatch.planning.page import Colour, FarOff, Page
    from tuimatch.planning.page_match import PageMatch, Watch
    from tuimatch.recipe.recipes import Recipes
    from tuimatch.tui.screens.page_dots import Dots
    from tuimatch.tui.widgets.flat_lists import FlatLine

Order = Literal["reading", "size", "worst"]
ORDERS: dict[Order, str] = {
    "reading": "in reading order",
    "size": "the largest first",
    "worst": "the worst first",
}
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


@dataclass(frozen=True, eq=False)
class Listed:
    """A list of colours.

    Attributes:
        file: Where it comes from.
        colours: With their labels.
    """

    file: str
    colours: tuple[Named, ...]


@dataclass(frozen=True)
class Asked:
    """What a page is to be: everything that reading and matching it depends on.

    Attributes:
        source: The page, a picture or a list.
        keep: The colours of the line art, or those left out of a list, as they are written.
        labels: What colours are called, by hex.
        locked: Recipes that colours keep, as tints in percent, by hex.
        narrowing: The limits.
        intent: How colours are fitted to the paper; None for the palette's usual way.
        least_share: The least share of the page that a flat must have, percent.
        tolerance: How much ΔE over its nearest recipe a colour may have; any where it is None.
        max_passes: At most so many tints of inks; any number where it is None.
    """

    source: Picture | Listed
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
        flats: What was read of a picture; None of a list.
        small: The same with fewer pixels, to be looked at.
        page: The colours.
        match: Their recipes.
        far: The colours that are far off, the worst first.
    """

    asked: Asked
    flats: Flats | None
    small: Flats | None
    page: Page
    match: PageMatch
    far: tuple[FarOff, ...]


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
        TuimatchError: It does not consist of flats, or the limits leave no recipe.
    """
    from tuimatch.planning import page as pages

    found = None
    if isinstance(asked.source, Listed):
        page = pages.of_list(_left(asked), recipes, asked.intent)
    else:
        found = known or _read(asked, asked.source)
        page = pages.of_flats(found, recipes, asked.intent, asked.labels)
    rows = {
        place: recipes.row_of(asked.locked[colour.given.text])
        for place, colour in enumerate(page.colours)
        if colour.given.text in asked.locked
    }
    match = pages.solve(
        page,
        asked.narrowing,
        locked={place: row for place, row in rows.items() if row is not None},
        tolerance=asked.tolerance,
        max_passes=asked.max_passes,
        watch=watch,
    )
    far = pages.far_off(page, match, asked.narrowing)
    return Opened(asked, found, found and _small(found), page, match, far)


def _read(asked: Asked, picture: Picture) -> Flats:
    from tuimatch.colour import target
    from tuimatch.picture import flats

    keep = [target.parse(text) for text in asked.keep]
    return flats.find(picture, keep, least_share=asked.least_share)


def _left(asked: Asked) -> list[Named]:
    """What is left of a list, with the labels that are known."""
    assert isinstance(asked.source, Listed)
    left = [one for one in asked.source.colours if one.target.text not in asked.keep]
    if not left:
        raise UsageError("that was the last colour of the list; it stays")
    return [one._replace(label=one.label or asked.labels.get(one.target.text, "")) for one in left]


def _small(found: Flats) -> Flats:
    """Every so many-th pixel of a large page."""
    from tuimatch.picture.picture import Picture

    page = found.page
    step = -(-max(page.width, page.height) // _SMALL)
    if step == 1:
        return found
    alpha = None if page.alpha is None else page.alpha[::step, ::step]
    picture = Picture(page.file, page.pixels[::step, ::step].copy(), alpha, page.notes)
    flats = tuple(
        replace(one, place=(one.place[0] // step, one.place[1] // step)) for one in found.flats
    )
    return replace(found, page=picture, flats=flats, map=found.map[::step, ::step].copy())


class PageState:
    """A page that is looked at.

    Attributes:
        asked: What the page is to be; what is shown may still be of an older question.
        shown: The page as it was last read and matched; None before that.
        order: The places of the flats in the order of the cursor.
        by: Which order that is.
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
        self.by: Order = "reading"
        self.place = 0
        self.look: Look = "printed"
        self.split = 0.5
        self.number = ""
        self._line_art_asked = False
        self._kept = self._warned = self._own

    @property
    def _own(self) -> tuple[object, ...]:
        """What only the artist knows: the names, and the recipes that are locked."""
        labels = {text: label for text, label in self.asked.labels.items() if label}
        return self.asked.source, labels, self.asked.locked

    def kept(self) -> None:
        """The log has it all now."""
        self._kept = self._own

    def warns(self) -> bool:
        """Whether names or locks are not in the log and would be lost; said once of the same."""
        if self._own in (self._kept, self._warned):
            return False
        self._warned = self._own
        return True

    @property
    def is_picture(self) -> bool:
        """Whether the page is a picture, not a list."""
        return not isinstance(self.asked.source, Listed)

    @property
    def known(self) -> Flats | None:
        """The flats, where they are read with the line art that is asked for."""
        return self._read[1] if self._read and self._read[0] == self.asked.keep else None

    def show(self, shown: Opened) -> None:
        """Show a new answer, the cursor on the colour where it was."""
        if shown.flats is not None:
            self._read = (shown.asked.keep, shown.flats)
        before = self.colour.given.text if self.shown and self.order else None
        self.shown = shown
        self._order()
        again = [i for i, c in enumerate(shown.page.colours) if c.given.text == before]
        self.place = again[0] if again else self.order[0]

    def _order(self) -> None:
        assert self.shown is not None
        self.order = list(range(len(self.shown.page.colours)))
        if self.by == "worst":
            self.order.sort(key=lambda i: -self._delta_e[i])
        elif self.by == "reading" and (found := self.shown.flats) is not None:
            # Rows of a page, as they are read: a band of a tenth of its height is one line.
            band = max(found.page.height // 10, 1)
            places = [flat.place for flat in found.flats]
            self.order.sort(key=lambda i: (places[i][1] // band, places[i][0]))

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
        """Move to the next flat, or another, and round at the ends."""
        if self.order:
            self.place = self.order[(self.at + by) % len(self.order)]

    def turn_order(self) -> None:
        """Change the order: reading, largest first, worst first; a list has no sizes."""
        orders: list[Order] = (
            ["reading", "size", "worst"] if self.is_picture else ["reading", "worst"]
        )
        self.by = orders[(orders.index(self.by) + 1) % len(orders)]
        if self.shown is not None:
            self._order()

    @property
    def order_in_words(self) -> str:
        """The order of the cursor."""
        return ORDERS[self.by] if self.is_picture or self.by == "worst" else "as listed"

    @property
    def at(self) -> int:
        """Where the cursor is in that order."""
        return self.order.index(self.place)

    @property
    def _delta_e(self) -> Sequence[float]:
        assert self.shown is not None
        return self.shown.match.delta_e

    def next_look(self) -> None:
        """Show the page as printed, split, or as given."""
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

    def line_art_to_ask(self) -> str | None:
        """A colour to be asked about, which looks like line art; the cursor goes to it.

        Nothing is asked twice, or where it is known what the line art is.
        """
        from tuimatch.picture.line_art import likely

        asked, self._line_art_asked = self._line_art_asked, True
        if asked or self.asked.keep or self.shown is None or self.shown.flats is None:
            return None
        place = likely(self.shown.flats)
        if place is None:
            return None
        self.place = place
        return self.colour.given.text

    def bring_back(self) -> bool:
        """Take what was kept out last for a flat again; whether there was any."""
        had = bool(self.asked.keep)
        self.asked = replace(self.asked, keep=self.asked.keep[:-1])
        return had

    def label(self, text: str) -> None:
        """Name the flat under the cursor."""
        self._name({self.place: text})

    def label_all(self, named: Sequence[Named]) -> str:
        """Name the flats of some colours; what came of it, in words."""
        assert self.shown is not None
        labels = {one.target.srgb: one.label for one in named if one.label}
        found = {
            place: labels[colour.given.srgb]
            for place, colour in enumerate(self.shown.page.colours)
            if colour.given.srgb in labels
        }
        self._name(found)
        here = {colour.given.srgb for colour in self.shown.page.colours}
        others = len({one.target.srgb for one in named} - here)
        named_now = f"{_counted(len(found))} named" if found else "nothing named"
        return f"{named_now}; {others} of the colours not on this page" if others else named_now

    def _name(self, names: dict[int, str]) -> None:
        assert self.shown is not None
        page, source = self.shown.page, self.asked.source
        labels = {page.colours[place].given.text: text for place, text in names.items()}
        if isinstance(source, Listed):  # where one colour may have several names
            own = {id(page.colours[place].given): text for place, text in names.items()}
            listed = (
                one._replace(label=own.get(id(one.target), one.label)) for one in source.colours
            )
            source = replace(source, colours=tuple(listed))
        self.asked = replace(self.asked, source=source, labels={**self.asked.labels, **labels})
        colours = tuple(
            replace(one, label=names.get(place, one.label))
            for place, one in enumerate(page.colours)
        )
        self.shown = replace(self.shown, asked=self.asked, page=replace(page, colours=colours))

    def point_at(self, colour: Target) -> bool:
        """Go to the flat of a colour; whether there is one."""
        assert self.shown is not None
        for place, one in enumerate(self.shown.page.colours):
            if one.given.srgb == colour.srgb:
                self.place = place
                return True
        return False

    # What there is to say.

    def beside(self) -> list[Beside]:
        """The neighbours of the flat under the cursor: the longest border first, then the nearest.

        In a list each colour may stand beside each other.
        """
        from tuimatch.colour.colorimetry import delta_e

        assert self.shown is not None
        page, match = self.shown.page, self.shown.match
        lab, colours = page.recipes.lab, page.colours
        why_not = {
            frozenset((match.relations[i].first, match.relations[i].second)): why
            for i, why in match.why_not.items()
        }
        borders = {
            n.second if n.first == self.place else n.first: n.border
            for n in page.neighbours
            if self.place in (n.first, n.second)
        }
        if not borders:
            return []
        printed = delta_e(lab[self.row], lab[[match.rows[other] for other in borders]])
        given = delta_e(self.colour.given.lab, [colours[other].given.lab for other in borders])
        found = [
            Beside(other, float(p), float(g), why_not.get(frozenset((self.place, other)), ""))
            for other, p, g in zip(borders, printed, given, strict=True)
        ]
        return sorted(found, key=lambda one: (-borders[one.place], one.delta_e))

    def beside_lines(self) -> list[FlatLine]:
        """The neighbours, each with how far its recipe and its colour are from this one's."""
        assert self.shown is not None
        return [
            self._line(one.place, f"{one.delta_e:5.1f}{one.given:6.1f}", one.why_not)
            for one in self.beside()
        ]

    def flat_lines(self) -> list[FlatLine]:
        """All flats in the order of the cursor, each with how far its recipe is from it."""
        assert self.shown is not None
        remarks = {one.place: one.words for one in self.shown.far}
        for place, colour in enumerate(self.shown.page.colours):
            if colour.given.text in self.asked.locked:
                remarks[place] = "locked"
        return [
            self._line(place, f"{self._delta_e[place]:5.1f}", remarks.get(place, ""))
            for place in self.order
        ]

    def _line(self, place: int, numbers: str, remark: str) -> FlatLine:
        from tuimatch.tui.widgets.flat_lists import FlatLine

        assert self.shown is not None
        colour, recipes = self.shown.page.colours[place], self.shown.page.recipes
        printed = recipes.rgb_of(self.shown.match.rows[place])
        names = colour.name_in_words, colour.name
        return FlatLine(place, colour.meant.srgb, printed, numbers, *names, remark)

    def head(self, width: int) -> str:
        """The page, what came of matching it, and how near it comes: in as many words as fit."""
        from tuimatch.planning.page import overall

        assert self.shown is not None
        page, match, found = self.shown.page, self.shown.match, self.shown.flats
        what = "colours" if found is None else "flats"
        name = f"{printable(Path(self.asked.source.file).name)}: {len(page.colours)} {what}"
        on = f"on {printable(page.recipes.palette.name)}"
        line_art = ", line art kept out" if found is not None and found.kept_out else ""
        which = "pairs" if found is None else "pairs of neighbours"
        every = len(match.relations)
        kept = f"{every - len(match.why_not)} of {every}"
        certainty = match.certainty()
        whole = (
            (f"{name}{line_art}, {on}", f"{name}, {on}", name),
            (
                f"{kept} {which} still differ; {certainty}",
                f"{kept} still differ; {certainty}",
                f"{kept} still differ",
            ),
            tuple(overall(page, match, self.shown.far)),
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
        share = "" if self.shown.flats is None else f"  {colour.share:.1%}"
        return [
            f"{colour.label or 'no label yet'}  {colour.given.text}{share}",
            f"{page.recipes.palette.recipe_words(page.recipes.tints_of(self.row))}{locked}",
            f"ΔE {match.delta_e[self.place]:.1f}, {reached}{moved}",
        ]

    # The picture.

    def dots(self, columns: int, rows: int) -> Dots:
        """The page in dots, a picture as large as fits into so many."""
        from tuimatch.tui.screens import page_dots

        assert self.shown is not None
        page, small, recipes = self.shown.page, self.shown.small, self.shown.page.recipes
        printed = [recipes.rgb_of(row) for row in self.shown.match.rows]
        if small is None:
            return page_dots.of_list(page.colours, printed, columns, rows)
        return page_dots.of_flats(small, printed, columns, rows)


def _counted(flats: int) -> str:
    return "1 flat" if flats == 1 else f"{flats} flats"
