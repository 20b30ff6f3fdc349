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

from tuimatch.text import percent
from tuimatch.tui.paint import block

if TYPE_CHECKING:
    from tuimatch.palette import Palette
    from tuimatch.ranking import Candidate, Ranking

_SEAM = 4  # cells of each colour in a row's own seam
_DIM = Style(dim=True)
_HERE = Style(bold=True, bgcolor="#4a4a4a")


class RankedList(Widget, can_focus=True):
    """Candidates with their seam, ΔE and tints; the cursor says which one is meant."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "RankedList { width: 1fr; height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", "Up", show=False, id="list.up"),
        Binding("down,j", "move(1)", "Down", show=False, id="list.down"),
        Binding("pageup", "page(-1)", "Page up", show=False, id="list.page_up"),
        Binding("pagedown", "page(1)", "Page down", show=False, id="list.page_down"),
        Binding("home", "move(-1000000)", "First", show=False, id="list.first"),
        Binding("end", "move(1000000)", "Last", show=False, id="list.last"),
    ]

    cursor: var[int] = var(0)

    class Chosen(Message):
        """The candidate under the pointer was clicked a second time."""

    def __init__(self, palette: Palette, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._palette = palette
        self._ranking: Ranking | None = None
        self._first = 0

    @property
    def candidate(self) -> Candidate | None:
        """The candidate under the cursor."""
        if self._ranking is None or not self._ranking.candidates:
            return None
        return self._ranking.candidates[self.cursor]

    def show(self, ranking: Ranking | None, palette: Palette) -> None:
        """Show a new ranking from its top."""
        self._ranking, self._palette = ranking, palette
        self._first = 0
        self.set_reactive(RankedList.cursor, 0)
        self.refresh()

    def action_move(self, by: int) -> None:
        """Move the cursor."""
        if self._ranking is not None and self._ranking.candidates:
            self.cursor = min(max(self.cursor + by, 0), len(self._ranking.candidates) - 1)

    def action_page(self, way: int) -> None:
        """Move the cursor by what is in view."""
        self.action_move(way * max(1, self._rows - 1))

    @property
    def _rows(self) -> int:
        return max(1, self.size.height - 1)

    def watch_cursor(self, old: int, new: int) -> None:
        """Redraw the two rows concerned, or all of them after scrolling."""
        first = min(max(self._first, new - self._rows + 1), new)
        if first != self._first:
            self._first = first
            self.refresh()
            return
        for row in (old, new):
            self.refresh(Region(0, row - first + 1, self.size.width, 1))

    def on_resize(self) -> None:
        """Keep the cursor in view."""
        self._first = min(max(self._first, self.cursor - self._rows + 1), self.cursor)

    def on_click(self, event: events.Click) -> None:
        """Point at a candidate; pointing at the same one again takes it."""
        row = self._first + event.y - 1
        if self._ranking is None or event.y < 1 or row >= len(self._ranking.candidates):
            return
        if row == self.cursor:
            self.post_message(self.Chosen())
        self.cursor = row

    def on_mouse_scroll_down(self) -> None:
        """Step down."""
        self.action_move(1)

    def on_mouse_scroll_up(self) -> None:
        """Step up."""
        self.action_move(-1)

    def render_line(self, y: int) -> Strip:
        """The heading, then one candidate a row."""
        return self._line(y).apply_style(self.rich_style)

    def _line(self, y: int) -> Strip:
        width = self.size.width
        if self._ranking is None:
            return Strip.blank(width)
        if y == 0:
            return self._heading(width)
        row = self._first + y - 1
        if row >= len(self._ranking.candidates):
            return Strip.blank(width)
        return self._row(self._ranking, row, width)

    def _columns(self, width: int) -> list[tuple[str, int]]:
        """Heading and width of each ink's column: the name where there is room, or the symbol."""
        inks = self._palette.inks
        names = [(ink.name, max(5, cell_len(ink.name) + 1)) for ink in inks]
        room = width - _left_width()
        if sum(w for _, w in names) <= room:
            return names
        return [(ink.symbol, 5) for ink in inks]

    def _heading(self, width: int) -> Strip:
        heads = "".join(name.rjust(w) for name, w in self._columns(width))
        text = " " * (_left_width() - 7) + "ΔE".rjust(7) + heads
        return Strip([Segment(set_cell_size(text, width), _DIM)], width)

    def _row(self, ranking: Ranking, row: int, width: int) -> Strip:
        candidate, recipes = ranking.candidates[row], ranking.recipes
        here = row == self.cursor
        style, dim = (_HERE, _HERE) if here else (Style.null(), _DIM)
        cells = [
            Segment("▸" if here else " ", style),
            Segment(f"{candidate.rank:>4} ", style),
            block(ranking.target.srgb, _SEAM),
            block(recipes.rgb_of(candidate.row), _SEAM),
            Segment(f"{candidate.delta_e:7.2f}", style),
        ]
        used = _left_width()
        for (_, w), tint in zip(self._columns(width), recipes.tints_of(candidate.row), strict=True):
            cells.append(Segment((percent(tint) if tint else "·").rjust(w), style))
            used += w
        words = f"  {candidate.differs}" if used + 12 < width else ""
        cells.append(Segment(set_cell_size(words, max(0, width - used)), dim))
        return Strip(cells, max(width, used)).crop(0, width)


def _left_width() -> int:
    return 1 + 5 + 2 * _SEAM + 7
