"""The list of candidates, each with its own small seam; a key redraws two rows, not the list."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from tuimatch.colour.difference_words import fewer
from tuimatch.text import percent, printable
from tuimatch.tui.widgets.block_list import DIM, PLAIN, BlockList
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.paint import block

if TYPE_CHECKING:
    from tuimatch.match.answer import Match
    from tuimatch.match.ranking import Candidate
    from tuimatch.palette.model import Ink

_SEAM = 3  # cells of each colour in a row's own seam
_DELTA_E = 6
# Cells that the words of difference must be left: all of them mostly, two, or one.
_ALL_WORDS, _MOST_WORDS, _A_WORD = 28, 24, 15
_LEAST_NAME = 6
InWords = Callable[["Ink", float], str]
_HERE = Style(bold=True, bgcolor="#4a4a4a")


class RankedList(BlockList):
    """Candidates with their seam, ΔE and tints; the cursor says which one is meant.

    A recipe that is marked stands above the others, with its own rank and why it is there.
    """

    HEAD = 1

    def __init__(self) -> None:
        super().__init__()
        self._match: Match | None = None
        self._columns: list[tuple[str, int]] = []
        self._in_words = _in_percent  # how a tint is written
        self._rank = 4  # cells of the rank and the space after it
        self._strips: dict[tuple[int, bool], Strip] = {}  # drawn rows keep their escape codes

    def __len__(self) -> int:
        return self._count

    @property
    def candidate(self) -> Candidate | None:
        """The candidate under the cursor."""
        return self.candidate_at(self.cursor) if len(self) else None

    def candidate_at(self, place: int) -> Candidate:
        """The candidate at a place of the list, from 0."""
        assert self._match is not None
        return self._match.ranking.beside(int(self._match.listed[place]))

    def show(self, match: Match) -> None:
        """Show a new answer from its top."""
        self._match = match
        self._set_columns()
        self.show_blocks(len(match.listed))

    def point_at(self, row: int) -> bool:
        """Put the cursor on a recipe; whether it is in the list."""
        places = [] if self._match is None else (self._match.listed == row).nonzero()[0].tolist()
        if places:
            self.cursor = places[0]
        return bool(places)

    def on_resize(self) -> None:
        """Fit the columns, and keep the cursor in view."""
        super().on_resize()
        self._set_columns()

    def _set_columns(self) -> None:
        """Heading and width of each ink's column: what leaves room for the words of difference.

        Tints in the artist's words with their percentages, in those words alone, in percent; or
        under the symbols of the inks.
        """
        self._strips.clear()
        if self._match is None:
            return
        self._rank = max(3, len(str(len(self._match.ranking)))) + 1
        inks = self._match.recipes.palette.inks
        room = self.size.width - self._left - _DELTA_E * (2 if self._held else 1) - 2
        ways = [(_in_percent, _name, _MOST_WORDS), (_in_percent, _symbol, 0)]
        if any(ink.labels for ink in inks):
            ways = [(_in_full, _name, _ALL_WORDS), (_in_words, _name, _A_WORD), *ways]
        for in_words, heading, least in ways:
            self._in_words = in_words
            self._columns = [_column(ink, heading(ink), in_words) for ink in inks]
            if sum(width for _, width in self._columns) + least <= room:
                return
        if sum(width for _, width in self._columns) > room + 2:
            self._columns = [("", 0) for _ in inks]

    @property
    def _left(self) -> int:
        """Cells of mark, rank and seam."""
        return 1 + self._rank + 2 * _SEAM

    @property
    def words_begin(self) -> int:
        """The cell at which the words of a row begin."""
        numbers = _DELTA_E * (2 if self._held else 1)
        return self._left + numbers + sum(width for _, width in self._columns)

    @property
    def _held(self) -> str:
        """The attribute that is put first; empty for none."""
        return self._match.question.hold.word if self._match else ""

    def head_line(self, part: int, width: int) -> list[Segment]:
        """What is put first, and the inks."""
        if self._match is None:
            return []
        held = f"{self._held} first".rjust(self._left + _DELTA_E) if self._held else ""
        heads = "".join(_right(name, w) for name, w in self._columns)
        return [Segment(held.ljust(self._left) + "ΔE".rjust(_DELTA_E) + heads, DIM)]

    def block_strip(self, place: int, part: int) -> Strip:
        """A candidate's row, drawn once."""
        key = (place, place == self.cursor)
        if key not in self._strips:
            self._strips[key] = super().block_strip(place, part)
        return self._strips[key]

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Mark, rank, seam, ΔE, tints, and how it differs where there is room."""
        assert self._match is not None
        match, candidate, recipes = self._match, self.candidate_at(place), self._match.recipes
        here = place == self.cursor
        style, dim = (_HERE, _HERE) if here else (PLAIN, DIM)
        why = match.marks.get(candidate.row, "")
        numbers = f"{candidate.delta_e:{_DELTA_E}.2f}"
        if self._held:  # what it is ordered by stands first
            numbers = f"{match.ranking.ordered_by(candidate.row):{_DELTA_E}.2f}{numbers}"
        inks, tints = recipes.palette.inks, recipes.tints_of(candidate.row)
        for (_, w), ink, tint in zip(self._columns, inks, tints, strict=True):
            numbers += set_cell_size(_right(self._in_words(ink, tint) if tint else "·", w), w)
        rank = str(candidate.rank or "–")  # beyond the list
        used = self._left + cell_len(numbers)
        words = self._words(match, candidate, why, width - used - 2)
        return [
            Segment("▸" if here else " ", style),
            Segment(f"{rank:>{self._rank - 1}} ", style),
            block(match.meant.srgb, _SEAM),
            block(recipes.rgb_of(candidate.row), _SEAM),
            Segment(numbers, style),
            Segment(set_cell_size(f"  {words}", max(0, width - used)), dim),
        ]

    def _words(self, match: Match, candidate: Candidate, why: str, room: int) -> str:
        """Why it is marked, and under which label the project holds it or how it differs."""
        labels = match.held.used.get(candidate.row)
        if room < _LEAST_NAME:
            return ""
        if labels:
            palette, tints = match.recipes.palette, match.recipes.tints_of(candidate.row)
            nameless = palette.recipe_text(tints)  # what an area without a label is called by
            names = printable(" · ".join(label for label in labels if label != nameless))
            used = f"used for {names}" if names else "used before"
            ways = [f"{used}; {why}"] * bool(why) + [used]
            return whole(room, *ways, names or "used")
        said = fewer(candidate.differs, room - cell_len(f"{why}: ") if why else room)
        if why:
            return f"{why}: {said}" if said else whole(room, why, "")
        return said


def _in_percent(ink: Ink, tint: float) -> str:
    return percent(tint)


def _in_words(ink: Ink, tint: float) -> str:
    return printable(ink.tint_words(tint, named=False, roomy=False))


def _in_full(ink: Ink, tint: float) -> str:
    return printable(ink.tint_words(tint, named=False))


def _name(ink: Ink) -> str:
    return ink.name


def _symbol(ink: Ink) -> str:
    return ink.symbol


def _column(ink: Ink, heading: str, in_words: InWords) -> tuple[str, int]:
    """A heading and the cells it takes with any tint under it."""
    return heading, 1 + max(map(cell_len, (heading, *(in_words(ink, t) for t in ink.tints))))


def _right(text: str, width: int) -> str:
    return " " * max(0, width - cell_len(text)) + text
