"""A picture in half-blocks with a cursor: moved by arrows, seen from nearer or further.

The corners of the cursor stand around the square that is averaged, so its colours are left whole.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual import events, work
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.reactive import var
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.tui.widgets.seam import half_block_rows

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.picture.picture import Picture

SIZES = (1, 3, 5, 9, 17, 33, 65, 129, 257)
_FIRST_SIZE = 9
_LARGEST = 16  # dots of the view for a pixel of the picture, when nearest
_LEAP = 8


class Window(NamedTuple):
    """The part of a picture that is shown.

    Attributes:
        x: The first column of the picture; `y` the first row.
        width: How many columns of it; `height` rows.
        scale: Dots of the view for a pixel of the picture; a cell is two dots high.
    """

    x: int
    y: int
    width: int
    height: int
    scale: float

    @classmethod
    def around(
        cls, at: tuple[int, int], picture: tuple[int, int], dots: tuple[int, int], scale: float
    ) -> Window:
        """The window around a place, moved so that it stays within the picture."""

        def span(place: int, length: int, room: int) -> tuple[int, int]:
            shown = min(length, ceil(room / scale))
            return min(max(place - shown // 2, 0), length - shown), shown

        (x, width), (y, height) = map(span, at, picture, dots)
        return cls(x, y, width, height, scale)

    def holds(self, x: int, y: int) -> bool:
        """Whether a pixel of the picture is shown."""
        return 0 <= x - self.x < self.width and 0 <= y - self.y < self.height


def scales(picture: tuple[int, int], dots: tuple[int, int]) -> list[float]:
    """The scales to choose from, in dots for a pixel: the whole picture first, then ever nearer.

    Args:
        picture: Its width and height, in pixels.
        dots: The width and height of the view, in dots.
    """
    fit = min(room / length for room, length in zip(dots, picture, strict=True))
    if fit >= 1:
        fit = float(min(int(fit), _LARGEST))
    found = [fit]
    step = 2.0**-15
    while step <= min(_LARGEST, *dots):
        if step > fit * 1.2:
            found.append(step)
        step *= 2
    return found


class PictureView(Widget, can_focus=True):
    """Shows a window of a picture; `cursor` is a pixel of the picture, `area` a side in pixels."""

    ALLOW_SELECT = False
    FOCUS_ON_CLICK = False  # a question that is open keeps the keys
    DEFAULT_CSS = "PictureView { width: 1fr; height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(keys, f"move({x}, {y})", name, tooltip=says, show=False, id=f"pick.{name}")
            for keys, x, y, name, says in (
                ("left", -1, 0, "left", "To the left"),
                ("right", 1, 0, "right", "To the right"),
                ("up,k", 0, -1, "up", "Up"),
                ("down,j", 0, 1, "down", "Down"),
                ("shift+left", -_LEAP, 0, "far_left", "Far to the left"),
                ("shift+right", _LEAP, 0, "far_right", "Far to the right"),
                ("shift+up", 0, -_LEAP, "far_up", "Far up"),
                ("shift+down", 0, _LEAP, "far_down", "Far down"),
            )
        ),
        Binding("plus,equals_sign", "zoom(1)", "Nearer", tooltip="Zoom in", id="pick.nearer"),
        Binding(
            "minus",
            "zoom(-1)",
            "Further",
            tooltip="Zoom out",
            show=False,
            id="pick.further",
        ),
        Binding(
            "right_square_bracket",
            "area(1)",
            "Larger",
            tooltip="The mean of a larger square",
            id="pick.larger",
        ),
        Binding(
            "left_square_bracket",
            "area(-1)",
            "Smaller",
            tooltip="The mean of a smaller square",
            id="pick.smaller",
        ),
        Binding(
            "home",
            "middle",
            "Middle",
            tooltip="The middle of the picture",
            show=False,
            id="pick.middle",
        ),
    ]

    cursor: var[tuple[int, int]] = var((0, 0))
    area: var[int] = var(_FIRST_SIZE)
    zoom: var[float] = var(1.0)

    class Chosen(Message):
        """The place under the cursor was clicked once more."""

    class Drawn(Message):
        """A window of the picture is made small, or large."""

        def __init__(self, window: Window, dots: npt.NDArray[np.uint8], stamp: int) -> None:
            super().__init__()
            self.window, self.dots, self.stamp = window, dots, stamp

    def __init__(self) -> None:
        super().__init__()
        self._picture: Picture | None = None
        self._window = Window(0, 0, 1, 1, 1.0)  # as asked for
        self._shown: Window | None = None  # as drawn
        self._stamp = 0
        self._dots: npt.NDArray[np.uint8] | None = None
        self._rows: list[list[Segment]] = []

    def show(self, picture: Picture) -> None:
        """Show a picture whole, the cursor in its middle."""
        self._picture, self._shown, self._rows = picture, None, []
        self.zoom = self._scales[0]
        self.cursor = (picture.width // 2, picture.height // 2)
        self._look(force=True)

    # What is shown.

    @property
    def _room(self) -> tuple[int, int]:
        return max(1, self.size.width), max(1, 2 * self.size.height)

    @property
    def _scales(self) -> list[float]:
        assert self._picture is not None
        return scales((self._picture.width, self._picture.height), self._room)

    def _look(self, *, force: bool = False) -> None:
        """Show what is around the cursor; the window there is stays while that is well in it."""
        picture = self._picture
        if picture is None:
            return
        if not force and self._around_is_shown(picture):
            self.refresh()
            return
        extent = picture.width, picture.height
        self._window = Window.around(self.cursor, extent, self._room, self.zoom)
        self._stamp += 1
        self._draw(picture, self._window, self._room, self._stamp)

    def _around_is_shown(self, picture: Picture) -> bool:
        """Whether the square that is averaged and its corners are in the window, if they can be."""
        window, (x, y) = self._window, self.cursor
        reach = self.area // 2 + 1 + round(3 / self.zoom)
        across, down = min(reach, window.width // 3), min(reach, window.height // 3)
        return window.holds(max(x - across, 0), max(y - down, 0)) and window.holds(
            min(x + across, picture.width - 1), min(y + down, picture.height - 1)
        )

    @work(thread=True, exclusive=True)
    def _draw(self, picture: Picture, window: Window, room: tuple[int, int], stamp: int) -> None:
        self.post_message(self.Drawn(window, dots(picture, window, room), stamp))

    def on_picture_view_drawn(self, message: Drawn) -> None:
        """Show it, unless another has been asked for since."""
        if message.stamp == self._stamp:
            self._shown, self._dots = message.window, message.dots
            self._rows = half_block_rows(message.dots)
            self.refresh()

    def on_resize(self) -> None:
        """Fit the new size: what was whole stays whole."""
        if self._picture is not None:
            choice = self._scales
            self.zoom = min(choice, key=lambda scale: abs(scale - self.zoom))
            if self._shown is None or self._shown.width == self._picture.width:
                self.zoom = choice[0]
            self._look(force=True)

    # Moving.

    def action_move(self, across: int, down: int) -> None:
        """Move by dots of the view, or by pixels where those are larger."""
        step = max(1, round(1 / self.zoom))
        self._point(self.cursor[0] + across * step, self.cursor[1] + down * step)

    def action_middle(self) -> None:
        """Point at the middle of the picture."""
        if self._picture is not None:
            self._point(self._picture.width // 2, self._picture.height // 2)

    def _point(self, x: int, y: int) -> None:
        picture = self._picture
        if picture is not None:
            self.cursor = (
                min(max(x, 0), picture.width - 1),
                min(max(y, 0), picture.height - 1),
            )
            self._look()

    def action_zoom(self, way: int) -> None:
        """Look from nearer or further, around the cursor."""
        if self._picture is None:
            return
        choice = self._scales
        place = min(range(len(choice)), key=lambda i: abs(choice[i] - self.zoom))
        self.zoom = choice[min(max(place + way, 0), len(choice) - 1)]
        self._look(force=True)

    def action_area(self, way: int) -> None:
        """Average a larger or smaller square."""
        place = SIZES.index(self.area) + way
        self.area = SIZES[min(max(place, 0), len(SIZES) - 1)]
        self._look()

    def on_click(self, event: events.Click) -> None:
        """Point at a place; pointing at the same one again chooses it."""
        shown, left, top = self._shown, *self._margins
        if shown is None:
            return
        x = shown.x + int((event.x - left) / shown.scale)
        y = shown.y + int((2 * (event.y - top) + 0.5) / shown.scale)
        if event.x < left or event.y < top or not shown.holds(x, y):
            return
        if self._cell_of(*self.cursor) == (event.x, event.y):
            self.post_message(self.Chosen())
        else:
            self._point(x, y)

    # Drawing.

    @property
    def _margins(self) -> tuple[int, int]:
        """Cells left free to the left and above, so that the picture stands in the middle."""
        if self._dots is None:
            return 0, 0
        rows, columns = self._dots.shape[:2]
        return max(0, (self.size.width - columns) // 2), max(0, (self.size.height - rows // 2) // 2)

    def _cell_of(self, x: int, y: int) -> tuple[int, int]:
        """The cell of this widget that shows a pixel of the picture."""
        assert self._shown is not None
        assert self._dots is not None
        left, top = self._margins
        rows, columns = self._dots.shape[:2]
        column = min(int((x - self._shown.x + 0.5) * self._shown.scale), columns - 1)
        row = min(int((y - self._shown.y + 0.5) * self._shown.scale), rows - 1)
        return left + column, top + row // 2

    def _marks(self) -> dict[tuple[int, int], str]:
        """The corners around the square that is averaged, by their cells."""
        if self._shown is None or self._picture is None:
            return {}
        (x, y), size = self.cursor, self.area
        left, top = self._cell_of(max(x - (size - 1) // 2, 0), max(y - (size - 1) // 2, 0))
        right, bottom = self._cell_of(
            min(x + size // 2, self._picture.width - 1),
            min(y + size // 2, self._picture.height - 1),
        )
        # A square that is larger than the view has its corners at the edges of it.
        left, right = max(left - 1, 0), min(right + 1, self.size.width - 1)
        top, bottom = max(top - 1, 0), min(bottom + 1, self.size.height - 1)
        return {(left, top): "┌", (right, top): "┐", (left, bottom): "└", (right, bottom): "┘"}

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        width, (left, top) = self.size.width, self._margins
        if not 0 <= y - top < len(self._rows):
            line = Strip.blank(width, self.rich_style)
        else:
            line = Strip([Segment(" " * left), *self._rows[y - top]])
            line = line.adjust_cell_length(width).apply_style(self.rich_style)
        for (x, row), sign in self._marks().items():
            if row == y and 0 <= x < width:
                mark = Strip([Segment(sign, self._mark_style(x, y))], 1)
                line = Strip.join([line.crop(0, x), mark, line.crop(x + 1, width)])
        return line

    def _mark_style(self, x: int, y: int) -> Style:
        """A sign that shows on what lies under it, whose upper and lower dot may differ."""
        left, top = self._margins
        assert self._dots is not None
        rows, columns = self._dots.shape[:2]
        if not (0 <= x - left < columns and 0 <= y - top < rows // 2):
            return Style(color="#ffffff", bold=True) + self.rich_style
        pair = self._dots[2 * (y - top) : 2 * (y - top) + 2, x - left].astype(int).mean(axis=0)
        light = float(pair @ (0.2126, 0.7152, 0.0722)) > 120
        return Style(
            color="#000000" if light else "#ffffff",
            bgcolor=Color.from_rgb(*(round(channel) for channel in pair.tolist())),
            bold=True,
        )


def dots(picture: Picture, window: Window, room: tuple[int, int]) -> npt.NDArray[np.uint8]:
    """A window of a picture as 8-bit sRGB, shape (rows, columns, 3), an even number of rows."""
    import numpy as np

    from tuimatch.picture.picture import Picture

    rows = slice(window.y, window.y + window.height)
    columns = slice(window.x, window.x + window.width)
    part = Picture(
        picture.file,
        picture.pixels[rows, columns],
        None if picture.alpha is None else picture.alpha[rows, columns],
    )
    seen = part.view(*room).pixels
    if window.scale > 1:
        larger = int(window.scale)
        seen = seen.repeat(larger, axis=0).repeat(larger, axis=1)[: room[1], : room[0]]
    if len(seen) % 2:
        # Half a cell is left over: what is there goes on.
        seen = np.concatenate([seen, seen[-1:]])
    return seen
