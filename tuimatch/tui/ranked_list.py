"""The list of candidates, drawn line by line: a key redraws two rows, not the list."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region
from textual.message import Message
from textual.reactive import var
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.text import percent, printable
from tuimatch.tui.paint import block

if TYPE_CHECKING:
    from tuimatch.matching import Match
    from tuimatch.ranking import Candidate

_SEAM = 4  # cells of each colour in a row's own seam
_LEFT = 1 + 6 + 2 * _SEAM + 7  # mark, rank, seam, ΔE
_DIM = Style(dim=True)
_HERE = Style(bold=True, bgcolor="#4a4a4a")


class RankedList(Widget, can_focus=True):
    """Candidates with their seam, ΔE and tints; the cursor says which one is meant.

    What is offered first stands above the order, each with its own rank and why it is there.
    """

    ALLOW_SELECT = False
    DEFAULT_CSS = "RankedList { width: 1fr; height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", "Up", show=False, id="list.up"),
        Binding("down,j", "move(1)", "Down", show=False, id="list.down"),
        Binding("pageup", "page(-1)", "Page up", show=False, id="list.page_up"),
        Binding("pagedown", "page(1)", "Page down", show=False, id="list.page_down"),
        Binding("home", "first", "First", show=False, id="list.first"),
        Binding("end", "last", "Last", show=False, id="list.last"),
    ]

    cursor: var[int] = var(0)

    class Chosen(Message):
        """The candidate under the pointer was clicked a second time."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._match: Match | None = None
        self._offered: list[tuple[str, Candidate]] = []
        self._skipped = 0
        self._first = 0
        self._columns: list[tuple[str, int]] = []
        self._strips: dict[tuple[int, bool], Strip] = {}  # drawn rows keep their escape codes

    def __len__(self) -> int:
        if self._match is None:
            return 0
        return len(self._offered) + len(self._match.ranking) - self._skipped

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

    def show(self, match: Match | None) -> None:
        """Show a new answer from its top."""
        self._match = match
        self._offered = [] if match is None else match.offered_first()
        # The first of the order stands among those offered above it.
        self._skipped = sum(candidate.rank == 1 for _, candidate in self._offered)
        self._first = 0
        self._set_columns()
        self.set_reactive(RankedList.cursor, 0)
        self.refresh()

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

    def action_move(self, by: int) -> None:
        """Move the cursor."""
        if len(self):
            self.cursor = min(max(self.cursor + by, 0), len(self) - 1)

    def action_page(self, way: int) -> None:
        """Move the cursor by what is in view."""
        self.action_move(way * max(1, self._rows - 1))

    def action_first(self) -> None:
        """Go to the top."""
        self.action_move(-len(self))

    def action_last(self) -> None:
        """Go to the end."""
        self.action_move(len(self))

    @property
    def _rows(self) -> int:
        return max(1, self.size.height - 1)

    def watch_cursor(self, old: int, new: int) -> None:
        """Redraw the two rows concerned, or all of them after scrolling."""
        if self._bring(new):
            self.refresh()
            return
        for place in (old, new):
            self.refresh(Region(0, place - self._first + 1, self.size.width, 1))

    def on_resize(self) -> None:
        """Keep the cursor in view."""
        self._bring(self.cursor)
        self._set_columns()

    def _bring(self, place: int) -> bool:
        first = min(max(self._first, place - self._rows + 1), place)
        moved, self._first = first != self._first, first
        return moved

    def on_click(self, event: events.Click) -> None:
        """Point at a candidate; pointing at the same one again takes it."""
        place = self._first + event.y - 1
        if event.y < 1 or place >= len(self):
            return
        if place == self.cursor:
            self.post_message(self.Chosen())
        self.cursor = place

    def on_mouse_scroll_down(self) -> None:
        """Step down."""
        self.action_move(1)

    def on_mouse_scroll_up(self) -> None:
        """Step up."""
        self.action_move(-1)

    def render_line(self, y: int) -> Strip:
        """The heading, then one candidate a row."""
        width = self.size.width
        place = self._first + y - 1
        if self._match is None or place >= len(self):
            return Strip.blank(width, self.rich_style)
        if y == 0:
            return self._heading(self._match, width).apply_style(self.rich_style)
        key = (place, place == self.cursor)
        if key not in self._strips:
            row = self._row(self._match, place, width)
            self._strips[key] = row.apply_style(self.rich_style)
        return self._strips[key]

    def _set_columns(self) -> None:
        """Heading and width of each ink's column: the name where there is room, or the symbol."""
        self._strips.clear()
        if self._match is None:
            return
        inks = self._match.recipes.palette.inks
        names = [(ink.name, max(5, cell_len(ink.name) + 1)) for ink in inks]
        roomy = sum(w for _, w in names) <= self.size.width - _LEFT
        self._columns = names if roomy else [(ink.symbol, 5) for ink in inks]

    def _heading(self, match: Match, width: int) -> Strip:
        hold = match.question.hold
        held = "" if hold.value == "nothing" else f"{hold.value} held"
        heads = "".join(name.rjust(w) for name, w in self._columns)
        text = f" {held}".ljust(_LEFT - 7) + "ΔE".rjust(7) + heads
        return Strip([Segment(set_cell_size(text, width), _DIM)], width)

    def _row(self, match: Match, place: int, width: int) -> Strip:
        candidate, recipes = self.candidate_at(place), match.recipes
        here = place == self.cursor
        style, dim = (_HERE, _HERE) if here else (Style.null(), _DIM)
        why = self._offered[place][0] if place < len(self._offered) else ""
        cells = [
            Segment("▸" if here else " ", style),
            Segment(f"{candidate.rank:>5} ", style),
            block(match.question.target.srgb, _SEAM),
            block(recipes.rgb_of(candidate.row), _SEAM),
        ]
        numbers = f"{candidate.delta_e:7.2f}"
        for (_, w), tint in zip(self._columns, recipes.tints_of(candidate.row), strict=True):
            numbers += (percent(tint) if tint else "·").rjust(w)
        cells.append(Segment(numbers, style))
        used = _LEFT - 7 + len(numbers)
        words = f"  {why or self._words(match, candidate)}" if used + 8 < width else ""
        cells.append(Segment(set_cell_size(words, max(0, width - used)), dim))
        return Strip(cells, max(width, used)).crop(0, width)

    def _words(self, match: Match, candidate: Candidate) -> str:
        """Under which label the project holds it, or how it differs."""
        labels = match.used.get(candidate.row)
        return f"= {printable(', '.join(labels))}" if labels else candidate.differs
