"""The large seam: target and candidate touch, so that the edge one sees is the difference."""

from __future__ import annotations

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.tui.paint import RGB, block


class Seam(Widget):
    """Target on the left, candidate on the right, no line between."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "Seam { width: 1fr; height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._target: RGB | None = None
        self._candidate: RGB | None = None

    def show(self, target: RGB | None, candidate: RGB | None) -> None:
        """Show two colours; None leaves that half empty."""
        if (target, candidate) != (self._target, self._candidate):
            self._target, self._candidate = target, candidate
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        width = self.size.width
        left = width // 2
        halves = [_half(self._target, left), _half(self._candidate, width - left)]
        return Strip(halves, width).apply_style(self.rich_style)


def _half(rgb: RGB | None, width: int) -> Segment:
    return Segment(" " * width) if rgb is None else block(rgb, width)
