"""Laying a recipe: which ink comes next and what should then be seen, in a pane beside the drawing.

Where a palette of print says how its inks look in the drawing program, what is seen is the canvas,
with the print beside it.
Big blocks of colour and few words, so that it can be read at arm's length.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len, set_cell_size
from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual import getters
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from tuimatch.recipe.lettering import contrast_ratio
from tuimatch.text import percent, printable
from tuimatch.tui.screens.explained import ExplainedScreen, help_key, not_in_use
from tuimatch.tui.widgets.big_digits import big
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.paint import RGB, beside, block, ground
from tuimatch.tui.widgets.seam import half_block_rows

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.recipe.laying import Laying, Step
    from tuimatch.tui.match.being_laid import BeingLaid

_PLAIN, _DIM, _NEXT = Style.null(), Style(dim=True), Style(bold=True)
_SWATCH = 8
_ROOMY = 48  # cells: below, the number of the layer stands alone
# Cells from which dots are shown large beside the colours: without print beside the screen, and
# with it; and dots across the narrower side.
_WITH_DOTS, _WITH_PRINT_AND_DOTS, _FEWEST = 56, 90, 3
_ITS_DOTS, SOLID = " its dots", 100


# Draws the dots of a step of so many pixels: width, height and pixels from dot to dot.
Draw = Callable[["Step", int, int, float], "npt.NDArray[np.uint8]"]


class LayingPicture(Widget):
    """What is on the page now, what should be there after the next ink, and the inks in order."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "LayingPicture { width: 1fr; height: 1fr; }"

    def __init__(self, name: str, laying: Laying, dots: Draw | None = None) -> None:
        super().__init__()
        self.laying = laying
        self._title = name
        self._draw = dots
        self._dots: tuple[object, list[list[Segment]]] = (None, [])  # what is drawn, and its lines

    def show(self, laying: Laying) -> None:
        """Show how far it is laid."""
        self.laying = laying
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """A heading, the colours, what they are, and one line for each ink."""
        width, height = self.size
        steps = self.laying.steps
        first = max(2, height - len(steps))  # the line of the first ink
        if y == 0:
            cells = self._heading(width)
        elif y < first - 1:
            cells = self._colours(y - 1, first - 2, width)
        elif y == first - 1:
            cells = self._captions(width)
        else:
            place = y - first
            cells = self._ink(steps[place], width) if place < len(steps) else []
        return Strip(cells).adjust_cell_length(width).apply_style(self.rich_style)

    def _heading(self, width: int) -> list[Segment]:
        laying = self.laying
        right = "done" if laying.done else f"{len(laying.laid)} of {len(laying.steps)} laid"
        room = max(0, width - len(right) - 3)
        name = set_cell_size(f" {printable(self._title)}", room)
        return [Segment(name, _NEXT), Segment(f"  {right} ", _NEXT)]

    def _colours(self, y: int, height: int, width: int) -> list[Segment]:
        half = width // 2
        following = self.laying.next
        if following is None:
            return beside(*self._now(), width)
        dots = self._dots_width(width)
        half -= dots // 2
        then = _numbered(following, y, height, width - half - dots)
        return [*beside(*self._now(), half), *then, *self._row_of_dots(following, y, height, dots)]

    def _dots_width(self, width: int) -> int:
        """Cells for the dots of the tint to lay, where it has any and there is room; else 0."""
        following = self.laying.next
        is_solid = following is None or following.tint >= SOLID
        roomy = width >= (_WITH_DOTS if self.laying.canvas is None else _WITH_PRINT_AND_DOTS)
        return 0 if is_solid or not roomy or self._draw is None else width // 4

    def _row_of_dots(self, step: Step, y: int, height: int, width: int) -> list[Segment]:
        """A row of the dots, which are drawn again only when the step or the size is another."""
        if not width or self._draw is None:
            return []
        if self._dots[0] != (step, height, width):
            drawn = self._draw(step, width, 2 * height, min(2 * height, width) / _FEWEST)
            self._dots = (step, height, width), half_block_rows(drawn)
        return self._dots[1][y]

    def _captions(self, width: int) -> list[Segment]:
        following = self.laying.next
        if self.laying.canvas is not None:
            return self._captions_beside(width)
        if following is None:
            return [Segment(set_cell_size(" as it should look now", width), _PLAIN)]
        dots = self._dots_width(width)
        half = width // 2 - dots // 2
        after = f" then, with {printable(following.words)}"
        if cell_len(after) > width - half - dots:
            after = " then"
        return [
            Segment(set_cell_size(" now", half), _PLAIN),
            Segment(set_cell_size(after, width - half - dots), _NEXT),
            Segment(set_cell_size(_ITS_DOTS, dots), _PLAIN),
        ]

    def _captions_beside(self, width: int) -> list[Segment]:
        """Which colour is on screen and which in print, under both halves."""
        dots = self._dots_width(width)
        half = width if self.laying.next is None else width // 2 - dots // 2
        cells = []
        for room, when, style in ((half, "now", _PLAIN), (width - half - dots, "then", _NEXT)):
            print_ = room // 3
            screen = whole(room - print_, f" {when}, on screen", f" {when}")
            print_words = whole(print_, " in print", " print", "print")
            cells.append(Segment(set_cell_size(screen, room - print_), style))
            cells.append(Segment(set_cell_size(print_words, print_), style))
        return [*cells, Segment(set_cell_size(_ITS_DOTS, dots), _PLAIN)]

    def _now(self) -> tuple[RGB | None, RGB]:
        """How it looks now on the canvas, if that differs, and in print."""
        return self.laying.canvas, self.laying.srgb

    def _ink(self, step: Step, width: int) -> list[Segment]:
        laid, is_next = step.name in self.laying.laid, step == self.laying.next
        style = _NEXT if is_next else _DIM if laid else _PLAIN
        mark = "✓" if laid else "▸" if is_next else " "
        layer = f"layer {step.ink + 1}" if width >= _ROOMY else str(step.ink + 1)
        text = f" {mark} {layer}  {printable(step.words)}"
        swatch = min(_SWATCH, max(2, width - cell_len(text) - 1))
        return [
            Segment(set_cell_size(text, max(0, width - swatch)), style),
            block(step.canvas or step.srgb, swatch),
        ]


