"""Hands out keys, pastes and clicks one at a time, each when all that the one before did is done.

A key means what the screen makes of it: a letter is a command here and part of a label there. In
Textual it goes at once to where the focus is, while the messages that the key before it set off are
still on their way, so keys that come in one burst would go to a screen that is about to change.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Sequence
from contextlib import suppress
from itertools import islice
from string import hexdigits
from typing import TYPE_CHECKING, Any

from textual.events import AppBlur, AppFocus, Event, InputEvent, Key, Paste
from textual.worker import Worker, WorkerError

if TYPE_CHECKING:
    from textual.app import App

_COLOUR = 6  # hex digits
_AT_ONCE = 0.02  # seconds: nobody types two keys within them, or notices the wait
# Seconds between two looks; Textual lays out once in a frame. Where the layout is still asked for
# after so many, it has run often enough: in some windows a scrollbar comes and goes for ever.
_UNTIL_LAID_OUT, _LOOKS = 0.004, 100


class _Mark(InputEvent):
    """Stands among what waits, to tell when its turn has come."""

    def __init__(self, after_work: bool) -> None:
        super().__init__()
        self.after_work = after_work
        self.reached = asyncio.Event()


class InOrder:
    """Stands between an app and its input.

    What an event did is done when nothing on the event loop is left to run (messages, focus,
    screens that come and go are all steps of the loop), the screen has laid out its widgets and
    called back, and work in threads that decides what the next event means has been answered.
    """

    def __init__(self, app: App[Any]) -> None:
        """Hold everything until `begin`."""
        self._app = app
        self._waiting: deque[Event] = deque()
        self._let_through: Event | None = None
        self._giving: asyncio.Task[None] | None = None
        self._begun = False

    def begin(self) -> None:
        """Begin to hand out: the first question can be asked."""
        self._begun = True
        self._waiting = deque(map(_typed_ahead, self._waiting))
        self._give()

    def holds(self, event: Event) -> bool:
        """Whether an event that came to the app is kept here; it comes again at its turn."""
        if event is self._let_through:
            self._let_through = None
            return False
        if event.is_forwarded or not isinstance(event, InputEvent | Paste | AppFocus | AppBlur):
            return False  # it comes back from where it was given to, or nobody typed it
        self._waiting.append(event)
        self._give()
        return True

    async def done(self, *, work: bool = True) -> None:
        """Return when everything that came so far is done, or the program is ending.

        Args:
            work: Whether to wait for what it set off in threads as well.
        """
        mark = _Mark(work)
        if self._app.post_message(mark):
            await mark.reached.wait()

    def _give(self) -> None:
        if self._begun and self._giving is None:
            self._giving = asyncio.create_task(self._give_all())
            self._giving.add_done_callback(self._given)

    async def _give_all(self) -> None:
        while self._waiting:
            await self._done_before(self._waiting[0])
            if _is_digit(self._waiting[0]) and getattr(self._app.screen, "awaits_colour", False):
                await self._all_here()
                if _begins_colour(self._waiting):
                    self._app.screen.type_colour()  # type: ignore[attr-defined]
                    continue  # with the question open, the same keys are its answer
            event = self._waiting.popleft()
            if isinstance(event, _Mark):
                event.reached.set()
            elif self._app.return_code is None:  # else what is typed is for nobody any more
                self._let_through = event
                self._app.post_message(event)

    async def _all_here(self) -> None:
        """Return when what was sent together with a digit is here too: a thread reads it."""
        here = 0
        while here < len(self._waiting) < _COLOUR and all(map(_is_digit, self._waiting)):
            here = len(self._waiting)
            await asyncio.sleep(_AT_ONCE)

    def _given(self, giving: asyncio.Task[None]) -> None:
        self._giving = None
        if not giving.cancelled() and giving.exception() is not None:
            self._app.call_later(giving.result)  # fails where every other error of the app does

    async def _done_before(self, event: Event) -> None:
        """Return when all that was begun before an event is done."""
        await at_rest(self._app)
        while (work := self._work_for(event)) is not None:
            with suppress(WorkerError):
                await work.wait()
            await at_rest(self._app)

    def _work_for(self, event: Event) -> Worker[Any] | None:
        """Some work that has to be done before an event."""
        if self._app.return_code is not None or (isinstance(event, _Mark) and not event.after_work):
            return None
        running = [work for work in self._app.workers if work.is_running]
        deed = _deed(self._app, event) if running else "quit"
        if deed == "quit":
            return None
        return next((work for work in running if _needs(work, deed)), None)


async def at_rest(app: App[Any]) -> None:
    """Return when nothing but threads is at work, or the program is ending; for one task at a time.

    Two that wait for it would each take the other for what is left to run.
    """
    looks = 0
    while app.return_code is None:
        await asyncio.sleep(0)
        if _is_busy(asyncio.get_running_loop()):
            continue
        if not _awaits_layout(app) or looks == _LOOKS:
            return
        looks += 1
        await asyncio.sleep(_UNTIL_LAID_OUT)


def _typed_ahead(event: Event) -> Event:
    """What it was on the keyboard: before the terminal is the interface's, Enter is a line feed."""
    return Key("enter", "\r") if isinstance(event, Key) and event.key == "ctrl+j" else event


def _begins_colour(waiting: Sequence[Event]) -> bool:
    """Whether six hex digits came at once, and nothing with them but an Enter: a colour."""
    came = list(islice((event for event in waiting if not isinstance(event, _Mark)), _COLOUR + 2))
    first, rest = came[:_COLOUR], came[_COLOUR:]
    alone = not rest or (len(rest) == 1 and isinstance(rest[0], Key) and rest[0].key == "enter")
    return alone and len(first) == _COLOUR and all(map(_is_digit, first))


def _is_digit(event: Event) -> bool:
    """Whether a key is a hex digit."""
    return isinstance(event, Key) and len(event.key) == 1 and event.key in hexdigits


def _needs(work: Worker[Any], deed: str) -> bool:
    screen = getattr(work.node, "screen", None)
    needs = getattr(screen, "needs", None)
    return needs is None or bool(needs(work.group, deed))


def _deed(app: App[Any], event: Event) -> str:
    """What an event will do now: the name of an action, or "type", or nothing of these."""
    if not isinstance(event, Key):
        return ""
    if app.focused is not None and app.focused.check_consume_key(event.key, event.character):
        return "type"
    active = app.screen.active_bindings.get(event.key)
    if active is None:
        return ""
    name, _, arguments = active.binding.action.removeprefix("app.").partition("(")
    of_state = name in ("do", "change")  # these name a deed of the screen's state
    return arguments.split("'")[1] if of_state else name


# Names that Textual and asyncio do not promise; `test_in_order` notices when one is gone.


def _is_busy(loop: asyncio.AbstractEventLoop) -> bool:
    """Whether anything is left to run now on the loop; asked by a task that runs itself."""
    return bool(loop._ready)  # type: ignore[attr-defined]


def _awaits_layout(app: App[Any]) -> bool:
    """Whether widgets have no place yet, or something is to be called after the next frame."""
    screen = app.screen
    return bool(
        app._resize_event is not None
        or screen._layout_required
        or screen._recompose_required
        or screen._callbacks
    )
