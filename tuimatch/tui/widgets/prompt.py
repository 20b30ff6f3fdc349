"""A one-line question at the foot of the screen that leaves the colours in sight."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input

# Characters of an answer: more than any path, note or recipe has.
LONGEST = 4_000


class Prompt(Input):
    """Takes a line of text; a colour pasted into it still becomes the target."""

    DEFAULT_CSS = """
    Prompt { display: none; height: 1; border: none; padding: 0 1; background: $surface; }
    Prompt:focus { border: none; background-tint: transparent; }
    Prompt.-open { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave", id="prompt.leave"),
        Binding("enter", "submit", "Done", id="prompt.done"),
    ]

    class Left(Message):
        """The question was left without an answer."""

    class Pasted(Message):
        """Text was pasted while the question was open."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def on_mount(self) -> None:
        """Take one line of a length that makes sense."""
        self.max_length = LONGEST

    def ask(self, question: str, answer: str = "", *, replace: bool = True) -> None:
        """Open with a question shown where the answer will stand.

        Args:
            question: Shown while nothing is typed.
            answer: What stands there already.
            replace: Whether typing replaces it rather than adding to it.
        """
        self.select_on_focus = replace
        self.placeholder = question
        self.value = answer
        self.cursor_position = len(answer)
        self.add_class("-open")
        self.focus()

    def close(self) -> None:
        """Close the question."""
        self.remove_class("-open")

    def action_leave(self) -> None:
        """Close without an answer."""
        self.post_message(self.Left())

    def on_paste(self, event: events.Paste) -> None:
        """Let the screen look at it first: it may be a colour."""
        event.prevent_default()
        event.stop()
        if len(self.value) + len(event.text) > LONGEST:
            self.notify(f"not pasted: {len(event.text):,} characters are too many for an answer")
        else:
            self.post_message(self.Pasted(event.text))
