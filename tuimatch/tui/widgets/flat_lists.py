"""Flats in lines: as given and as printed, how far off, and what they are called."""

from __future__ import annotations

from typing import NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from textual import events
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.text import printable
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, fitted
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.page_view import PageView
from tuimatch.tui.widgets.paint import RGB, block

# A name has room for so much before a remark is made after it.
_NAME = 20


class FlatLine(NamedTuple):
    """A flat in a line.

    Attributes:
        place: Its place.
        given: Its colour as it is meant on the paper.
        printed: Its recipe's colour.
        numbers: What stands before the name.
        name: What to call it.
        short: What to call it in fewer words.
        remark: What stands after it, where there is room.
    """

    place: int
    given: RGB
    printed: RGB
    numbers: str
    name: str
    short: str
    remark: str = ""


class FlatList(Widget):
    """Some flats in lines, the one under the cursor always in view; a click points at one."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "FlatList { width: 1fr; height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._head = ""
        self._lines: list[FlatLine] = []
        self._here = -1
        self._first = 0

    def show(self, head: str, lines: list[FlatLine], here: int = -1) -> None:
        """Show lines.

        Args:
            head: Above them.
            lines: One for each flat.
            here: Which line the cursor is on; -1 where it is on none.
        """
        self._head, self._lines, self._here = head, lines, here
        self.refresh()

    def _scrolled(self) -> int:
        """The first line in view."""
        room = max(1, self.size.height - 1)
        last = max(0, len(self._lines) - room)
        self._first = max(min(self._first, self._here, last), self._here - room + 1, 0)
        return self._first

    def on_click(self, event: events.Click) -> None:
        """Point at the flat of a line."""
        at = event.y - 1 + self._scrolled()
        if event.y and at < len(self._lines):
            self.post_message(PageView.Pointed(self._lines[at].place))

    def render_line(self, y: int) -> Strip:
        """The head, or one flat."""
        width, at = self.size.width, y - 1 + self._scrolled()
        if not y:
            line = [fitted(self._head, width, DIM)]
        elif at < len(self._lines):
            line = self._line(self._lines[at], at == self._here, width)
        else:
            line = []
        return Strip(line).adjust_cell_length(width).apply_style(self.rich_style)

    def _line(self, one: FlatLine, here: bool, width: int) -> list[Segment]:
        room = max(0, width - 6 - len(one.numbers))
        before = room - cell_len(one.remark) - 1
        remark = one.remark if before >= _NAME else ""  # whole, or not at all
        name = whole(before if remark else room, printable(one.name), printable(one.short))
        return [
            Segment("▸" if here else " "),
            block(one.given, 2),
            block(one.printed, 2),
            Segment(f"{one.numbers} ", PLAIN),
            fitted(name, before if remark else room, HERE if here else DIM),
            Segment(f" {remark}", DIM),
        ]
