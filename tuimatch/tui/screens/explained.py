"""A screen that explains itself: its keys, every number, and whether its colours are true."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

from tuimatch.text import printable
from tuimatch.tui.widgets.lines import Remark

if TYPE_CHECKING:
    from textual.app import App

Answer = TypeVar("Answer")


class ExplainedScreen(Screen[Answer]):
    """Has the action ``help``, to be bound to the question mark, and a word on false colours.

    Attributes:
        WORDS: What it shows and not everybody knows, as the glossary has it.
    """

    WORDS: ClassVar[tuple[str, ...]] = ()

    DEFAULT_CSS = """
    ExplainedScreen > #false-colours { dock: top; height: 1; padding: 0 1; text-style: reverse; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q", "app.quit", "Quit", tooltip="Quit tuimatch", id="any.quit", show=False),
    ]

    def on_mount(self) -> None:
        """Warn of a terminal that does not show the colours meant."""
        text = said_of(self.app)
        if text and not self.query("#warning"):  # the match has a place of its own for it
            self.mount(Remark(text, id="false-colours"))

    def needs(self, work: str, deed: str) -> bool:
        """Whether a key has to wait for work that a worker of this screen has begun.

        Args:
            work: The group the worker was started in.
            deed: What the key would do, as `in_order` names it: an action, or "type".
        """
        del work, deed
        return True

    def stays(self) -> bool:
        """Whether the screen stays after all, to say what would be lost by quitting now."""
        return False

    def unused(self, key: str) -> None:
        """Say that a key does nothing here."""
        self.notify(not_in_use(key), timeout=2, markup=False)

    def action_help(self) -> None:
        """What the keys and words of this screen mean."""
        from tuimatch.tui.screens.help_screen import HelpScreen, keys_of

        self.app.push_screen(HelpScreen(keys_of(self), self.WORDS))


def not_in_use(key: str) -> str:
    """What is said where a key does nothing."""
    return f"{printable(key)} is not in use here; ? lists the keys"


def own_binding(
    owner: str,
    key: str,
    action: str,
    name: str,
    says: str,
    identity: str,
    *,
    show: bool = False,
    group: str = "",
) -> Binding:
    """One key of a screen.

    Args:
        owner: The screen's word, the first part of the id.
        key: The key, or several with commas between them.
        action: What it does.
        name: One word for the foot.
        says: What it does in a sentence, for help.
        identity: The second part of the id.
        show: Whether it stands at the foot.
        group: What it belongs with there.
    """
    return Binding(
        key,
        action,
        name,
        tooltip=says,
        id=f"{owner}.{identity}",
        show=show,
        group=Binding.Group(group) if group else None,
    )


_REST = "colours approximate, numbers exact"
_ADVICE = "set COLORTERM=truecolor if the terminal has more"


def said_of(app: App[Any]) -> str:
    """What to say of the terminal that a program runs in."""
    return warning(
        app.console.color_system,
        app.no_color,
        os.environ.get("TERM", ""),
        os.environ.get("COLORTERM", ""),
    )


def warning(color_system: str | None, no_color: bool, term: str = "", colorterm: str = "") -> str:
    """What to say of the terminal's colours; nothing when they are exact.

    Args:
        color_system: What the console found: "truecolor", "256", "standard", "windows" or None.
        no_color: Whether NO_COLOR is set, which turns every swatch grey.
        term: The environment's TERM.
        colorterm: Likewise COLORTERM.
    """
    if no_color:
        return "NO_COLOR is set, so swatches are grey; numbers exact"
    if term.lower() in ("dumb", "unknown") or color_system is None:
        said = f"TERM={term}" if term.isascii() and term.isalnum() else "unknown terminal"
        return f"{said}: {_REST}"
    if color_system == "truecolor":
        return ""
    colours = "256 colours" if color_system == "256" else "16 colours"
    advice = "" if colorterm else f"; {_ADVICE}"
    return f"{colours} only: {_REST}{advice}"


def help_key(owner: str) -> Binding:
    """The key that explains a screen; the same on every one."""
    says = "What the keys and words here mean"
    return own_binding(owner, "question_mark", "help", "Help", says, "help", show=True)