def _numbered(step: Step, y: int, height: int, width: int) -> list[Segment]:
    """One row of the colour to come, with its tint in figures that are read from afar."""
    print_ = [] if step.canvas is None else [block(step.srgb, width // 3)]
    width -= width // 3 if print_ else 0
    rgb = step.canvas or step.srgb
    lines = big(percent(step.tint), width - 4, height - 2)
    top, long = (height - len(lines)) // 2, max(map(len, lines))
    if height < 3 or long > width - 2 or not top <= y < top + len(lines):
        return [block(rgb, width), *print_]
    light = contrast_ratio((0, 0, 0), rgb) > contrast_ratio((255, 255, 255), rgb)
    ink = Color.from_rgb(0, 0, 0) if light else Color.from_rgb(255, 255, 255)
    left = (width - long) // 2
    figures = Segment(lines[y - top].ljust(long), ground(rgb) + Style(color=ink))
    return [block(rgb, left), figures, block(rgb, width - left - long), *print_]


class LayingScreen(ExplainedScreen[None]):
    """Ticks the inks of a recipe off, one after another."""

    DEFAULT_CSS = """
    LayingScreen #laying-said { height: auto; max-height: 2; padding: 0 1; display: none; }
    """

    WORDS = (
        "recipe",
        "on screen, in print",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "do('tick')", "Laid", id="laying.tick", tooltip="This ink is laid"),
        Binding("escape", "leave", "Back", id="laying.back", tooltip="Go back"),
        help_key("laying"),
        Binding(
            "u,backspace",
            "do('undo')",
            "Undo",
            id="laying.undo",
            tooltip="Undo the last change, even from an earlier session",
        ),
        Binding(
            "U,ctrl+r",
            "do('redo')",
            "Redo",
            id="laying.redo",
            tooltip="Redo what was undone last",
            show=False,
        ),
        Binding(
            "0", "do('clear')", "Clear", id="laying.clear", tooltip="Start again: no ink is laid"
        ),
    ]

    picture = getters.query_one(LayingPicture)

    def __init__(self, name: str, laid: BeingLaid) -> None:
        """Lay a recipe.

        Args:
            name: What it is laid for.
            laid: The recipe, and how far it is laid.
        """
        super().__init__()
        self._what, self._laid = name, laid

    def compose(self) -> ComposeResult:
        """The picture, a message and the keys."""
        yield LayingPicture(self._what, self._laid.laying, self._laid.dots)
        yield Static(id="laying-said", markup=False)
        yield Foot()

    def action_do(self, deed: str) -> None:
        """Tick the next ink, clear, undo or redo, and say what there is to say of it."""
        self.say(getattr(self._laid, deed)())
        self.picture.show(self._laid.laying)

    def say(self, text: str) -> None:
        """Say something at the foot until something else is said; empty, it takes no room."""
        said = self.query_one("#laying-said", Static)
        said.update(Content(printable(text)))
        said.display = bool(text)

    def unused(self, key: str) -> None:
        """Say that a key does nothing here."""
        self.say(not_in_use(key))

    def action_leave(self) -> None:
        """Go back; what is ticked stays ticked."""
        self.dismiss()
