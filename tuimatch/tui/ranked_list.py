"""The list of candidates, each with its own small seam; a key redraws two rows, not the list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from tuimatch.text import percent, printable
from tuimatch.tui.block_list import DIM, PLAIN, BlockList
from tuimatch.tui.paint import block

if TYPE_CHECKING:
    from tuimatch.matching import Match
    from tuimatch.ranking import Candidate

_SEAM = 4  # cells of each colour in a row's own seam
_LEFT = 1 + 6 + 2 * _SEAM + 7  # mark, rank, seam, ΔE
_READABLE = 20  # cells: less holds no more than a scrap of the words
_HERE = Style(bold=True, bgcolor="#4a4a4a")


class RankedList(BlockList):
    """Candidates with their seam, ΔE and tints; the cursor says which one is meant.

    What is offered first stands above the order, each with its own rank and why it is there.
    """

    HEAD = 1

    def __init__(self) -> None:
        super().__init__()
        self._match: Match | None = None
        self._offered: list[tuple[str, Candidate]] = []
        self._skipped = 0
        self._columns: list[tuple[str, int]] = []
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
        if place < len(self._offered):
            return self._offered[place][1]
        return self._match.ranking.candidate(place - len(self._offered) + self._skipped)

    def show(self, match: Match) -> None:
        """Show a new answer from its top."""
        self._match, self._offered = match, match.offered_first()
        # The first of the order stands among those offered above it.
        self._skipped = sum(candidate.rank == 1 for _, candidate in self._offered)
        self._set_columns()
        self.show_blocks(len(self._offered) + len(match.ranking) - self._skipped)

    def point_at(self, row: int) -> bool:
        """Put the cursor on a recipe; whether it is in the list."""
        place = None if self._match is None else self._match.ranking.place_of(row)
        if place is None:
            return False
        if place < self._skipped:
            self.cursor = next(i for i, (_, one) in enumerate(self._offered) if one.rank == 1)
        else:
            self.cursor = place + len(self._offered) - self._skipped
        return True

    def on_resize(self) -> None:
        """Fit the columns, and keep the cursor in view."""
        super().on_resize()
        self._set_columns()

    def _set_columns(self) -> None:
        """Heading and width of each ink's column: the name where there is room, or the symbol."""
        self._strips.clear()
        if self._match is None:
            return
        inks = self._match.recipes.palette.inks
        names = [(ink.name, max(5, cell_len(ink.name) + 1)) for ink in inks]
        roomy = sum(w for _, w in names) <= self.size.width - _LEFT
        self._columns = names if roomy else [(ink.symbol, 5) for ink in inks]

    def head_line(self, part: int, width: int) -> list[Segment]:
        """What is held, and the inks."""
        if self._match is None:
            return []
        hold = self._match.question.hold
        held = "" if hold.value == "nothing" else f"{hold.value} held"
        heads = "".join(name.rjust(w) for name, w in self._columns)
        return [Segment(f" {held}".ljust(_LEFT - 7) + "ΔE".rjust(7) + heads, DIM)]

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
        why = self._offered[place][0] if place < len(self._offered) else ""
        numbers = f"{candidate.delta_e:7.2f}"
        for (_, w), tint in zip(self._columns, recipes.tints_of(candidate.row), strict=True):
            numbers += (percent(tint) if tint else "·").rjust(w)
        used = _LEFT - 7 + len(numbers)
        words = self._words(match, candidate, width - used - 2)
        if why and candidate.row not in match.held.used:
            words = f"{why}: {words}" if words else why
        words = f"  {words}" if used + 8 < width else ""
        if cell_len(words) > width - used:
            words = set_cell_size(words, max(0, width - used - 1)) + "…"
        return [
            Segment("▸" if here else " ", style),
            Segment(f"{candidate.rank:>5} ", style),
            block(match.question.target.srgb, _SEAM),
            block(recipes.rgb_of(candidate.row), _SEAM),
            Segment(numbers, style),
            Segment(set_cell_size(words, max(0, width - used)), dim),
        ]

    def _words(self, match: Match, candidate: Candidate, room: int) -> str:
        """Under which label the project holds it, or how it differs where that can be read."""
        labels = match.held.used.get(candidate.row)
        if not labels:
            return candidate.differs if room >= _READABLE else ""
        return f"= {printable(', '.join(labels))}"
