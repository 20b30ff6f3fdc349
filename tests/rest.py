"""When a pilot goes on: when the app is at rest, instead of when the processor is idle for a while.

Textual's own waiting sleeps at least 20 ms three times a key, and a second where a thread is at
work. What the app itself knows of its rest is exact and takes as long as it takes.
"""

from __future__ import annotations

import asyncio

import textual.app
import textual.pilot
import textual.screen
from textual._context import active_app

from tuimatch.tui.in_order import InOrder, at_rest


async def wait_for_rest(*_: float) -> None:
    """Return when all that was typed so far is done, but for what is at work in threads."""
    app = active_app.get()
    input_of = getattr(app, "input", None)  # what a bare app types goes nowhere in between
    resting = input_of.done(work=False) if isinstance(input_of, InOrder) else at_rest(app)
    either = [asyncio.ensure_future(resting), asyncio.ensure_future(app._exception_event.wait())]
    done, pending = await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
    for task in pending:
        task.cancel()
    for task in done:
        task.result()


def go_on_at_rest() -> None:
    """Let every pilot wait so, and let a frame follow what is to be drawn at once."""
    textual.screen.UPDATE_PERIOD = 0.001  # type: ignore[misc]
    for module in (textual.app, textual.pilot):
        assert callable(module.wait_for_idle)
        module.wait_for_idle = wait_for_rest  # type: ignore[attr-defined]
