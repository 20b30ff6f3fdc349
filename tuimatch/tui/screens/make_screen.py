"""Making one's own palette step by step: a question at the foot, every swatch answered above it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tuimatch.errors import TuimatchError
from tuimatch.text import has_unsafe, printable
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.widgets.block_list import PLAIN, BlockList, fitted
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.paint import RGB, block
from tuimatch.tui.widgets.prompt import Prompt

if TYPE_CHECKING:
    from tuimatch.own_palette.questions import Steps

_SWATCH = 12
_FILE = "file to write, such as own.toml"
_HOW = (
    "A picture is a file name, and perhaps a box x,y,width,height: brush.png 40,40,200,200\n"
    "All swatches in one picture, a row for each ink: brushes.png 3x4 (rows x columns)"
)


class SwatchList(BlockList, can_focus=False):
    """What has been answered: each swatch and what was understood of it."""

    HIGH = 2

    def __init__(self) -> None:
        super().__init__()
        self._swatches: list[tuple[RGB, str, bool]] = []

    def show(self, steps: Steps) -> None:
        """Show the swatches, the newest in view."""
        self._swatches = [
            ((round(colour[0]), round(colour[1]), round(colour[2])), said, not row.share)
            for colour, said, row in zip(steps.colours, steps.said, steps.rows, strict=True)
        ]
        self.show_blocks(len(self._swatches), max(0, len(self._swatches) - 1))

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Two lines of colour, words beside the first; tints are set in."""
        rgb, said, whole = self._swatches[place]
        inset = 1 if whole else 3
        room = width - inset - _SWATCH - 2
        return [
            Segment(" " * inset),
            block(rgb, _SWATCH),
            Segment("  "),
            fitted(said if part == 0 else "", room, PLAIN),
        ]


class MakeScreen(ExplainedScreen[Path | None]):
    """Answers the palette file that was written, or None."""

    DEFAULT_CSS = """
    MakeScreen {
        #make-head { height: 1; }
        Static { height: auto; max-height: 4; padding: 0 1; }
        #make-how { color: $secondary; margin-bottom: 1; }
        #make-said { text-style: bold; }
        &.-short #make-how { display: none; }
    }
    """
    VERTICAL_BREAKPOINTS = [(0, "-short"), (20, "-tall")]  # noqa: RUF012 (Textual's way)
    WORDS = (
        "swatch",
        "recipe",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+z", "undo", "Undo", tooltip="Take back the last answer", id="make.undo"),
        Binding("f1", "help", "Help", tooltip="What the keys and words here mean", id="make.help"),
    ]

    swatches = getters.query_one(SwatchList)
    prompt = getters.query_one(Prompt)

    class Answered(Message):
        """An answer was understood, or refused with the reason."""

        def __init__(self, steps: Steps, refusal: str, stamp: int) -> None:
            super().__init__()
            self.steps, self.refusal, self.stamp = steps, refusal, stamp

    class Written(Message):
        """The file is written, or not, with the reason."""

        def __init__(self, path: Path, refusal: str) -> None:
            super().__init__()
            self.path, self.refusal = path, refusal

    def __init__(self) -> None:
        super().__init__()
        self._taken: list[Steps] = []
        self._stamp = 0
        self._busy = False

    def compose(self) -> ComposeResult:
        """Head, swatches, what was said, question, answer, keys."""
        yield Lines("a palette from your own swatches", id="make-head")
        yield Static(_HOW, id="make-how", markup=False)
        yield SwatchList()
        yield Static(id="make-said", markup=False)
        yield Static(id="make-question", markup=False)
        yield Prompt()
        yield Foot()

    def on_mount(self) -> None:
        """Ask the first question once the colour library is loaded."""
        self.prompt.ask("", "")
        self._busy = True
        self._begin(self._stamp)

    def needs(self, work: str, deed: str) -> bool:
        """Leaving need not wait for a picture, only for a palette that is being written."""
        return work == "write" or deed != "leave"

    @work(thread=True)
    def _begin(self, stamp: int) -> None:
        from tuimatch.own_palette.questions import Steps

        self.post_message(self.Answered(Steps(), "", stamp))

    @on(Prompt.Submitted)
    def _submitted(self, message: Prompt.Submitted) -> None:
        if self._busy:
            return
        self._busy = True
        self._say("…")
        steps = self._taken[-1]
        if steps.question:
            self._answer(steps, message.value, self._stamp)
        else:
            self._write(steps, message.value.strip())

    @work(thread=True, exclusive=True)
    def _answer(self, steps: Steps, text: str, stamp: int) -> None:
        try:
            self.post_message(self.Answered(steps.answered(text), "", stamp))
        except TuimatchError as error:
            self.post_message(self.Answered(steps, str(error), stamp))

    @on(Answered)
    def _was_answered(self, message: Answered) -> None:
        if message.stamp != self._stamp:
            return
        self._busy = False
        self._say(message.refusal)
        if not message.refusal:
            self._taken.append(message.steps)
            self._ask()

    def _ask(self) -> None:
        steps = self._taken[-1]
        self.swatches.show(steps)
        self.query_one("#make-question", Static).update(Content(steps.question or _FILE))
        self.prompt.value = ""

    @work(thread=True, exclusive=True, group="write")
    def _write(self, steps: Steps, name: str) -> None:
        from tuimatch.files import in_file, out_file

        path = in_file.user_path(name)
        refusal = ""
        if path.suffix != ".toml" or has_unsafe(name):
            refusal = f"{name or 'no name'}: give the name of a .toml file, such as own.toml"
        elif out_file.is_taken(path):
            refusal = f"{path}: already exists; give another name"
        else:
            try:
                out_file.write(path, steps.palette(name=path.stem, stem=path.stem).text)
            except TuimatchError as error:
                refusal = str(error)
        self.post_message(self.Written(path, refusal))

    @on(Written)
    def _was_written(self, message: Written) -> None:
        self._busy = False
        if message.refusal:
            self._say(message.refusal)
        else:
            self.dismiss(message.path)

    def _say(self, text: str) -> None:
        self.query_one("#make-said", Static).update(Content(printable(text)))

    def action_undo(self) -> None:
        """Ask again what was answered last; an answer still being read is dropped."""
        if not self._taken:  # the first question is not asked yet
            return
        self._stamp += 1
        self._busy = False
        if len(self._taken) > 1:
            self._taken.pop()
            self._ask()
        self._say("")

    @on(Prompt.Left)
    def _left(self) -> None:
        self.dismiss(None)

    @on(Prompt.Pasted)
    def _pasted(self, message: Prompt.Pasted) -> None:
        first = next(iter(message.text.strip().splitlines()), "")
        self.prompt.replace(printable(first), *self.prompt.selection)
