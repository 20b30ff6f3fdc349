"""The same keys in a real pseudo-terminal, slow, at once, in pieces, on a busy machine: one log."""

from __future__ import annotations

import os
import random
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from time import sleep
from typing import Any

import pytest
from burst import DOWN, ESCAPE, kept
from comic_log import put_comic
from terminal import Terminal

from tuimatch.log import Log

# Every screen that asks, and every question: each piece is typed, then what it opened is left.
ASKING = (
    *("3fog bank\r", "7quay\r", "t#c8322d\r", "g9, 10\r", "\x1b[200~#d9803f\x1b[201~", "\rlamp\r"),
    *("v", "lgull\r", "g12\r", '"far away\r', "Tgull again\r", "/gull\r", "x", ESCAPE),
    *("Ggull.md\r", "u", ESCAPE, "Pnsecond\r", "\rcoat\r", "P" + DOWN + "rthird\r", ESCAPE),
    *("b  " + ESCAPE, "n \r" + ESCAPE, "\x10take 2\r", "sail\r", "r\rreached\r", "e+t" + ESCAPE),
    # From here on with 14,641 recipes.
    *("p" + DOWN + "\r", "\rrope\r", "c" + DOWN + "\r", "\rhull\r", "zno.png\r" + ESCAPE),
    *("twet quay\r" + ESCAPE, "Z#ffffff\r" + ESCAPE, "4spray\r", "q", "2never\r"),
)
LABELS = {"fog bank", "quay", "gull", "coat", "sail", "reached", "rope", "hull", "spray"}
PATIENCE = 300  # seconds, where nothing else says that something went wrong


# What a terminal sends for one key, or for a paste.
KEY = re.compile(r"\x1b\[200~.*?\x1b\[201~|\x1b\[[0-9;]*[A-Za-z~]|.", re.DOTALL)


def one_by_one(terminal: Terminal) -> None:
    terminal.until("ΔE", PATIENCE)
    terminal.settle()
    for key in KEY.findall("".join(ASKING)):
        terminal.send(key)
        terminal.settle(0.05)


def in_one_write(terminal: Terminal) -> None:
    """From before the first frame on."""
    terminal.send("".join(ASKING))


def in_pieces(terminal: Terminal) -> None:
    keys, chance = KEY.findall("".join(ASKING)), random.Random(9)
    while keys:
        piece = chance.randint(1, 12)
        terminal.send("".join(keys[:piece]))
        terminal.read(0)
        sleep(0.02)
        keys = keys[piece:]


@contextmanager
def busy_cores() -> Iterator[None]:
    """Other programs that keep the cores busy."""
    with ExitStack() as stack:
        for _ in range(os.cpu_count() or 2):
            other = subprocess.Popen([sys.executable, "-c", "while True: pass"])
            stack.callback(other.wait)
            stack.callback(other.kill)
        yield


def log_after(folder: Path, play: Callable[[Terminal], None], *arguments: str) -> list[Any]:
    """The log that is left when the keys have been played and the program has ended by itself."""
    folder.mkdir()
    log = folder / "log.sqlite"
    put_comic(log)
    with Terminal("#5a8a3a", "--log", str(log), *arguments, folder=folder) as terminal:
        play(terminal)
        assert terminal.wait(PATIENCE) == 0, terminal.text
    with Log(log) as opened:
        labels = [choice.label for choice in opened.choices()]
    assert set(labels) >= LABELS
    assert "never" not in labels
    return kept(log)


@pytest.fixture(scope="module")
def patiently(tmp_path_factory: pytest.TempPathFactory) -> list[Any]:
    """The log that one key after another leaves."""
    return log_after(tmp_path_factory.mktemp("slow") / "folder", one_by_one)


@pytest.mark.parametrize("play", [in_one_write, in_pieces])
def test_every_question_in_a_burst(
    tmp_path: Path, patiently: list[Any], play: Callable[[Terminal], None]
) -> None:
    assert log_after(tmp_path / "folder", play) == patiently


def test_every_question_while_both_cores_are_busy(tmp_path: Path, patiently: list[Any]) -> None:
    with busy_cores():
        assert log_after(tmp_path / "folder", in_one_write) == patiently
