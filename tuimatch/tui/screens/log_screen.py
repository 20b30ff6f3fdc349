"""What the screens that work on the log share: the open log, and a question at the foot."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from textual import getters, on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from tuimatch.text import printable
from tuimatch.tui.log_access import LogAccess
from tuimatch.tui.screens.explained import ExplainedScreen, not_in_use
from tuimatch.tui.widgets.block_list import BlockList
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.prompt import Prompt

if TYPE_CHECKING:
    from tuimatch.log import Log

Answer = TypeVar("Answer")
Result = TypeVar("Result")


class LogScreen(ExplainedScreen[Answer]):
    """A list over the log; it says when the log cannot be used, and tries again with each key."""

    DEFAULT_CSS = """
    LogScreen {
        .log-message { height: auto; max-height: 3; min-height: 1; padding: 0 1; }
        .log-notice { height: auto; max-height: 4; padding: 0 1; text-style: bold; display: none; }
        &.-asking Foot { display: none; }
    }
    """

    listed = getters.query_one(BlockList)
    prompt = getters.query_one(Prompt)

    def __init__(self, log_path: Path) -> None:
        super().__init__()
        self.path = log_path
        self.access = LogAccess(log_path)
        self._asking = ""

    def foot(self) -> ComposeResult:
        """Notice, message, question or keys: what a screen of this kind ends with."""
        yield Static(classes="log-notice", markup=False)
        yield Static(classes="log-message", markup=False)
        yield Prompt()
        yield Foot()

    def on_unmount(self) -> None:
        """Close the log."""
        self.access.close()

    def with_log(self, work: Callable[[Log], Result]) -> Result | None:
        """Do something with the log; None after saying why when it cannot be done."""
        done = self.access.do(work)
        self.show_notice(self.access.notice)
        if self.access.problem:
            self.say(self.access.problem)
        return done

    def show_notice(self, text: str) -> None:
        """Say what happened to the file, and leave it there."""
        notice = self.query_one(".log-notice", Static)
        if text and not notice.display:
            notice.update(Content(printable(text)))
            notice.display = True

    def say(self, text: str) -> None:
        """Say something at the foot until something else is said."""
        self.query_one(".log-message", Static).update(Content(printable(text)))

    def unused(self, key: str) -> None:
        """Say that a key does nothing here."""
        self.say(not_in_use(key))

    # Questions at the foot.

    def ask(self, what: str, question: str, answer: str = "", *, replace: bool = True) -> None:
        """Ask for a line of text; `answered` gets it.

        Args:
            what: What it is that is asked for.
            question: Said above the answer, which may hide it.
            answer: What stands there already.
            replace: Whether typing replaces it rather than adding to it.
        """
        self._asking = what
        self.add_class("-asking")
        self.say(question)
        self.prompt.ask("", answer, replace=replace)

    def answered(self, what: str, answer: str) -> bool:
        """Take an answer; whether it will do."""
        raise NotImplementedError

    def left(self, what: str) -> None:
        """A question was left without an answer."""

    @on(Prompt.Submitted)
    def _submitted(self, message: Prompt.Submitted) -> None:
        if self.answered(self._asking, message.value):
            self.close_prompt()

    @on(Prompt.Left)
    def _left(self) -> None:
        self.say("")
        self.left(self._asking)
        self.close_prompt()

    @on(Prompt.Pasted)
    def _pasted(self, message: Prompt.Pasted) -> None:
        text = printable(" ".join(message.text.split()))
        self.prompt.replace(text, *self.prompt.selection)  # what is selected, or nothing

    def close_prompt(self) -> None:
        """Close the question and go back to the list."""
        self._asking = ""
        self.remove_class("-asking")
        self.prompt.close()
        self.listed.focus()
