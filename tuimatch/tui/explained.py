"""A screen that explains itself: every key, and every number."""

from __future__ import annotations

from typing import TypeVar

from textual.screen import Screen

Answer = TypeVar("Answer")


class ExplainedScreen(Screen[Answer]):
    """Has the action ``help``, to be bound to the question mark."""

    def action_help(self) -> None:
        """Every key and every number."""
        from tuimatch.tui.help_screen import HelpScreen, keys_of

        self.app.push_screen(HelpScreen(keys_of(self)))
