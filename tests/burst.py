"""What is typed, sent in one burst, in pieces or by a patient hand; and the log it leaves.

What is typed is the text that a terminal sends, so that the same goes to a real one.
"""

from __future__ import annotations

import asyncio
import re
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from textual._xterm_parser import XTermParser
from textual.app import App
from textual.message import Message
from textual.worker import WorkerError

from tuimatch.palette import file as palette_file
from tuimatch.tui.app import TuimatchApp

# As terminals send it that leave no doubt; a lone ESC waits for what may follow it.
ESCAPE = "\x1b[27u"
UP, DOWN = "\x1b[A", "\x1b[B"

# What is played: texts, sent at once; between them so many turns of the event loop.
Pieces = Sequence[tuple[str, int]]


def events_of(text: str) -> list[Message]:
    """The events that Textual's driver makes of what a terminal sends."""
    return [message for message in XTermParser().feed(text) if isinstance(message, Message)]


def send(app: App[Any], text: str) -> None:
    """Send it all at once, as the driver does."""
    for event in events_of(text):
        app.post_message(event)


def interface(log: Path, colour: str | None = "#5a8a3a", **opening: Any) -> TuimatchApp:
    """The interface on a project of a log."""
    palette = palette_file.load(opening.pop("palette", "screen-quarters"))
    return TuimatchApp(palette=palette, colour=colour, project="ferrow", log_path=log, **opening)


def played(log: Path, pieces: Pieces, **opening: Any) -> list[tuple[Any, ...]]:
    """Play pieces to the interface from before its first frame; the log it leaves."""

    async def play() -> None:
        app = interface(log, **opening)
        async with app.run_test(size=(100, 30)):
            for text, turns in pieces:
                send(app, text)
                for _ in range(turns):
                    await asyncio.sleep(0)
            await app.input.done()

    asyncio.run(play())
    return kept(log)


def played_slowly(log: Path, text: str, **opening: Any) -> list[tuple[Any, ...]]:
    """Play one key after another, each when nothing moves any more; the log it leaves."""

    async def play() -> None:
        app = interface(log, **opening)
        async with app.run_test(size=(100, 30)) as pilot:
            for event in events_of(text):
                await quiet(app)
                app.post_message(event)
            await quiet(app)
            await pilot.pause()

    asyncio.run(play())
    return kept(log)


async def quiet(app: TuimatchApp) -> None:
    """Wait longer than `InOrder` does: for every worker, and for a frame after it."""
    await app.input.done()
    with suppress(WorkerError):
        await app.workers.wait_for_complete()
    await asyncio.sleep(0.03)
    await app.input.done()


def kept(log: Path) -> list[tuple[Any, ...]]:
    """Everything in a log but times and ids, in the order it was written."""
    with closing(sqlite3.connect(log)) as db:
        db.row_factory = sqlite3.Row
        tables = ("project", "palette", "choice", "step", "tick", "meta")
        # What is remembered names a choice by its identity, which is another one each time.
        number_of = {row["identity"]: str(row["id"]) for row in _rows(db, "choice")}
        return [(table, *_lasting(row, number_of)) for table in tables for row in _rows(db, table)]


def _rows(db: sqlite3.Connection, table: str) -> Iterable[sqlite3.Row]:
    order = {"choice": "id", "step": "id", "project": "id"}.get(table, "1")
    return db.execute(f"SELECT * FROM {table} ORDER BY {order}")


def _lasting(row: sqlite3.Row, number_of: dict[str, str]) -> Iterable[Any]:
    for name in row.keys():  # noqa: SIM118 (a row iterates over its values)
        if name.endswith("_at"):
            yield name, row[name] is not None
        elif name not in ("identity", "id", "checksum"):
            value = row[name]
            if isinstance(value, str):
                value = re.sub("[0-9a-f]{32}", lambda m: number_of.get(m[0], m[0]), value)
            yield name, value
