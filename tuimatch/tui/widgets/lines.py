"""Lines of plain text, cut with an ellipsis where they do not fit; never markup, never wrapped."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget


def whole(room: int, *wordings: str) -> str:
    """The first wording that has room; where none has, the last is cut with an ellipsis.

    Args:
        room: In cells.
        wordings: The same thing said, from the longest to the shortest.
    """
    fits = (wording for wording in wordings if cell_len(wording) <= room)
    found = next(fits, None)
    return shortened(wordings[-1], room) if found is None else found


def shortened(name: str, room: int) -> str:
    """A name in so many cells at most; what is cut off shows as an ellipsis."""
    if cell_len(name) <= room:
        return name
    return set_cell_size(name, max(0, room - 1)).rstrip() + "…"


class Lines(Widget):
    """A few lines of text; drawing them costs a tenth of what a Static does."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "Lines { width: 1fr; height: 1; }"

    def __init__(self, text: str = "", *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.text = text

    def show(self, text: str) -> None:
        """Show other lines."""
        if text != self.text:
            self.text = text
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """One line of the text."""
        width, lines = self.size.width, self.text.split("\n")
        line = lines[y] if y < len(lines) else ""
        line = shortened(line, width)
        return Strip([Segment(set_cell_size(line, width), self.rich_style)], width)


class Parts(Lines):
    """One line whose parts, between semicolons, are left out from the last where room is short."""

    def render_line(self, y: int) -> Strip:
        """As many parts as are whole."""
        del y
        width, parts = self.size.width, self.text.split("; ")
        ways = ("; ".join(parts[:count]) for count in range(len(parts), 0, -1))
        return Strip([Segment(set_cell_size(whole(width, *ways), width), self.rich_style)], width)


class Remark(Lines):
    """One line that says less where there is less room: up to a semicolon, then up to a colon."""

    def render_line(self, y: int) -> Strip:
        """As much of it as is whole."""
        del y
        width, first = self.size.width, self.text.split("; ")[0]
        text = whole(width, self.text, first, first.split(":")[0])
        return Strip([Segment(set_cell_size(text, width), self.rich_style)], width)
