"""The keys at the foot of a screen: as many as fit whole, the most used first."""

from __future__ import annotations

from itertools import accumulate, pairwise
from typing import ClassVar, NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from textual import events
from textual.binding import Binding
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

# How to leave and how to get help are always to be seen, in this order: the last part of their ids.
LAST = ("back", "help", "quit")
# Cells in which groups of keys stand apart by a dot; in fewer by one more space, or not at all.
_ROOMY = 96


class Shown(NamedTuple):
    """A key at the foot.

    Attributes:
        key: As Textual names it.
        sign: As it is shown, such as ⏎.
        name: What it does, in a word.
        says: What it does, in a sentence.
        action: What it does, to Textual.
        enabled: Whether it does anything now.
        group: What it belongs with; there is a gap between two groups.
    """

    key: str
    sign: str
    name: str
    says: str
    action: str
    enabled: bool
    group: str = "own"

    @property
    def width(self) -> int:
        """Cells, with the spaces after the sign and after the name."""
        return cell_len(self.sign) + cell_len(self.name) + 2


def fitting(keys: list[Shown], width: int, gap: int = 0) -> list[Shown]:
    """The first of them that have room, none of them cut; the way out and help at the end.

    Args:
        keys: In the order in which they are used most.
        width: Cells there are.
        gap: Cells between two groups, besides the space after each name.
    """
    always = [key for last in LAST for key in keys if key.group == last]
    others = [key for key in keys if key.group not in LAST]
    while others and sum(widths([*others, *always], gap)) > width + 1:  # no space after the last
        others.pop()
    return [*others, *always]


def widths(keys: list[Shown], gap: int) -> list[int]:
    """Cells of each key, with the gap before it where it begins a group."""
    groups = ["" if key.group in LAST else key.group for key in keys]
    begins = (now != before for before, now in pairwise(groups))
    gaps = (gap * new for new in (False, *begins))
    return [key.width + before for key, before in zip(keys, gaps, strict=False)]


def _group(binding: Binding) -> str:
    name = (binding.id or "").rpartition(".")[2]
    return name if name in LAST else binding.group.description if binding.group else "own"


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
        return fitting(self._keys, self.size.width - self._edge, len(self._gap))

    @property
    def _edge(self) -> int:
        """Cells before the first key, as before other lines; a small pane needs them for keys."""
        return 1 if self.size.width >= 60 else 0

    @property
    def _gap(self) -> str:
        """What stands between two groups of keys; a small pane needs its cells for keys."""
        return "· " if self.size.width >= _ROOMY else " " * self._edge

    def on_mount(self) -> None:
        """Follow what the keys can do."""
        self.screen.bindings_updated_signal.subscribe(self, self._read)

    def _read(self, screen: Screen[object]) -> None:
        keys: dict[str, Shown] = {}
        for _, binding, enabled, tooltip in screen.active_bindings.values():
            if binding.show and binding.action not in keys:
                sign, says = self.app.get_key_display(binding), tooltip or binding.tooltip
                keys[binding.action] = Shown(
                    *(binding.key, sign, binding.description, says, binding.action, enabled),
                    _group(binding),
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
        shown = self.shown
        segments = [
            Segment(text, style if key.enabled else idle)
            for key, width in zip(shown, widths(shown, len(self._gap)), strict=True)
            for text, style in (
                (self._gap if width > key.width else "", idle),
                (key.sign, sign),
                (f" {key.name} ", name),
            )
        ]
        return Strip([Segment(" " * self._edge, self.rich_style), *segments]).adjust_cell_length(
            self.size.width, self.rich_style
        )

    def _at(self, x: int) -> Shown | None:
        shown = self.shown
        ends = accumulate(widths(shown, len(self._gap)), initial=self._edge)
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
