"""What the tests of screens over the log share: a host that opens one, and what is on it."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Callable, Coroutine, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any, TypeVar

from textual.app import App
from textual.events import Event, Paste
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import WorkerCancelled

from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.in_order import InOrder
from tuimatch.tui.widgets.block_list import BlockList
from tuimatch.tui.widgets.lines import Lines

OPEN = "still open"

Shown = TypeVar("Shown", bound=Screen[Any])


class Host(App[None]):
    """Opens one screen, and hands keys to it in order as the interface does."""

    def __init__(self, screen: Screen[Any]) -> None:
        super().__init__()
        self.input = InOrder(self)
        self.shown, self.answer = screen, OPEN
        self.copied: list[str] = []

    def on_mount(self) -> None:
        self.push_screen(self.shown, self.answered)

    def on_ready(self) -> None:
        self.input.begin()

    async def on_event(self, event: Event) -> None:
        if not self.input.holds(event):
            await super().on_event(event)

    def answered(self, answer: Any) -> None:
        self.answer = answer

    def copy_to_clipboard(self, text: str) -> None:
        self.copied.append(text)


def play(
    screen: Shown,
    scene: Callable[[Pilot[None], Shown], Coroutine[Any, Any, None]],
    size: tuple[int, int] = (100, 30),
) -> Any:
    """Open a screen, wait until it is there, play a scene; what the screen answered."""
    host = Host(screen)

    async def whole() -> None:
        async with host.run_test(size=size) as pilot:
            await settled(pilot)
            await scene(pilot, screen)
            await settled(pilot)

    asyncio.run(whole())
    return host.answer


async def settled(pilot: Pilot[None]) -> None:
    """Until all that was typed is done and nothing is worked on any more."""
    if isinstance(pilot.app, TuimatchApp | Host):
        await pilot.app.input.done()
    await pilot.pause()
    for _ in range(20):  # what a worker posts may start another
        for worker in list(pilot.app.workers):
            with suppress(WorkerCancelled):  # another has taken its place
                await worker.wait()
        await pilot.pause()
        if not any(worker.is_running for worker in pilot.app.workers):
            break


async def press(pilot: Pilot[None], *keys: str) -> None:
    await pilot.press(*keys)
    await settled(pilot)


async def write(pilot: Pilot[None], text: str) -> None:
    """Type a text and send it off."""
    focused = pilot.app.focused
    assert focused is not None
    focused.post_message(Paste(text))
    await pilot.pause()
    await press(pilot, "enter")


def rows(screen: Screen[Any]) -> list[str]:
    """The lines of the list."""
    listed = screen.query_one(BlockList)
    return [listed.render_line(y).text for y in range(listed.size.height)]


def text(screen: Screen[Any], selector: str) -> str:
    widget = screen.query_one(selector)
    assert isinstance(widget, Lines | Static)
    return widget.text if isinstance(widget, Lines) else str(widget.content)


def said(screen: Screen[Any]) -> str:
    return text(screen, ".log-message")


@contextmanager
def another_writes(path: Path) -> Iterator[None]:
    """Another program holds the log's write lock."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("BEGIN IMMEDIATE")
        yield
        db.execute("ROLLBACK")
