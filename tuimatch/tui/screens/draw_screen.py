"""Drawing a page out of the terminal: layers, plates and a proof, as they are ticked."""

from __future__ import annotations

from functools import partial
from threading import Event
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.strip import Strip
from textual.widgets import Static

from tuimatch.errors import TuimatchError
from tuimatch.plates import order
from tuimatch.text import bar, printable
from tuimatch.tui.screens.draw_state import LINES, DrawState, Line
from tuimatch.tui.screens.explained import ExplainedScreen, help_key, own_binding
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.prompt import Prompt

if TYPE_CHECKING:
    from tuimatch.plates.order import Order
    from tuimatch.tui.screens.page_state import Opened

_TITLE, _VALUE = 16, 26
_READING = 0.1  # how much of the work is done when the line art is known

_key = partial(own_binding, "draw")


class OrderList(BlockList):
    """What is asked, a line each: ticked, filled in, and what it means."""

    def __init__(self, state: DrawState) -> None:
        super().__init__()
        self._state = state

    def on_mount(self) -> None:
        """Show all lines."""
        self.show_blocks(len(LINES))

    @property
    def line(self) -> Line:
        """The line under the cursor."""
        return LINES[self.cursor]

    @property
    def _is_wide(self) -> bool:
        return self.size.width >= 2 * _VALUE + _TITLE

    def watch_cursor(self, old: int, new: int) -> None:
        """What the line under the cursor means is told below where there is no room beside it."""
        super().watch_cursor(old, new)
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """One line, or below all what the one under the cursor means."""
        if y > len(LINES) and not self._is_wide:
            return self.as_strip([fitted(f" {self.line.says}", self.size.width, DIM)])
        return super().render_line(y)

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """One line."""
        line, here = LINES[place], place == self.cursor
        ticked = self._state.is_ticked(line)
        tick = "   " if ticked is None else "[x]" if ticked else "[ ]"
        value = printable(self._state.value(line))
        wide = _VALUE if self._is_wide else max(width - _TITLE, 0)
        return [
            fitted(f"{'▸' if here else ' '} {tick} {line.title}", _TITLE, HERE if here else PLAIN),
            fitted(f" {value}", wide, HERE if here else PLAIN),
            fitted(f"  {line.says}", width - _TITLE - wide, DIM),
        ]


class StoppedError(Exception):
    """The work is to end."""


