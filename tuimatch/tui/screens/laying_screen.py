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
from textual.strip import Strip
from textual.widget import Widget

from tuimatch.recipe.lettering import contrast_ratio
from tuimatch.text import percent, printable
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.widgets.big_digits import big
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.paint import RGB, beside, block, ground

if TYPE_CHECKING:
    from tuimatch.recipe.laying import Laying, Step

_PLAIN, _DIM, _NEXT = Style.null(), Style(dim=True), Style(bold=True)
_SWATCH = 8
_ROOMY = 48  # cells: below, the number of the layer stands alone


class LayingPicture(Widget):
    """What is on the page now, what should be there after the next ink, and the inks in order."""

    ALLOW_SELECT = False
    DEFAULT_CSS = "LayingPicture { width: 1fr; height: 1fr; }"

    def __init__(self, name: str, paper: RGB, laying: Laying, canvas: RGB | None) -> None:
        super().__init__()
        self._canvas = canvas
        self.laying = laying
        self._title = name
        self._paper = paper

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
            cells = self._ink(place, steps[place], width) if place < len(steps) else []
        return Strip(cells).adjust_cell_length(width).apply_style(self.rich_style)

    def _heading(self, width: int) -> list[Segment]:
        laying = self.laying
        right = "done" if laying.done else f"{laying.laid} of {len(laying.steps)} laid"
        room = max(0, width - len(right) - 3)
        name = set_cell_size(f" {printable(self._title)}", room)
        return [Segment(name, _NEXT), Segment(f"  {right} ", _NEXT)]

    def _colours(self, y: int, height: int, width: int) -> list[Segment]:
        half = width // 2
        following = self.laying.next
        if following is None:
            return beside(*self._now(), width)
        return [*beside(*self._now(), half), *_numbered(following, y, height, width - half)]

    def _captions(self, width: int) -> list[Segment]:
        following = self.laying.next
        if self._canvas is not None:
            return self._captions_beside(width)
        if following is None:
            return [Segment(set_cell_size(" as it should look now", width), _PLAIN)]
        half = width // 2
        after = f" then, with {printable(following.words)}"
        if cell_len(after) > width - half:
            after = " then"
        return [
            Segment(set_cell_size(" now", half), _PLAIN),
            Segment(set_cell_size(after, width - half), _NEXT),
        ]

    def _captions_beside(self, width: int) -> list[Segment]:
        """Which colour is on screen and which in print, under both halves."""
        half = width if self.laying.next is None else width // 2
        cells = []
        for room, when, style in ((half, "now", _PLAIN), (width - half, "then", _NEXT)):
            print_ = room // 3
            screen = whole(room - print_, f" {when}, on screen", f" {when}")
            print_words = whole(print_, " in print", " print", "print")
            cells.append(Segment(set_cell_size(screen, room - print_), style))
            cells.append(Segment(set_cell_size(print_words, print_), style))
        return cells

    def _now(self) -> tuple[RGB | None, RGB]:
        """How it looks now on the canvas, if that differs, and in print."""
        laid = self.laying.laid
        if not laid:
            return self._canvas, self._paper
        step = self.laying.steps[laid - 1]
        return step.canvas, step.srgb

    def _ink(self, place: int, step: Step, width: int) -> list[Segment]:
        laid = place < self.laying.laid
        style = _NEXT if place == self.laying.laid else _DIM if laid else _PLAIN
        mark = "✓" if laid else "▸" if place == self.laying.laid else " "
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

    WORDS = (
        "recipe",
        "on screen, in print",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "tick", "Laid", id="laying.tick", tooltip="This ink is laid"),
        Binding("escape", "leave", "Back", id="laying.back", tooltip="Go back"),
        Binding(
            "question_mark",
            "help",
            "Help",
            id="laying.help",
            tooltip="What the keys and words here mean",
        ),
        Binding(
            "backspace,u",
            "untick",
            "Not yet",
            id="laying.undo",
            tooltip="The last ink is not laid after all",
        ),
        Binding("0", "restart", "Clear", id="laying.clear", tooltip="Start again: no ink is laid"),
    ]

    picture = getters.query_one(LayingPicture)

    def __init__(
        self,
        name: str,
        paper: RGB,
        laying: Laying,
        keep: Callable[[Laying], str],
        canvas: RGB | None = None,
    ) -> None:
        """Lay a recipe.

        Args:
            name: What it is laid for.
            paper: The colour of the paper, as a screen shows it.
            laying: The recipe, and how far it is laid.
            keep: Puts on disk how far it is laid; answers why it could not, or nothing.
            canvas: The paper as the drawing program has it, where print has screen colours.
        """
        super().__init__()
        self._picture = LayingPicture(name, paper, laying, canvas)
        self._keep = keep

    def compose(self) -> ComposeResult:
        """The picture and the keys."""
        yield self._picture
        yield Foot()

    def action_tick(self) -> None:
        """The next ink is laid; when all are, nothing more is."""
        if not self.picture.laying.done:
            self._show(self.picture.laying.tick())

    def action_restart(self) -> None:
        """Nothing is laid: the same recipe for another place."""
        self._show(self.picture.laying.at(0))

    def action_untick(self) -> None:
        """The last ink is not laid after all."""
        self._show(self.picture.laying.untick())

    def _show(self, laying: Laying) -> None:
        self.picture.show(laying)
        problem = self._keep(laying)
        if problem:
            self.notify(problem, severity="warning", markup=False)

    def action_leave(self) -> None:
        """Go back; what is ticked stays ticked."""
        self.dismiss()
