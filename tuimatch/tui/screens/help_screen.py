"""Help: the keys of the screen it was called from, and its words in a sentence each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar, NamedTuple

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from tuimatch.text import printable
from tuimatch.tui.screens.glossary import CAUTIONS, GLOSSARY
from tuimatch.tui.widgets.foot import Foot

_DIGITS = "1…9"
_LEFT = 16  # cells for keys and words


class Key(NamedTuple):
    """What a key does.

    Attributes:
        keys: As they are shown, such as ``t`` or ``↑ k``.
        says: What happens.
        group: Under which heading; may be empty.
    """

    keys: str
    says: str
    group: str = ""


def keys_of(screen: Screen[Any]) -> list[Key]:
    """The keys that are active on a screen: the groups of its foot, the rest of it, all others.

    Keys that do the same thing stand together, and so do numbers: ``1…9  Take 1…9``.
    """
    bindings = [
        (active.binding, active.tooltip or active.binding.description)
        for active in screen.active_bindings.values()
        if active.binding.id  # the others are the toolkit's own: focus, selection
    ]
    together: dict[tuple[str, str], list[str]] = {}
    for binding, says in sorted(bindings, key=lambda item: (not item[0].group, not item[0].show)):
        group = binding.group.description if binding.group else ""
        key = screen.app.get_key_display(binding)
        if key.isdigit():
            says = says.replace(key, _DIGITS)
        keys = together.setdefault((group, says), [])
        if key not in keys:
            keys.append(key)
    return [Key(_listed(keys), says, group) for (group, says), keys in together.items() if says]


def _listed(keys: list[str]) -> str:
    digits = [key for key in keys if key.isdigit()]
    if len(digits) == 9:
        keys = [key for key in keys if key not in digits] + [_DIGITS]
    return " ".join(keys)


class HelpScreen(Screen[None]):
    """Keys and words of one screen to scroll through; another key shows all words there are."""

    DEFAULT_CSS = """
    HelpScreen {
        VerticalScroll { padding: 0 2 0 1; scrollbar-size-vertical: 1; }
        .help-title { text-style: bold; margin-top: 1; }
        Static, Vertical { height: auto; }
        #help-more { display: none; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "Close", id="help.back"),
        Binding(
            "question_mark", "more", "All words", tooltip="Every word of tuimatch", id="help.help"
        ),
        Binding("q", "app.quit", "Quit", id="help.quit", show=False),
        Binding("j", "scroll(1)", "Down", show=False, id="help.down"),
        Binding("k", "scroll(-1)", "Up", show=False, id="help.up"),
    ]

    def __init__(self, keys: list[Key], words: Sequence[str] = ()) -> None:
        """Explain a screen.

        Args:
            keys: Its keys.
            words: Those of the glossary that it uses.
        """
        super().__init__()
        self._keys = keys
        self._words = [(word, GLOSSARY[word]) for word in words]

    def compose(self) -> ComposeResult:
        """Keys by group, words; the other words and the cautions, until they are asked for."""
        with VerticalScroll():
            groups = dict.fromkeys(key.group for key in self._keys)
            others = "Other keys" if len(groups) > 1 else "Keys"
            for group in groups:
                yield Static(printable(group) or others, classes="help-title", markup=False)
                yield _table([(k.keys, k.says) for k in self._keys if k.group == group])
            if self._words:
                yield Static("Words on this screen", classes="help-title")
                yield _table(self._words)
            with Vertical(id="help-more"):
                yield Static("All other words", classes="help-title")
                yield _table([word for word in GLOSSARY.items() if word not in self._words])
                yield Static("What the numbers cannot tell", classes="help-title")
                for caution in CAUTIONS:
                    yield Static(Content(caution))
        yield Foot()

    def on_mount(self) -> None:
        """Let the keys scroll."""
        self.query_one(VerticalScroll).focus()

    def action_more(self) -> None:
        """Show the other words too, or hide them."""
        more = self.query_one("#help-more")
        more.display = not more.display
        if more.display:
            more.scroll_visible(top=True, animate=False)

    def action_scroll(self, way: int) -> None:
        """Scroll by a line."""
        self.query_one(VerticalScroll).scroll_relative(y=way, animate=False)


def _table(rows: tuple[tuple[str, str], ...] | list[tuple[str, str]]) -> Static:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=_LEFT)
    grid.add_column(ratio=1, max_width=90)
    for left, right in rows:
        grid.add_row(Text(printable(left), style="bold"), Text(printable(right)))
    return Static(grid)
