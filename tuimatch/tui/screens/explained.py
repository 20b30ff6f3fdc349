"""A screen that explains itself: every key, and every number."""

from __future__ import annotations

from typing import TypeVar

from textual.screen import Screen

from tuimatch.tui.screens import colours_shown
from tuimatch.tui.widgets.lines import Lines

Answer = TypeVar("Answer")


class ExplainedScreen(Screen[Answer]):
    """Has the action ``help``, to be bound to the question mark, and a word on false colours."""

    DEFAULT_CSS = """
    ExplainedScreen > #false-colours { dock: top; height: 1; padding: 0 1; text-style: reverse; }
    """

    def on_mount(self) -> None:
        """Warn of a terminal that does not show the colours meant."""
        text = colours_shown.said_of(self.app)
        if text and not self.query("#warning"):  # the match has a place of its own for it
            self.mount(Lines(text, id="false-colours"))

    def action_help(self) -> None:
        """Every key and every number."""
        from tuimatch.tui.screens.help_screen import HelpScreen, keys_of

        self.app.push_screen(HelpScreen(keys_of(self)))
