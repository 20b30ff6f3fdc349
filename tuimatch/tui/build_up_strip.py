"""The build-up: what should be on the page after each ink, from bare paper to done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.text import percent, printable
from tuimatch.tui.paint import block

if TYPE_CHECKING:
    from tuimatch.buildup import Pass
    from tuimatch.palette import Palette


class BuildUpStrip(Widget):
    """A swatch for each pass with what was laid under it."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "BuildUpStrip { width: 1fr; height: 2; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._passes: tuple[Pass, ...] = ()
        self._palette: Palette | None = None

    def show(self, palette: Palette | None, passes: tuple[Pass, ...]) -> None:
        """Show the passes of a recipe."""
        self._palette, self._passes = palette, passes
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """The swatches, then the words under them on the last line."""
        width, height = self.size
        if self._palette is None or not self._passes:
            return Strip.blank(width, self.rich_style)
        edges = [width * i // len(self._passes) for i in range(len(self._passes) + 1)]
        cells = []
        for i, one in enumerate(self._passes):
            room = edges[i + 1] - edges[i]
            if y < height - 1:
                cells.append(block(one.srgb, room))
            else:
                text = set_cell_size(" " + _words(self._palette, one, room - 2), room)
                cells.append(Segment(text, Style(dim=True)))
        return Strip(cells, width).apply_style(self.rich_style)


def _words(palette: Palette, one: Pass, room: int) -> str:
    if one.ink is None:
        return "paper"
    ink, tint = palette.inks[one.ink], percent(one.tint)
    label = printable(ink.label(one.tint) or "")
    for words in (f"+ {ink.name} {tint} {label}", f"+ {ink.name} {tint}", f"{ink.name} {tint}"):
        if cell_len(words.rstrip()) <= room:
            return words.rstrip()
    name = set_cell_size(ink.name, max(0, room - cell_len(tint) - 2)).rstrip()
    return f"{name}… {tint}"
