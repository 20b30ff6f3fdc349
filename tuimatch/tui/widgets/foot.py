"""The keys at the foot of a screen: as many as fit whole, the most used first."""

from __future__ import annotations

from itertools import accumulate
from typing import ClassVar, NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from textual import events
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

# How to get help and how to leave are always to be seen.
_ALWAYS = ("help", "app.quit", "quit")


class Shown(NamedTuple):
    """A key at the foot.

    Attributes:
        key: As Textual names it.
        sign: As it is shown, such as ⏎.
        name: What it does, in a word.
        says: What it does, in a sentence.
        action: What it does, to Textual.
        enabled: Whether it does anything now.
    """

    key: str
    sign: str
    name: str
    says: str
    action: str
    enabled: bool

    @property
    def width(self) -> int:
        """Cells, with the spaces after the sign and after the name."""
        return cell_len(self.sign) + cell_len(self.name) + 2


def fitting(keys: list[Shown], width: int) -> list[Shown]:
    """The first of them that a width has room for, none of them cut; help and quit at the end."""
    always = [key for key in keys if key.action in _ALWAYS]
    others = [key for key in keys if key.action not in _ALWAYS]
    room = width + 1 - sum(key.width for key in always)  # the last needs no space after it
    count = sum(used <= room for used in accumulate(key.width for key in others))
    return [*others[:count], *always]


class Foot(Widget):
    """The keys of a screen that are marked to be shown, in the order of its bindings.

    One line that is drawn: a widget for each key, as Textual's own footer has it, would take a
    third of the time to the first frame.
    """

    ALLOW_SELECT = False
    COMPONENT_CLASSES: ClassVar[set[str]] = {"foot--key", "foot--name", "foot--idle"}
    DEFAULT_CSS = """
    Foot {
        dock: bottom;
        height: 1;
        .foot--key { color: #ffffff; text-style: bold; }
        .foot--name { color: $secondary; }
        .foot--idle { color: $secondary; text-style: dim; }
    }
    """

    def __init__(self) -> None:
        super().__init__()
        self._keys: list[Shown] = []

    @property
    def shown(self) -> list[Shown]:
        """The keys that are seen, from the left."""
        return fitting(self._keys, self.size.width - self._edge)

    @property
    def _edge(self) -> int:
        """Cells before the first key, as before other lines; a small pane needs them for keys."""
        return 1 if self.size.width >= 60 else 0

    def on_mount(self) -> None:
        """Follow what the keys can do."""
        self.screen.bindings_updated_signal.subscribe(self, self._read)

    def _read(self, screen: Screen[object]) -> None:
        keys: dict[str, Shown] = {}
        for _, binding, enabled, tooltip in screen.active_bindings.values():
            if binding.show and binding.action not in keys:
                sign, says = self.app.get_key_display(binding), tooltip or binding.tooltip
                keys[binding.action] = Shown(
                    binding.key, sign, binding.description, says, binding.action, enabled
                )
        if (found := list(keys.values())) != self._keys:
            self._keys = found
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """The line."""
        del y
        sign, name, idle = (
            self.get_component_rich_style(f"foot--{part}") for part in ("key", "name", "idle")
        )
        segments = [
            Segment(text, style if key.enabled else idle)
            for key in self.shown
            for text, style in ((key.sign, sign), (f" {key.name} ", name))
        ]
        return Strip([Segment(" " * self._edge, self.rich_style), *segments]).adjust_cell_length(
            self.size.width, self.rich_style
        )

    def _at(self, x: int) -> Shown | None:
        shown = self.shown
        ends = accumulate((key.width for key in shown), initial=self._edge)
        next(ends)
        return next((key for key, end in zip(shown, ends, strict=True) if x < end), None)

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Say what the key under the pointer does."""
        key = self._at(event.x)
        self.tooltip = key.says if key else None

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """A key that is clicked is pressed."""
        event.stop()
        if key := self._at(event.x):
            self.app.simulate_key(key.key)
