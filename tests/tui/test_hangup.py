"""The window of the terminal goes away and no signal says so: nobody else ends the program."""

from __future__ import annotations

from pathlib import Path

from support import PATIENCE
from terminal import Terminal

from tuimatch.log import Log


def test_the_interface_ends_with_its_terminal_and_what_was_taken_is_kept(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    with Terminal("#e58a1f", "--log", str(log), "--project", "ferrow") as terminal:
        terminal.until("yellow 100 %")
        terminal.press("enter")
        terminal.until("kept in the log")
        terminal.vanish()
        assert terminal.process.wait(PATIENCE) == 0
    with Log(log) as kept:
        assert len(kept.choices("ferrow")) == 1
