"""A monkey at the interface: ``python tests/monkey.py EVENTS [SEED]``.

Hits every key there is, pastes, resizes, clicks and looks away, over an empty log and over the
comic's, and tells the seed and the last events when the interface fails or stands still. A
seed plays the same events again; what happens between them may differ with the machine's load.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from collections import deque
from pathlib import Path
from random import Random

from burst import interface
from comic_log import put_comic
from PIL import Image
from textual.events import (
    AppBlur,
    AppFocus,
    Event,
    Key,
    MouseDown,
    MouseMove,
    MouseScrollDown,
    MouseScrollUp,
    MouseUp,
    Paste,
    Resize,
)
from textual.geometry import Size

from tuimatch.tui import all_keys
from tuimatch.tui.app import TuimatchApp

PATIENCE = 120  # seconds for one event: far more than any of them takes on a slow machine
AT_ONCE = 12  # events that come in one burst, at most
OPENED = 400  # events before the interface is opened anew

# What every terminal sends besides the keys that mean something here.
_OTHER_KEYS = (
    *("tab", "shift+tab", "backspace", "delete", "home", "end", "pageup", "pagedown", "ctrl+p"),
    *("ctrl+z", "ctrl+j", "f2", "left", "right", "enter", "escape", "escape", "escape", "space"),
    *("a", "7", "é", "漢", "#", ".", "/", ",", '"', "\u0301"),
)
_PASTES = (
    *(
        "#d9803f",
        "yellow 50, cyan 25",
        "lamp glass",
        "9, 10",
        "tomato\n",
        "",
        " ",
        "\x1b[31m",
        "\x00",
    ),
    *(
        "rgb(1 2 3)",
        "漢" * 300,
        "e" + "\u0301" * 400,
        "x" * 30_000,
        "a\nb\nc",
        "[b]bold[/b]",
        "own.toml",
    ),
    *(
        "picture.png",
        "picture.png 2x2",
        "picture.png 1,1,2,2",
        "own",
        "no/such/folder/x.html",
        "x" * 300,
    ),
)


def keys() -> list[str]:
    """Every key that does something somewhere, and some more."""
    of_screens = {key for keys in all_keys.defaults().values() for key in keys.split(",")}
    return [*sorted(of_screens), *_OTHER_KEYS]


class Monkey:
    """Makes events; the same ones again for the same seed."""

    def __init__(self, seed: int) -> None:
        self.chance = Random(seed)
        self._keys = keys()
        self.size = Size(100, 30)

    def events(self) -> list[Event]:
        """What comes in one burst."""
        chance = self.chance.random()
        if chance < 0.78:
            return [self._key() for _ in range(self.chance.randint(1, AT_ONCE))]
        if chance < 0.84:
            return [Paste(self.chance.choice(_PASTES))]
        if chance < 0.90:
            return self._click()
        if chance < 0.92:
            return [self.chance.choice((AppBlur, AppFocus))()]
        return [self._resize()]

    def _key(self) -> Key:
        key = self.chance.choice(self._keys)
        if len(key) == 1:
            return Key(key, key)
        return Key(key, {"space": " ", "enter": "\r"}.get(key))

    def _click(self) -> list[Event]:
        x, y = self.chance.randrange(self.size.width), self.chance.randrange(self.size.height)
        kinds = self.chance.choice(
            ((MouseMove,), (MouseDown, MouseUp), (MouseScrollUp,), (MouseScrollDown,))
        )
        times = self.chance.randint(1, 3)
        return [
            kind(
                None,
                x=x,
                y=y,
                delta_x=0,
                delta_y=0,
                button=1 if kind in (MouseDown, MouseUp) else 0,
                shift=False,
                meta=False,
                ctrl=False,
            )
            for kind in kinds * times
        ]

    def _resize(self) -> Resize:
        if self.chance.random() < 0.5:
            width, height = self.chance.choice(((60, 24), (100, 30), (160, 45), (36, 20)))
        else:
            width = int(400 ** self.chance.random())
            height = int(200 ** self.chance.random())
        self.size = Size(max(1, width), max(1, height))
        return Resize(self.size, self.size)


class StoodStillError(Exception):
    """The interface did not come to rest."""


async def play(app: TuimatchApp, monkey: Monkey, count: int, last: deque[str]) -> int:
    """Play so many events, or until the interface is left; how many were played."""
    played = 0
    async with app.run_test(size=monkey.size) as pilot:
        while played < count and app.return_code is None:
            for event in monkey.events():
                last.append(f"{type(app.screen).__name__}: {_said(event)}")
                _send(app, event)
                played += 1
            try:
                await asyncio.wait_for(app.input.done(), PATIENCE)
            except TimeoutError:
                raise StoodStillError(f"nothing came of it in {PATIENCE} s") from None
        await pilot.pause()
    return played


def _send(app: TuimatchApp, event: Event) -> None:
    if isinstance(event, Resize):  # as the driver does
        assert app._driver is not None
        app._driver._size = event.size
    app.post_message(event)


def _said(event: Event) -> str:
    match event:
        case Key():
            return f"key {event.key}"
        case Paste():
            return f"paste {event.text[:20]!r} ({len(event.text)})"
        case Resize():
            return f"resize {event.size.width}x{event.size.height}"
        case _:
            at = f" {event.x},{event.y}" if hasattr(event, "x") else ""
            return f"{type(event).__name__}{at}"


def run(seed: int, count: int) -> int:
    """Play so many events to interfaces that are opened one after another; how many were played."""
    monkey, last, played = Monkey(seed), deque[str](maxlen=40), 0
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        try:
            Image.new("RGB", (24, 16), "#d9803f").save("picture.png")
            while played < count:
                log = Path(folder) / "log.sqlite"
                if monkey.chance.random() < 0.5:
                    put_comic(log)
                palette = monkey.chance.choice(
                    ("screen-quarters", "newsprint-quarters", "zine-two-inks")
                )
                app = interface(log, monkey.chance.choice((None, "#5a8a3a")), palette=palette)
                opened = min(OPENED, count - played)
                played += max(1, asyncio.run(play(app, monkey, opened, last)))
                for path in Path(folder).glob("log.sqlite*"):
                    path.unlink()
        except BaseException:
            print(f"seed {seed}, after {played} events and these:", *last, sep="\n  ")
            raise
        finally:
            os.chdir(before)
    return played


def main() -> None:
    """Hunt."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else time.time_ns() % 1_000_000
    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY"):
        os.environ.pop(name, None)
    start = time.monotonic()
    played = run(seed, count)
    print(f"seed {seed}: {played:,} events clean in {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
