"""The build-up: what should be on the page after each ink, from bare paper to done.

Where a palette of print says how its inks look in the drawing program, each swatch shows that, and
in its last third the print.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.text import percent, printable
from tuimatch.tui.widgets.paint import RGB, beside

if TYPE_CHECKING:
    from tuimatch.recipe.laying import Step
    from tuimatch.recipe.recipes import Recipes


class BuildUpStrip(Widget):
    """A swatch for the paper and for each step, with what was laid under it."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "BuildUpStrip { width: 1fr; height: 2; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._recipes: Recipes | None = None
        self._steps: tuple[Step, ...] = ()
        self._canvas: RGB | None = None

    def show(self, recipes: Recipes, row: int | None) -> None:
        """Show the steps of a recipe, or nothing."""
        from tuimatch.recipe.laying import steps

        self._recipes = None if row is None else recipes
        self._steps = () if row is None else steps(recipes, row)
        self._canvas = None if row is None else recipes.canvas_rgb(recipes.tints_of(0))
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """The swatches, then the words under them on the last line."""
        width, height = self.size
        if self._recipes is None:
            return Strip.blank(width, self.rich_style)
        count = len(self._steps) + 1
        paper, canvas = self._recipes.rgb_of(0), self._canvas
        edges = [width * i // count for i in range(count + 1)]
        cells = []
        for i, step in enumerate((None, *self._steps)):
            room = edges[i + 1] - edges[i]
            if y < height - 1:
                cells += beside(*((step.canvas, step.srgb) if step else (canvas, paper)), room)
            else:
                words = _words(step, room - 2) if step else _paper_words(canvas, room)
                cells.append(Segment(set_cell_size(" " + words, room), Style(dim=True)))
        return Strip(cells, width).apply_style(self.rich_style)


def _paper_words(canvas: RGB | None, room: int) -> str:
    if canvas is None:
        return "paper"
    on, print_ = room - room // 3 - 1, room // 3
    for screen, print_words in (("on screen", "in print"), ("screen", "print")):
        if on > len(screen) and print_ >= len(print_words):
            return set_cell_size(screen, on) + print_words
    return "screen"


def _words(step: Step, room: int) -> str:
    name, tint = step.name, percent(step.tint)
    label = printable(step.label or "")
    called = (f"+ {printable(step.words)}", f"+ {name}: {label}", f"{name}: {label}", label)
    for words in (*(called if label else ()), f"+ {name} {tint}", f"{name} {tint}"):
        if cell_len(words) <= room:
            return str(words)
    name = set_cell_size(name, max(0, room - cell_len(tint) - 2)).rstrip()
    return f"{name}… {tint}"
