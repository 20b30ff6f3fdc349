"""A real pseudo-terminal around a program, with an emulator that knows what is on its screen."""

from __future__ import annotations

import base64
import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

import pyte
from support import PATIENCE

ROOT = Path(__file__).resolve().parent.parent
KEYS = {
    "enter": "\r",
    "escape": "\x1b",
    "tab": "\t",
    "space": " ",
    "backspace": "\x7f",
    "up": "\x1b[A",
    "down": "\x1b[B",
    "right": "\x1b[C",
    "left": "\x1b[D",
    "shift+up": "\x1b[1;2A",
    "shift+down": "\x1b[1;2B",
    "shift+right": "\x1b[1;2C",
    "shift+left": "\x1b[1;2D",
    "home": "\x1b[H",
    "end": "\x1b[F",
    "pageup": "\x1b[5~",
    "pagedown": "\x1b[6~",
}


class Terminal:
    """Runs ``python -m tuimatch ARGUMENTS`` and plays keys to it."""

    def __init__(
        self,
        *arguments: str,
        size: tuple[int, int] = (100, 30),
        env: dict[str, str] | None = None,
        command: list[str] | None = None,
        folder: Path = ROOT,
    ) -> None:
        self.size = size
        self._screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self._screen)
        self.raw = b""
        self.master, slave = pty.openpty()
        columns, rows = size
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        environment = {
            name: value
            for name, value in os.environ.items()
            if name not in ("NO_COLOR", "TMUX", "DISPLAY", "WAYLAND_DISPLAY", "COLUMNS", "LINES")
        }
        environment |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", **(env or {})}
        self.process = subprocess.Popen(
            command or [sys.executable, "-m", "tuimatch", *arguments],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=folder,
            env=environment,
            start_new_session=True,
        )
        os.close(slave)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self.vanish()

    def vanish(self) -> None:
        """Close the window. It is not the program's controlling terminal, so no signal is sent."""
        if self.master >= 0:
            os.close(self.master)
            self.master = -1

    def resize(self, columns: int, rows: int) -> None:
        """Give the window another size, as a person does with the mouse."""
        self.size = (columns, rows)
        self._screen.resize(rows, columns)
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        os.kill(self.process.pid, signal.SIGWINCH)
        self.settle()

    def send(self, text: str) -> None:
        """Send bytes as a keyboard would."""
        os.write(self.master, text.encode())

    def take(self, seconds: float) -> bytes:
        """What the program writes within a time, unseen by the emulator; for timing."""
        ready, _, _ = select.select([self.master], [], [], seconds)
        if not ready:
            return b""
        try:
            return os.read(self.master, 65536)
        except OSError:  # the program has closed its end
            return b""

    def read(self, seconds: float) -> bool:
        """Take in what the program writes within a time; whether it wrote anything."""
        data = self.take(seconds)
        self.raw += data
        # pyte takes private sequences (CSI > … m) for colours; none of them shows anything.
        self._stream.feed(re.sub(rb"\x1b\[[<=>?][\d;]*[umqc]", b"", data))
        return bool(data)

    def until(self, awaited: str | Callable[[], bool], patience: float = PATIENCE) -> None:
        """Wait until a text is on the screen, or something else is so."""

        def there() -> bool:
            return awaited in self.text if isinstance(awaited, str) else awaited()

        end = time.monotonic() + patience
        while not there():
            if time.monotonic() > end:
                raise AssertionError(f"{awaited!r} never came:\n{self.text}")
            if not self.read(0.1) and self.process.poll() is not None and not there():
                raise AssertionError(f"ended before {awaited!r} came:\n{self.text}")

    def settle(self, quiet: float = 0.3) -> None:
        """Wait until the program has been quiet for a while."""
        while self.read(quiet):
            pass

    def press(self, *keys: str) -> None:
        """Press keys by name, or type what is not a name."""
        for key in keys:
            self.send(KEYS.get(key, key))
            self.settle(0.05)

    def paste(self, text: str) -> None:
        """Paste as a terminal does (bracketed paste)."""
        self.send(f"\x1b[200~{text}\x1b[201~")

    def wait(self, patience: float = PATIENCE) -> int:
        """Let the program end and give its exit code."""
        end = time.monotonic() + patience
        while self.process.poll() is None and time.monotonic() < end:
            self.read(0.05)
        return self.process.wait(timeout=PATIENCE)

    @property
    def text(self) -> str:
        """What is on the screen."""
        return "\n".join(self._screen.display)

    def row(self, y: int) -> list[pyte.screens.Char]:
        """The cells of one row."""
        return [self._screen.buffer[y][x] for x in range(self.size[0])]

    def grounds(self) -> set[str]:
        """Every background colour on the screen, as six hex digits."""
        return {cell.bg for y in range(self.size[1]) for cell in self.row(y)}

    def copied(self) -> list[str]:
        """What the program asked the terminal to put on its clipboard (OSC 52)."""
        found = re.findall(rb"\x1b\]52;[^;]*;([A-Za-z0-9+/=]*)(?:\x07|\x1b\\)", self.raw)
        return [base64.b64decode(text).decode() for text in found]
