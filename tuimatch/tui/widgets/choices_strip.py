"""The last few choices, always in view: a swatch and its label each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.colour.difference_words import colour_name
from tuimatch.text import printable, rgb_of_hex
from tuimatch.tui.widgets.lines import shortened
from tuimatch.tui.widgets.paint import block

if TYPE_CHECKING:
    from tuimatch.log import Choice

_SWATCH, _LONGEST = 3, 18


class ChoicesStrip(Widget):
    """Swatch and label of the newest choices, newest first, as many as fit."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "ChoicesStrip { width: 1fr; height: 1; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._choices: Sequence[Choice] = []

    def show(self, choices: Sequence[Choice]) -> None:
        """Show choices given oldest first; one without a label is called by its colour."""
        self._choices = choices[::-1]
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """The one row there is."""
        width = self.size.width
        segments, used = [Segment(" ")], 1
        for choice in self._choices:
            words = choice.label or colour_name(choice.target_lab)
            name = shortened(printable(words), _LONGEST)
            needed = _SWATCH + 1 + cell_len(name) + 2
            if used + needed > width:
                break
            segments += [block(rgb_of_hex(choice.srgb), _SWATCH), Segment(f" {name}  ")]
            used += needed
        if not self._choices:
            text = "nothing kept yet"
            segments.append(Segment(text, Style(dim=True)))
            used += len(text)
        rest = Segment(" " * max(0, width - used))
        return Strip([*segments, rest], max(width, used)).apply_style(self.rich_style)
