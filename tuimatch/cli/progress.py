"""How far a command has come, on a terminal's standard error; nothing where it is not one."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from tuimatch.text import bar


@contextmanager
def progress(what: str) -> Iterator[Callable[[float], None]]:
    """Show a bar while something is made; gone when it is done.

    Args:
        what: What is made, in a word or two.

    Yields:
        A function that is told how much is done, 0…1.
    """
    if not sys.stderr.isatty():
        yield lambda done: None
        return
    shown = -1

    def told(done: float) -> None:
        nonlocal shown
        if (percent := round(100 * done)) != shown:
            shown = percent
            print(f"\r{what} {bar(done)}", end="", file=sys.stderr, flush=True)

    try:
        yield told
    finally:
        print(f"\r{' ' * len(f'{what} {bar(1)}')}\r", end="", file=sys.stderr, flush=True)
