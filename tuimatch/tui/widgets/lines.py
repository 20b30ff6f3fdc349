"""Lines of plain text, cut with an ellipsis where they do not fit; never markup, never wrapped."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget


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
        if cell_len(line) > width:
            line = set_cell_size(line, max(0, width - 1)) + "…"
        return Strip([Segment(set_cell_size(line, width), self.rich_style)], width)
