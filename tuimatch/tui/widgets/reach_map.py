"""The map of an ink set: lightness down, hue across, the neutrals beside them.

Each recipe's colour spreads to the cells nearest to it, so that they are one field; what is far
from every recipe is ground. Colours are left whole: the cursor's brackets stand beside its cell
and the target's ring in it.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from math import sqrt
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual import events, work
from textual.binding import Binding, BindingType
from textual.geometry import Region
from textual.message import Message
from textual.reactive import var
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.colour.difference_words import UNIQUE_HUES
from tuimatch.tui.widgets.paint import RGB

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.match.reach import Chart, Reach

Cell = tuple[int, int]

_GUTTER, _GAP, _NEUTRAL, _MARGIN = 4, 2, 7, 1  # terminal cells across
_NEUTRALS, _LIGHTNESS = "greys", "light"
_SPREAD = 24.0  # how far from its recipe a colour spreads, in steps of L
_FEWEST, _MOST = 24, 72  # columns wanted: one for 15° for few recipes, one for 5° for many
_FAINT, _WORDS = "#4c4c4c", Style(color="#a0a0a0")


class Grid(NamedTuple):
    """How the map is divided; a cell of it is `wide` by `high` cells of the terminal."""

    columns: int
    rows: int
    wide: int
    high: int

    @classmethod
    def fitting(cls, width: int, height: int, recipes: int) -> Grid:
        """A division that suits a size and a number of recipes.

        Few recipes get large cells, because fine ones would leave specks among holes.
        """
        room = max(2, width - _GUTTER - _GAP - _NEUTRAL - _MARGIN)
        lines = max(1, height - 1)
        wanted = min(max(round(sqrt(recipes)), _FEWEST), _MOST)
        wide = max(2, room // wanted)
        high = max(1, round(lines / (wanted / 2)))
        return cls(max(1, room // wide), max(1, lines // high), wide, high)

    def left(self, column: int) -> int:
        """Where a column begins; the neutrals' is the one after the last."""
        return _GUTTER + column * self.wide + (_GAP if column == self.columns else 0)

    def width(self, column: int) -> int:
        """How wide a column is."""
        return _NEUTRAL if column == self.columns else self.wide

    def cell_at(self, x: int, y: int) -> Cell | None:
        """The cell that holds a place, or None."""
        for column in range(self.columns + 1):
            left = self.left(column)
            if left <= x < left + self.width(column) and 0 <= y < self.rows * self.high:
                return y // self.high, column
        return None


