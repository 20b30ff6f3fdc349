"""The application: theme, layout sheet and the screen it opens on."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Iterable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual.app import App, SystemCommand
from textual.binding import Binding
from textual.command import CommandPalette
from textual.events import Event, Key, Resize
from textual.geometry import Size
from textual.screen import Screen
from textual.theme import Theme
from textual.widgets import OptionList

from tuimatch.palette.model import Palette
from tuimatch.tui import hangup
from tuimatch.tui.in_order import InOrder
from tuimatch.tui.match.pending_choices import Keeper
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.explained import ExplainedScreen

if TYPE_CHECKING:
    from tuimatch.picture.picture import Picture
    from tuimatch.tui.screens.page_state import PageState

# A neutral ground: any tint in it would colour the judgement of the colours on it.
_THEME = Theme(
    name="neutral",
    primary="#c8c8c8",
    secondary="#a0a0a0",
    accent="#e0e0e0",
    foreground="#d4d4d4",
    background="#2b2b2b",
    surface="#2b2b2b",
    panel="#383838",
    warning="#d4d4d4",
    error="#ffffff",
    success="#d4d4d4",
    dark=True,
    variables={"input-cursor-background": "#e0e0e0", "input-cursor-foreground": "#2b2b2b"},
)


# Columns and rows. In a smaller window nothing can be read, and Textual's own widgets fail in it.
_SMALLEST = Size(20, 6)


def _roomy(event: Resize) -> Resize:
    """The new size of the window, or the smallest that is laid out, of which part is seen."""
    width, height = (max(*sizes) for sizes in zip(event.size, _SMALLEST, strict=True))
    return (
        event if event.size == (width, height) else Resize(Size(width, height), Size(width, height))
    )


class TuimatchApp(App[None]):
    """tuimatch in a terminal."""

    TITLE = "tuimatch"
    CSS_PATH = "tuimatch.tcss"

    def __init__(
        self,
        *,
        palette: Palette,
        colour: str | None,
        project: str | None,
        log_path: Path,
        keymap: Mapping[str, str] | None = None,
        palette_given: bool = True,
    ) -> None:
        super().__init__()
        self.input = InOrder(self)
        self.set_keymap(dict(keymap or {}))
        self.register_theme(_THEME)
        self.theme = _THEME.name
        self.keeper = Keeper(log_path, project)
        self._match = MatchScreen(
            palette, colour, self.keeper, palette_given=palette_given, own_keys=keymap or {}
        )

    def get_default_screen(self) -> Screen[Any]:
        """Open on the match: a screen pushed over an empty one would cost a frame."""
        return self._match

    def on_ready(self) -> None:
        """The first frame is on the screen: now comes what it must not wait for."""
        self._match.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self._match.begin()
        self.input.begin()
        if not self.is_headless and sys.__stdin__ is not None and sys.__stdin__.isatty():
            loop = asyncio.get_running_loop()
            hangup.watch(sys.__stdin__.fileno(), lambda: self._gone(loop))

    def _gone(self, loop: asyncio.AbstractEventLoop) -> None:
        """The terminal is gone: nobody can see or type anything any more."""
        loop.call_soon_threadsafe(self.exit)

    async def on_event(self, event: Event) -> None:
        """Take what was typed, pasted or clicked only when its turn has come."""
        if isinstance(event, Resize):
            event = _roomy(event)
        if not self.input.holds(event):
            await super().on_event(event)

    async def action_quit(self) -> None:
        """Quit, unless something would be lost and the artist has not been told yet."""
        if not (isinstance(self.screen, ExplainedScreen) and self.screen.stays()):
            await super().action_quit()

    def action_command_palette(self) -> None:
        """Find a command by its words."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(Commands())

    def on_key(self, event: Key) -> None:
        """Say that a key does nothing, where no widget took it and the screen does not use it."""
        screen = self.screen
        if isinstance(screen, ExplainedScreen) and event.key not in screen.active_bindings:
            screen.unused(self.get_key_display(Binding(event.key, "")))

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """The command palette offers what the keys of the screen do, by their words."""
        for _, binding, enabled, tooltip in screen.active_bindings.values():
            if enabled and binding.id and binding.description:
                action = partial(screen.run_action, binding.action)
                yield SystemCommand(binding.description, tooltip or binding.tooltip, action)


class Commands(CommandPalette):
    """Textual's command palette, whose list fails when it is asked to turn pages while empty."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Whether the list may move: only when something is on it."""
        if action == "command_list":
            return self.query_one(OptionList).option_count > 0
        return super().check_action(action, parameters)


class PickApp(TuimatchApp):
    """Opens on a picture that lies over the match screen."""

    def __init__(self, path: Path, picture: Picture, **opening: Any) -> None:
        super().__init__(**opening)
        self._path, self._picture = path, picture

    def on_ready(self) -> None:
        """Lay the picture over the match; Textual calls the other app's handler as well."""
        from tuimatch.tui.screens.pick_screen import PickScreen

        self.push_screen(PickScreen(self._path, self._picture), self._picked)

    def _picked(self, text: str | None) -> None:
        if text is not None:
            self._match.action_do("set_target", text)


class PageApp(TuimatchApp):
    """Opens on a page that lies over the match screen."""

    def __init__(self, page: PageState, **opening: Any) -> None:
        super().__init__(**opening)
        self._page = page

    def on_ready(self) -> None:
        """Lay the page over the match; Textual calls the other app's handler as well."""
        self._match.open_page(self._page)
