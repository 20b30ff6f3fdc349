"""The keys at the foot of a screen: as many as fit whole, the most used first."""

from __future__ import annotations

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.events import Resize
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

# How to get help and how to leave are always to be seen.
_ALWAYS = ("help", "app.quit", "quit")


class Foot(Footer):
    """Shows no key that would be cut, and help and quit at the end."""

    def __init__(self) -> None:
        super().__init__(show_command_palette=False, compact=True)
        self._fitted = 0

    def compose(self) -> ComposeResult:
        """The keys that the width has room for."""
        keys = [key for key in super().compose() if isinstance(key, FooterKey)]
        always = [key for key in keys if key.action in _ALWAYS]
        self._fitted = self.app.size.width
        room = self._fitted + 1 - sum(map(_width, always))  # the last needs no space after it
        shown = []
        for key in keys:
            if key not in always:
                room -= _width(key)
                if room < 0:
                    break
                shown.append(key)
        self.styles.grid_size_columns = max(len(shown) + len(always), 1)
        yield from (*shown, *always)

    def on_resize(self, event: Resize) -> None:
        """Show more keys, or fewer, where the width has changed."""
        if event.size.width != self._fitted:
            self.call_after_refresh(self.recompose)


def _width(key: FooterKey) -> int:
    return cell_len(key.key_display) + cell_len(key.description) + 2  # a space after each
