"""What the tests of the match screen share: the interface with its ranking, and what it says."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

from screens import settled
from textual.events import Paste
from textual.pilot import Pilot

from tuimatch.palette import file as palette_file
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.widgets.lines import Lines

Scene = Callable[[Pilot[None], MatchScreen], Coroutine[Any, Any, None]]
Play = Callable[..., None]


def play(
    log_path: Path,
    scene: Scene,
    colour: str | None = "#d94f2a",
    palette: str = "screen-quarters",
    size: tuple[int, int] = (100, 30),
    project: str | None = "ferrow",
) -> None:
    """Open the interface, wait until the ranking is there, and play a scene."""

    async def whole() -> None:
        app = TuimatchApp(
            palette=palette_file.load(palette), colour=colour, project=project, log_path=log_path
        )
        async with app.run_test(size=size, notifications=True) as pilot:
            await settled(pilot)
            in_turn(pilot, app)
            screen = app.screen
            assert isinstance(screen, MatchScreen)
            await scene(pilot, screen)

    asyncio.run(whole())


async def paste(pilot: Pilot[None], text: str) -> None:
    """Paste a text wherever the focus is."""
    focused = pilot.app.focused
    assert focused is not None
    focused.post_message(Paste(text))
    await settled(pilot)


def in_turn(pilot: Pilot[None], app: TuimatchApp) -> None:
    """Let `pilot.press` return only when what the keys do is done, however long they wait."""
    pressed = pilot.press

    async def press(*keys: str) -> None:
        await pressed(*keys)
        await app.input.done()
        await pilot.pause()

    setattr(pilot, "press", press)  # noqa: B010 (it is a method of the toolkit's)


def head(screen: MatchScreen) -> str:
    return screen.query_one("#head", Lines).text


def message(screen: MatchScreen) -> str:
    return screen.query_one("#message", Lines).text


def limits(screen: MatchScreen) -> str:
    return screen.query_one("#limits", Lines).text
