"""How far a command has come, on a terminal's standard error; nothing where it is not one."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread
from time import monotonic
from typing import Any, TypeVar

from tuimatch.text import bar

_LOOK = 0.1  # seconds

Found = TypeVar("Found")


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


def searched(what: str, search: Callable[[Callable[[Any], bool]], Found]) -> Found:
    """What a long search finds, or its best so far where it is interrupted.

    A terminal's standard error shows how long it has been going on. The search runs in a thread, so
    that an interrupt is heard at once even while a library works; a second one is not caught.

    Args:
        what: What is done, in a word or two.
        search: Is given a watch, which answers whether to go on; what it raises is raised here.
    """
    found: list[Found] = []
    failed: list[BaseException] = []
    stopped = False

    def run() -> None:
        try:
            found.append(search(lambda _: not stopped))
        except BaseException as error:
            failed.append(error)
        finally:
            done.set()

    # An event, as Python 3.11 takes a thread whose `join` was interrupted for one that has ended.
    done, begun = Event(), monotonic()
    Thread(target=run, daemon=True).start()
    shown = ""
    try:
        while not done.is_set():
            try:
                done.wait(_LOOK)
                if sys.stderr.isatty() and (seconds := int(monotonic() - begun)):
                    how = "stopping; Ctrl-C gives up" if stopped else "Ctrl-C takes the best so far"
                    line = f"{what}, {seconds} s; {how}"
                    print(f"\r{line:{len(shown)}}", end="", file=sys.stderr, flush=True)
                    shown = line
            except KeyboardInterrupt:
                if stopped:
                    raise
                stopped = True
    finally:
        if shown:
            print(f"\r{' ' * len(shown)}\r", end="", file=sys.stderr, flush=True)
    if failed:
        raise failed[0]
    return found[0]