class DrawScreen(ExplainedScreen[None]):
    """Asks what to draw, and draws it."""

    DEFAULT_CSS = """
    DrawScreen {
        #draw-head { height: 2; padding: 0 0 0 1; text-style: bold; }
        OrderList { height: 10; }
        #draw-caution { height: auto; padding: 0 1; text-style: dim; }
        #draw-line { height: auto; max-height: 12; padding: 1 1 0 1; }
        #draw-room { height: 1fr; }
        &.-asking Foot { display: none; }
    }
    """
    WORDS = (
        "plate",
        "proof",
        "lines an inch",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        _key("space", "tick", "Tick", "Tick a line, or untick it", "tick", show=True),
        _key("enter", "change", "Change", "Type another name or number", "change", show=True),
        _key("D", "begin", "Draw", "Draw what is ticked", "draw", show=True),
        help_key("draw"),
        _key("escape", "leave", "Back", "Stop the drawing, or go back", "back", show=True),
    ]

    listed = getters.query_one(OrderList)
    prompt = getters.query_one(Prompt)

    class Progress(Message):
        """How much is drawn."""

        def __init__(self, done: float) -> None:
            super().__init__()
            self.done = done

        def can_replace(self, message: Message) -> bool:
            """A newer one takes the place of this one."""
            return isinstance(message, DrawScreen.Progress)

    class Ended(Message):
        """All is drawn, or nothing, with the reason."""

        def __init__(self, said: str) -> None:
            super().__init__()
            self.said = said

    def __init__(self, shown: Opened, number: str) -> None:
        """Ask about a page.

        Args:
            shown: The page with its recipes.
            number: Its number in the log; may be empty.
        """
        super().__init__()
        assert shown.flats is not None  # a list is not drawn
        self._shown, self._flats = shown, shown.flats
        self.state = DrawState.of(self._flats.page.file, number)
        self._stop, self._working, self._percent = Event(), False, -1

    def compose(self) -> ComposeResult:
        """Head, lines, what was said, question or keys."""
        yield Lines(id="draw-head")
        yield OrderList(self.state)
        yield Static(order.CAUTION, id="draw-caution", markup=False)
        yield Static(id="draw-line", markup=False)
        yield Static(id="draw-room")
        yield Prompt()
        yield Foot()

    def on_mount(self) -> None:
        """Begin with the first line."""
        self.listed.focus()
        self._show()

    def on_unmount(self) -> None:
        """Stop the drawing: nobody waits for it any more."""
        self._stop.set()

    def needs(self, work: str, deed: str) -> bool:
        """Keys wait for the drawing, but for the one that stops it and for help."""
        return work == "draw" and deed not in ("leave", "help")

    def _show(self) -> None:
        page = self._flats.page
        size = order.size_in_words(page.width, page.height, self.state.how.dpi)
        palette = self._shown.page.recipes.palette.name
        self.query_one("#draw-head", Lines).show(
            f"draw {printable(page.file)} on {printable(palette)}\n{size}"
        )
        self.listed.refresh()

    def say(self, text: str) -> None:
        """Say something until something else is said."""
        self.query_one("#draw-line", Static).update(
            Content("\n".join(map(printable, text.split("\n"))))
        )

    # Asking.

    def action_tick(self) -> None:
        """Tick, or untick."""
        if self.state.tick(self.listed.line):
            self.say("")
            self._show()
        else:
            self.say("Enter changes it")

    @on(OrderList.Chosen)
    def action_change(self) -> None:
        """Ask for a name or a number; what has none is ticked."""
        line = self.listed.line
        if line in (Line.DOTS, Line.MARKS, Line.REPLACE):
            self.action_tick()
            return
        self.say(f"{line.title}: {line.says}")
        self.add_class("-asking")
        self.prompt.ask("", self.state.value(line))

    def _close(self) -> None:
        self.remove_class("-asking")
        self.prompt.close()
        self.listed.focus()

    @on(Prompt.Left)
    def _left(self) -> None:
        self.say("")
        self._close()

    @on(Prompt.Pasted)
    def _pasted(self, message: Prompt.Pasted) -> None:
        text = printable(" ".join(message.text.split()))
        self.prompt.replace(text, *self.prompt.selection)

    @on(Prompt.Submitted)
    def _submitted(self, message: Prompt.Submitted) -> None:
        try:
            self.state.fill_in(self.listed.line, message.value)
        except TuimatchError as error:
            self.say(str(error))
            return
        self.say("")
        self._close()
        self._show()

    # Drawing.

    def action_begin(self) -> None:
        """Draw what is ticked."""
        try:
            wanted = self.state.order
        except TuimatchError as error:
            self.say(str(error))
            return
        self._stop.clear()
        self._working, self._percent = True, -1
        self._told(0.0)
        self._draw(wanted)

    @work(thread=True, exclusive=True, group="draw")
    def _draw(self, wanted: Order) -> None:
        from tuimatch.plates import painting

        shown = self._shown
        try:
            painted = painting.of_page(
                *(self._flats.page, self._flats, shown.page.recipes, shown.match.rows),
                lambda done: self._told(_READING * done),
            )
            said = order.draw(
                wanted, painted, lambda done: self._told(_READING + (1 - _READING) * done)
            )
            self.post_message(self.Ended("\n".join(said)))
        except StoppedError:
            self.post_message(self.Ended("stopped; nothing is written"))
        except TuimatchError as error:
            self.post_message(self.Ended(f"nothing is written: {error}"))

    def _told(self, done: float) -> None:
        """Called in the thread: show how much is done, unless it is to stop."""
        if self._stop.is_set():
            raise StoppedError
        if (percent := int(100 * done)) != self._percent:
            self._percent = percent
            self.post_message(self.Progress(done))

    @on(Progress)
    def _progress(self, message: Progress) -> None:
        if self._working and not self._stop.is_set():
            self.say(f"drawing {bar(message.done)}; Esc stops")

    @on(Ended)
    def _ended(self, message: Ended) -> None:
        self._working = False
        self.say(message.said)

    def action_leave(self) -> None:
        """Stop the drawing, or go back."""
        if self._working:
            self._stop.set()
            self.say("stopping")
        else:
            self.dismiss(None)