class ReachMap(Widget, can_focus=True):
    """Moves between the cells that hold a recipe; `recipe` is the one under the cursor."""

    ALLOW_SELECT = False
    FOCUS_ON_CLICK = False  # a question that is open keeps the keys
    DEFAULT_CSS = "ReachMap { width: 1fr; height: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "across(-1)", "Hue before", show=False, id="reach.left"),
        Binding("right", "across(1)", "Next hue", show=False, id="reach.right"),
        Binding("up,k", "down(-1)", "Lighter", show=False, id="reach.up"),
        Binding("down,j", "down(1)", "Darker", show=False, id="reach.down"),
        Binding("home", "nearest", "Nearest", show=False, id="reach.nearest"),
    ]

    cursor: var[Cell | None] = var(None)

    class Chosen(Message):
        """The cell under the cursor was clicked once more."""

    class Placed(Message):
        """The recipes have their places on a grid."""

        def __init__(self, chart: Chart, grid: Grid, reach: Reach) -> None:
            super().__init__()
            self.chart, self.grid, self.reach = chart, grid, reach

    def __init__(self, chart: Chart) -> None:
        super().__init__()
        self._chart = chart
        self._grid = Grid(1, 1, 2, 1)
        self._reach: Reach | None = None
        self._placed: Chart | None = None  # the one whose recipes have their places
        self._filled: dict[Cell, int] = {}
        self._colours: dict[Cell, RGB] = {}
        self._target: Cell | None = None
        self._wanted = 0  # the column to come back to after a row that lacks it

    @property
    def recipe(self) -> int | None:
        """The row of the recipe under the cursor."""
        return None if self.cursor is None else self._filled.get(self.cursor)

    # Placing.

    def show(self, chart: Chart) -> None:
        """Show something else; what is seen stays until its recipes have their places."""
        self._chart = chart
        self._place(Grid.fitting(*self.size, len(chart.recipes)))

    def on_resize(self, event: events.Resize) -> None:
        """Divide the new size."""
        grid = Grid.fitting(event.size.width, event.size.height, len(self._chart.recipes))
        if grid != self._grid or self._reach is None:
            self._place(grid)

    @work(thread=True, exclusive=True)
    def _place(self, grid: Grid) -> None:
        from tuimatch.match.reach import reach

        chart = self._chart
        found = reach(
            chart.recipes, grid.rows, grid.columns, target=chart.target, allowed=chart.allowed
        )
        self.post_message(self.Placed(chart, grid, found))

    def on_reach_map_placed(self, message: Placed) -> None:
        """Show the recipes, the cursor where the one last looked at stands."""
        chart, recipes = message.chart, message.chart.recipes
        if chart is not self._chart:
            return
        row = self.recipe if chart is self._placed and self.recipe is not None else chart.row
        self._placed, self._grid, self._reach = chart, message.grid, message.reach
        self._filled = _rows_of(message.reach.cells)
        self._colours = {
            cell: recipes.rgb_of(recipe)
            for cell, recipe in _rows_of(message.reach.nearest(_SPREAD)).items()
        }
        self._target = None if chart.target is None else message.reach.cell_of(chart.target)
        self._point_at(row)
        self.refresh()

    def _point_at(self, row: int) -> None:
        if self._reach is None:
            return
        lightness, a, b = self._chart.recipes.lab[row].tolist()
        r, c = self._reach.cell_of((lightness, a, b))
        # A recipe that the limits leave out may stand where there is a hole now.
        near = min(self._filled, key=lambda cell: abs(cell[0] - r) + abs(cell[1] - c), default=None)
        if near is not None:
            self._wanted = near[1]
        self.set_reactive(ReachMap.cursor, None)
        self.cursor = near

    # Moving.

    def action_across(self, way: int) -> None:
        """Go to the next recipe in the row; hue is a circle, so the row has no end."""
        if self.cursor is not None:
            row, column = self.cursor
            there = sorted(c for r, c in self._filled if r == row)
            self._wanted = there[(there.index(column) + way) % len(there)]
            self.cursor = (row, self._wanted)

    def action_down(self, way: int) -> None:
        """Go to the next row that holds a recipe, as near as possible to the column wanted."""
        if self.cursor is not None:
            rows = {r for r, _ in self._filled if (r - self.cursor[0]) * way > 0}
            if rows:
                row = min(rows, key=lambda r: r * way)
                there = [c for r, c in self._filled if r == row]
                self.cursor = (row, min(there, key=lambda c: abs(c - self._wanted)))

    def action_nearest(self) -> None:
        """Go to the recipe nearest to the target, or the one it began at."""
        self._point_at(self._chart.nearest)

    def on_click(self, event: events.Click) -> None:
        """Point at a recipe; pointing at the same one again takes it."""
        cell = self._grid.cell_at(event.x, event.y)
        if cell is None or cell not in self._filled:
            return
        if cell == self.cursor:
            self.post_message(self.Chosen())
        self.cursor, self._wanted = cell, cell[1]

    def watch_cursor(self, old: Cell | None, new: Cell | None) -> None:
        """Redraw the rows concerned."""
        for cell in (old, new):
            if cell is not None:
                top = cell[0] * self._grid.high
                self.refresh(Region(0, top, self.size.width, self._grid.high))

    # Drawing.

    def render_line(self, y: int) -> Strip:
        """One line of the map, or the names of the hues under it."""
        width = self.size.width
        if self._reach is None:
            return Strip.blank(width, self.rich_style)
        lines = self._grid.rows * self._grid.high
        if y == lines:
            return self._axis(width).apply_style(self.rich_style)
        if y > lines:
            return Strip.blank(width, self.rich_style)
        return self._line(y, width).apply_style(self.rich_style)

    def _line(self, y: int, width: int) -> Strip:
        grid, (row, part) = self._grid, divmod(y, self._grid.high)
        pixels: list[tuple[str, RGB | None, bool]] = [(" ", None, False)] * width
        for column in range(grid.columns + 1):
            left, wide = grid.left(column), grid.width(column)
            rgb = self._colours.get((row, column))
            pixels[left : left + wide] = [(" ", rgb, False)] * wide
        del pixels[width:]  # in a window that has just become narrower the grid is still too wide
        for x, sign in self._marks(row, part).items():
            if x < width:
                pixels[x] = (sign, pixels[x][1], True)
        segments = [
            Segment("".join(sign for sign, _, _ in run), _style(rgb, marked))
            for (rgb, marked), run in groupby(pixels, key=lambda pixel: pixel[1:])
        ]
        label = Segment(self._lightness(y).rjust(3), _WORDS)
        return Strip([label, *Strip(segments, width).crop(3, width)], width)

    def _marks(self, row: int, part: int) -> dict[int, str]:
        """The signs of the target and of the cursor on a line, by where they stand."""
        grid, marks = self._grid, dict[int, str]()
        if self._target is not None and self._target[0] == row and part == grid.high // 2:
            left, wide = grid.left(self._target[1]), grid.width(self._target[1])
            inner = 3 if wide % 2 else 2 if wide == 2 else 4
            start = left + (wide - inner) // 2
            marks |= {start: "(", start + inner - 1: ")"}
        if self.cursor is not None and self.cursor[0] == row:
            left = grid.left(self.cursor[1])
            right = left + grid.width(self.cursor[1])
            signs = _brackets(part, grid.high)
            # Beside the target's narrow cell the ring stays whole and the bracket moves in.
            marks[left if left - 1 in marks else left - 1] = signs[0]
            marks[right - 1 if right in marks else right] = signs[1]
        return marks

    def _lightness(self, y: int) -> str:
        """The round L that belongs beside a line, if one does."""
        assert self._reach is not None
        lines, top = self._grid.rows * self._grid.high, self._reach.lightest
        span = top - self._reach.darkest
        every = 10 if lines * 10 / span >= 2 else 20
        values = [v for v in range(0, 101, every) if self._reach.darkest <= v <= top]
        for value in values:
            if min(int((top - value) / span * lines), lines - 1) == y:
                return str(value)
        return ""

    def _axis(self, width: int) -> Strip:
        grid, text = self._grid, [" "] * width
        neutrals = grid.left(grid.columns)
        free = len(_LIGHTNESS) + 1
        for name, angle in UNIQUE_HUES:
            start = _GUTTER + round(angle / 360 * grid.columns * grid.wide) - len(name) // 2
            # Where there is no room a name moves on a little, or is left out.
            begin = max(start, free)
            if begin - start <= 2 and begin + len(name) < neutrals:
                _write(text, begin, name)
                free = begin + len(name) + 1
        _write(text, neutrals, _NEUTRALS)
        _write(text, 0, _LIGHTNESS)
        return Strip([Segment("".join(text[:width]), _WORDS)], width)


def _rows_of(cells: npt.NDArray[np.intp]) -> dict[Cell, int]:
    return {
        (r, c): row
        for r, line in enumerate(cells.tolist())
        for c, row in enumerate(line)
        if row >= 0
    }


def _write(text: list[str], start: int, word: str) -> None:
    for at, sign in enumerate(word, start):
        if 0 <= at < len(text):
            text[at] = sign


def _brackets(part: int, high: int) -> str:
    if high == 1:
        return "[]"
    return "┌┐" if part == 0 else "└┘" if part == high - 1 else "││"


@lru_cache(maxsize=8192)
def _style(rgb: RGB | None, marked: bool) -> Style:
    if rgb is None:
        return Style(color="#ffffff" if marked else _FAINT, bold=marked)
    light = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2] > 120
    return Style(
        color=("#000000" if light else "#ffffff") if marked else None,
        bgcolor=Color.from_rgb(*rgb),
        bold=marked,
    )
