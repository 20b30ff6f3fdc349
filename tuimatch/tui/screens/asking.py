"""A screen over the match's state: it does what keys say, and has the question at the foot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from textual import getters, on
from textual.widget import Widget

from tuimatch.tui.screens.explained import ExplainedScreen, not_in_use
from tuimatch.tui.widgets.prompt import Prompt

if TYPE_CHECKING:
    from textual import events

    from tuimatch.tui.asked import Asked
    from tuimatch.tui.match.state import MatchState

Answer = TypeVar("Answer")


class AskingScreen(ExplainedScreen[Answer]):
    """Holds a `Prompt`, and keys whose action is ``do`` and the name of a method of the state.

    Attributes:
        state: All that is asked, seen, said and taken.
    """

    prompt = getters.query_one(Prompt)

    def __init__(self, state: MatchState) -> None:
        super().__init__()
        self.state = state
        self._asked: Asked | None = None  # the question that is shown
        self._keys: dict[str, str] = {}  # by the id of their binding, as they are shown

    @property
    def resting(self) -> Widget:
        """Where the keys go while nothing is asked."""
        raise NotImplementedError

    def show(self) -> None:
        """Bring every widget to what the state is now."""
        raise NotImplementedError

    def show_question(self) -> None:
        """Open the question that the state asks, or close it."""
        asked = self.state.asked
        if asked is self._asked:
            return
        self._asked = asked
        self.set_class(asked is not None, "-asking")
        if asked is None:
            self.prompt.close()
            self.resting.focus()
        else:
            self.prompt.ask(asked.question, asked.answer, replace=asked.replace)

    def key_of(self, identity: str) -> str:
        """The key of a binding as it is shown, whatever it has been changed to."""
        if identity not in self._keys:  # while a question is open, no key but its own is active
            bound = (one.binding for one in self.active_bindings.values())
            self._keys |= {b.id: self.app.get_key_display(b) for b in bound if b.id}
        return self._keys.get(identity, "")

    def action_do(self, what: str, *arguments: Any) -> None:
        """Do what a key of the state does, and show what it is then."""
        getattr(self.state, what)(*arguments)
        self.show()

    def unused(self, key: str) -> None:
        """Say that a key does nothing here."""
        self.action_do("say", not_in_use(key))

    @property
    def awaits_colour(self) -> bool:
        """Whether six hex digits that come at once are a target."""
        return self.state.asked is None

    def type_colour(self) -> None:
        """Let a colour be typed without its sign."""
        self.action_do("edit_target", "#")

    def on_paste(self, event: events.Paste) -> None:
        """A colour pasted anywhere becomes the target."""
        event.stop()
        self.action_do("pasted", event.text)

    @on(Prompt.Pasted)
    def _pasted(self, message: Prompt.Pasted) -> None:
        text = self.state.pasted(message.text)
        self.show()
        if text:
            self.prompt.replace(text, *self.prompt.selection)

    @on(Prompt.Submitted)
    def _submitted(self, message: Prompt.Submitted) -> None:
        self.action_do("answer", message.value)

    @on(Prompt.Left)
    def _left(self) -> None:
        self.action_do("leave")
