"""The plan as a picture: the dots of the tint that is laid, and a row of colours for each pass."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.log import Tick
from tuimatch.recipe.lettering import contrast_ratio
from tuimatch.text import printable
from tuimatch.tui.widgets.block_list import DIM, HERE, fitted
from tuimatch.tui.widgets.paint import RGB, block, ground
from tuimatch.tui.widgets.seam import half_block_rows

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.planning.areas import Area
    from tuimatch.planning.passes import Pass

# Draws the dots of a pass of so many pixels: width, height and pixels from dot to dot.
Draw = Callable[["Pass", int, int, float], "npt.NDArray[np.uint8] | None"]

_LEAST_DOTS, _FEWEST = 4, 3  # lines of dots, dots from top to bottom
_SWATCH, _NAMED = 6, 24  # cells of a tint, of an area with its name
_WIDEST = 6  # cells of an area in the row of its pass


class PlanPicture(Widget):
    """Dots above, the passes under them, and where there is room the areas of this one by name."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "PlanPicture { width: 1fr; height: 1fr; }"

    class Pointed(Message):
        """The row of a pass was clicked."""

        def __init__(self, place: int) -> None:
            super().__init__()
            self.place = place

    def __init__(self, draw: Draw) -> None:
        """Show nothing yet.

        Args:
            draw: Gives the dots of a pass; None while its inks are not mixed.
        """
        super().__init__()
        self._draw = draw
        self._passes: tuple[Pass, ...] = ()
        self._here = 0
        self._ticked: Collection[Tick] = ()
        self._colours: Mapping[int, RGB] = {}
        self._tints: Mapping[int, RGB | None] = {}
        self._lines: list[Strip] = []
        self._rows = range(0)  # the lines that passes stand in
        self._first = 0  # the pass in the first of them

    def show(
        self,
        passes: tuple[Pass, ...],
        here: int,
        ticked: Collection[Tick],
        colours: Mapping[int, RGB],
        tints: Mapping[int, RGB | None],
    ) -> None:
        """Show a plan.

        Args:
            passes: In laying order.
            here: The place of the one under the cursor.
            ticked: What is laid.
            colours: Of each area, by its key.
            tints: Of each pass alone on its paper, by its place; None while it is not known.
        """
        self._passes, self._here, self._ticked = passes, here, ticked
        self._colours, self._tints, self._lines = colours, tints, []
        self.refresh()

    def on_resize(self) -> None:
        """The picture fills what there is."""
        self._lines = []

    def render_line(self, y: int) -> Strip:
        """One line; all are made with the first of them."""
        self._lines = self._lines or self._picture()
        if y < len(self._lines):
            return self._lines[y]
        return Strip.blank(self.size.width, self.rich_style)

    def on_click(self, event: events.Click) -> None:
        """Point at the pass whose row was clicked."""
        if event.y in self._rows:
            self.post_message(self.Pointed(self._first + event.y - self._rows.start))

    def _picture(self) -> list[Strip]:
        width, height = self.size
        if not self._passes or width < 2 * _NAMED:
            return []
        rows = min(len(self._passes), max(1, height - _LEAST_DOTS - 3))
        dots = max(0, min(height - rows - 3, height * 2 // 5))
        lines = [self._caption(width), *self._dots(width, dots), []]
        self._first = min(max(0, self._here - rows // 2), len(self._passes) - rows)
        self._rows = range(len(lines), len(lines) + rows)
        lines += [self._row(self._first + place, width) for place in range(rows)]
        areas = self._passes[self._here].areas
        across = width // _NAMED
        for start in range(0, len(areas), across):
            if len(lines) + 4 <= height:
                lines += [[], *self._named(areas[start : start + across])]
        style = self.rich_style
        return [Strip(line).adjust_cell_length(width).apply_style(style) for line in lines]

    def _caption(self, width: int) -> list[Segment]:
        one = self._passes[self._here]
        solid = "" if one.brush.tint < 100 else ", solid"
        return [fitted(f"{printable(one.words)}{solid}", width, HERE)]

    def _dots(self, width: int, height: int) -> list[list[Segment]]:
        """The tint as large dots; flat until its inks are mixed."""
        if not height:
            return []
        one, flat = self._passes[self._here], self._tints.get(self._here)
        drawn = self._draw(one, width, 2 * height, 2 * height / _FEWEST)
        if drawn is not None:
            return half_block_rows(drawn)
        return [[block(flat, width)] if flat else []] * height

    def _row(self, place: int, width: int) -> list[Segment]:
        """A pass: its tint, and a field for each area that takes it."""
        one, here, rgb = self._passes[place], place == self._here, self._tints.get(place)
        swatch = block(rgb, _SWATCH) if rgb else Segment(" " * _SWATCH)
        cells = [Segment("▸" if here else " ", HERE), swatch, Segment(" ")]
        room = width - _SWATCH - 2
        most = max(len(other.areas) for other in self._passes)
        wide = min(_WIDEST, max(1, room // most))
        shown = one.areas
        if len(shown) * wide > room:
            shown = shown[: (room - 5) // wide]
        cells += [self._field(one, area, wide) for area in shown]
        left = len(one.areas) - len(shown)
        return [*cells, Segment(f" +{left}", DIM)] if left else cells

    def _field(self, one: Pass, area: Area, wide: int) -> Segment:
        """An area's colour, ticked where its tint is laid."""
        rgb = self._colours.get(area.key, (0, 0, 0))
        if Tick(area.key, one.ink, one.brush.tint) not in self._ticked:
            return block(rgb, wide)
        light = contrast_ratio((0, 0, 0), rgb) > contrast_ratio((255, 255, 255), rgb)
        ink = Style(color=Color.from_rgb(*(0, 0, 0) if light else (255, 255, 255)))
        return Segment("✓".center(wide), ground(rgb) + ink)

    def _named(self, areas: tuple[Area, ...]) -> list[list[Segment]]:
        """Some areas side by side: two lines of their colour, one of their name."""
        one, room = self._passes[self._here], _NAMED - 1
        colours = []
        for area in areas:
            colours += [block(self._colours.get(area.key, (0, 0, 0)), room), Segment(" ")]
        names = []
        for area in areas:
            laid = Tick(area.key, one.ink, one.brush.tint) in self._ticked
            name = printable(area.label or area.name_in_words)
            if laid and cell_len(name) + 2 <= room:
                name = f"✓ {name}"
            names += [fitted(name, room, DIM if laid else HERE), Segment(" ")]
        return [colours, colours, names]
