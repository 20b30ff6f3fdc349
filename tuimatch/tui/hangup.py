"""A terminal that goes away: a window closed without the signal that would end the program."""

from __future__ import annotations

import select
from collections.abc import Callable
from threading import Thread


def watch(file: int, gone: Callable[[], None]) -> None:
    """Wait in a thread of its own until a terminal is hung up.

    Reading from it then gives nothing, at once and for ever. Where a system cannot wait for this,
    nothing is done.

    Args:
        file: The number of the open terminal.
        gone: Called once, in that thread.
    """
    if not hasattr(select, "poll"):
        return
    poll = select.poll()
    poll.register(file, 0)  # no input is waited for: hanging up is told in any case

    def wait() -> None:
        if any(events & select.POLLHUP for _, events in poll.poll()):
            gone()

    Thread(target=wait, name="hangup", daemon=True).start()
