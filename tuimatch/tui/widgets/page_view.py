"""A page in half blocks with one of its flats outlined: as given, as it will come out, or split.

A page that is a list of colours has their names on its squares.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.segment import Segment
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.text import printable
from tuimatch.tui.widgets.lines import shortened
from tuimatch.tui.widgets.paint import lettered
from tuimatch.tui.widgets.seam import half_block_rows

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.tui.screens.page_dots import Dots, Name
    from tuimatch.tui.screens.page_state import Look


class PageView(Widget):
    """Shows the dots of a page; a click points at a flat."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "PageView { width: 1fr; height: 1fr; }"

    class Pointed(Message):
        """A flat was clicked."""

        def __init__(self, place: int) -> None:
            super().__init__()
            self.place = place

    def __init__(self) -> None:
        super().__init__()
        self._dots: Dots | None = None
        self._rows: list[list[Segment]] = []

    def show(self, dots: Dots, place: int, look: Look, split: float) -> None:
        """Show a page.

        Args:
            dots: The page.
            place: The flat that is outlined.
            look: As printed, as given, or both.
            split: Where the line between is, 0…1; left of it as given.
        """
        self._dots = dots
        pixels = _outlined(_seen(dots, look, split), dots.places == place)
        self._rows = half_block_rows(pixels)
        for name in dots.names:
            self._rows[name.line] = _lettered(self._rows[name.line], pixels, name)
        self.refresh()

    def on_click(self, event: events.Click) -> None:
        """Point at the flat under the mouse."""
        if self._dots is None:
            return
        left, top = self._margins
        rows, columns = self._dots.places.shape
        x, y = event.x - left, 2 * (event.y - top)
        if 0 <= x < columns and 0 <= y < rows:
            self.post_message(self.Pointed(int(self._dots.places[y, x])))

    @property
    def _margins(self) -> tuple[int, int]:
        """Cells left free to the left and above, so that the page stands in the middle."""
        columns = 0 if self._dots is None else self._dots.places.shape[1]
        spare = self.size.width - columns, self.size.height - len(self._rows)
        return max(0, spare[0] // 2), max(0, spare[1] // 2)

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        width, (left, top) = self.size.width, self._margins
        if not 0 <= y - top < len(self._rows):
            return Strip.blank(width, self.rich_style)
        line = Strip([Segment(" " * left, self.rich_style), *self._rows[y - top]])
        return line.adjust_cell_length(width, self.rich_style)


def _lettered(row: list[Segment], pixels: npt.NDArray[np.uint8], name: Name) -> list[Segment]:
    """A row with a name on it, black or white, whichever reads better on each cell."""
    line, letters, x = Strip(row), [], name.left
    for letter in shortened(printable(name.text), name.room):
        red, green, blue = pixels[2 * name.line, x].tolist()
        letters.append(Segment(letter, lettered((red, green, blue))))
        x += cell_len(letter)
    return [*line.crop(0, name.left), *letters, *line.crop(x)]


def _seen(dots: Dots, look: Look, split: float) -> npt.NDArray[np.uint8]:
    if look == "given":
        return dots.given.copy()
    seen = dots.printed.copy()
    if look == "split":
        left = round(split * seen.shape[1])
        seen[:, :left] = dots.given[:, :left]
    return seen


def _outlined(pixels: npt.NDArray[np.uint8], flat: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint8]:
    """Dashes of black and white around a flat, which itself stays whole; an even number of rows."""
    import numpy as np

    around = np.zeros_like(flat)
    around[1:] |= flat[:-1]
    around[:-1] |= flat[1:]
    around[:, 1:] |= flat[:, :-1]
    around[:, :-1] |= flat[:, 1:]
    row, column = np.nonzero(around & ~flat)
    pixels[row, column] = np.where((row + column) % 4 < 2, 255, 0)[:, None]
    return np.concatenate([pixels, pixels[-1:]]) if len(pixels) % 2 else pixels
