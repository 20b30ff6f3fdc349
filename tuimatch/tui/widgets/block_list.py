"""A list whose items are blocks of a few lines, drawn line by line, with a cursor."""

from __future__ import annotations

from typing import ClassVar

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

# In fewer cells what stands around a list is said in short.
NARROW = 50

PLAIN, DIM, HERE = Style.null(), Style(dim=True), Style(bold=True)


class BlockList(Widget, can_focus=True):
    """Knows which block is where; what a block looks like is the subclass's to say."""

    ALLOW_SELECT = False
    FOCUS_ON_CLICK = False  # a question that is open keeps the keys
    DEFAULT_CSS = "BlockList { width: 1fr; height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", "One up", show=False, id="list.up"),
        Binding("down,j", "move(1)", "One down", show=False, id="list.down"),
        Binding("pageup", "page(-1)", "A screen up", show=False, id="list.page_up"),
        Binding("pagedown", "page(1)", "A screen down", show=False, id="list.page_down"),
        Binding("home", "move(-1_000_000)", "To the first", show=False, id="list.first"),
        Binding("end", "move(1_000_000)", "To the last", show=False, id="list.last"),
    ]
    HEAD: ClassVar[int] = 0  # lines of heading above the blocks
    HIGH: ClassVar[int] = 1
    GAP: ClassVar[int] = 0  # empty lines at the end of a block, which need not be seen

    cursor: var[int] = var(0)

    class Chosen(Message):
        """The block under the cursor was clicked once more."""

    def __init__(self) -> None:
        super().__init__()
        self._count = 0
        self._first = 0

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """One line of a block; one that is too long is cut, one too short is filled up."""
        raise NotImplementedError

    def head_line(self, part: int, width: int) -> list[Segment]:
        """One line of the heading."""
        raise NotImplementedError

    def prepare(self, places: range) -> None:
        """Get ready to draw these blocks, which are in view from now on."""

    def show_blocks(self, count: int, cursor: int = 0, first: int = 0) -> None:
        """Show so many blocks, the cursor on one of them, and another first if room allows it."""
        self._count, self._first = count, first
        self.set_reactive(BlockList.cursor, cursor)
        self._follow()
        self.refresh()

    @property
    def _in_view(self) -> int:
        return max(1, (self.size.height - self.HEAD + self.GAP) // self.HIGH)

    def _follow(self) -> None:
        last_first = max(0, self._count - self._in_view)  # further down the foot stays empty
        first = max(self._first, self.cursor - self._in_view + 1)
        self._first = min(first, self.cursor, last_first)
        self.prepare(range(self._first, min(self._first + self._in_view, self._count)))

    def action_move(self, by: int) -> None:
        """Move the cursor."""
        if self._count:
            self.cursor = min(max(self.cursor + by, 0), self._count - 1)

    def action_page(self, way: int) -> None:
        """Move the cursor by what is in view."""
        self.action_move(way * max(1, self._in_view - 1))

    def watch_cursor(self, old: int, new: int) -> None:
        """Keep the cursor in view; redraw the two blocks concerned, or all after scrolling."""
        first = self._first
        self._follow()
        if self._first != first:
            self.refresh()
            return
        for place in (old, new):
            top = self.HEAD + (place - first) * self.HIGH
            self.refresh(Region(0, top, self.size.width, self.HIGH))

    def on_resize(self) -> None:
        """Keep the cursor in view."""
        self._follow()

    def on_click(self, event: events.Click) -> None:
        """Point at a block; pointing at the same one again chooses it.

        While the screen asks something the cursor stays: the answer is for the block it is on.
        """
        if self.screen.has_class("-asking"):
            return
        place = self._first + (event.y - self.HEAD) // self.HIGH
        if event.y < self.HEAD or not self._is_seen(place):
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
        """One line of the heading, or of the block that is there."""
        if y < self.HEAD:
            return self.as_strip(self.head_line(y, self.size.width))
        place, part = self._first + (y - self.HEAD) // self.HIGH, (y - self.HEAD) % self.HIGH
        if not self._is_seen(place):
            return Strip.blank(self.size.width, self.rich_style)
        return self.block_strip(place, part)

    def _is_seen(self, place: int) -> bool:
        """Whether a block is in view as a whole: one that would be cut is left out."""
        return place < min(self._count, self._first + self._in_view)

    def block_strip(self, place: int, part: int) -> Strip:
        """One line of a block, ready to be drawn."""
        return self.as_strip(self.block_line(place, part, self.size.width))

    def as_strip(self, segments: list[Segment]) -> Strip:
        """Segments as wide as the list, on its ground."""
        strip = Strip(segments).adjust_cell_length(self.size.width)
        return strip.apply_style(self.rich_style)


def fitted(text: str, width: int, style: Style = PLAIN) -> Segment:
    """A text in exactly so many cells; what is cut off shows as an ellipsis."""
    width = max(0, width)
    if cell_len(text) > width > 0:
        text = set_cell_size(text, width - 1) + "…"
    return Segment(set_cell_size(text, width), style)
