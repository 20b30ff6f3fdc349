"""The list of candidates, each with its own small seam; a key redraws two rows, not the list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from tuimatch.colour.difference_words import fewer
from tuimatch.text import percent, printable
from tuimatch.tui.widgets.block_list import DIM, PLAIN, BlockList
from tuimatch.tui.widgets.paint import block

if TYPE_CHECKING:
    from tuimatch.match.answer import Match
    from tuimatch.match.ranking import Candidate
    from tuimatch.palette.model import Ink

_SEAM = 4  # cells of each colour in a row's own seam
_DELTA_E = 6
_READABLE = 20  # cells: less holds no more than a scrap of the words
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
        """Heading and width of each ink's column: its name, or its symbol for the sake of words."""
        self._strips.clear()
        if self._match is None:
            return
        self._rank = max(3, len(str(len(self._match.ranking)))) + 1
        inks = self._match.recipes.palette.inks
        room = self.size.width - self._left - _DELTA_E * (2 if self._held else 1) - 2 - _READABLE
        self._columns = [_column(ink, ink.name) for ink in inks]
        if sum(width for _, width in self._columns) > room:
            self._columns = [_column(ink, ink.symbol) for ink in inks]

    @property
    def _left(self) -> int:
        """Cells of mark, rank and seam."""
        return 1 + self._rank + 2 * _SEAM

    @property
    def _held(self) -> str:
        """The attribute that is held; empty for none."""
        hold = self._match.question.hold.value if self._match else "nothing"
        return "" if hold == "nothing" else hold

    def head_line(self, part: int, width: int) -> list[Segment]:
        """What is held, and the inks."""
        if self._match is None:
            return []
        held = f"{self._held} held".rjust(self._left + _DELTA_E) if self._held else ""
        heads = "".join(name.rjust(w) for name, w in self._columns)
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
        for (_, w), tint in zip(self._columns, recipes.tints_of(candidate.row), strict=True):
            numbers += (percent(tint) if tint else "·").rjust(w)
        rank = str(candidate.rank or "–")  # beyond the list
        used = self._left + len(numbers)
        words = self._words(match, candidate, width - used - 2 - (len(why) + 2 if why else 0))
        if why:
            words = f"{why}: {words}" if words else why
        words = f"  {words}" if used + 8 < width else ""
        if cell_len(words) > width - used:
            words = set_cell_size(words, max(0, width - used - 1)) + "…"
        return [
            Segment("▸" if here else " ", style),
            Segment(f"{rank:>{self._rank - 1}} ", style),
            block(match.meant.srgb, _SEAM),
            block(recipes.rgb_of(candidate.row), _SEAM),
            Segment(numbers, style),
            Segment(set_cell_size(words, max(0, width - used)), dim),
        ]

    def _words(self, match: Match, candidate: Candidate, room: int) -> str:
        """Under which label the project holds it, or how it differs where that can be read."""
        labels = match.held.used.get(candidate.row)
        if not labels:
            return fewer(candidate.differs, room) if room >= _READABLE else ""
        return f"= {printable(' · '.join(labels))}"


def _column(ink: Ink, heading: str) -> tuple[str, int]:
    """A heading and the cells it takes with any tint under it."""
    return heading, 1 + max(map(cell_len, (heading, *map(percent, ink.tints))))
