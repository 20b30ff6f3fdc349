"""What the children of the kill storm do; apart, so that they start without pytest."""

from __future__ import annotations

from multiprocessing.connection import Connection
from pathlib import Path

from kept import PALETTE, choice, keep, tick

from tuimatch.log import Log, Tick


def write_on(path: Path, acknowledge: Connection) -> None:
    """Take, edit and remove without end, telling of each only once it has returned."""
    number = 0
    with Log(path, patience=600) as log:
        acknowledge.send(("open", ""))
        while True:
            number += 1
            kept = log.keep(PALETTE, choice(f"number {number}", note="n" * (number % 300)))
            acknowledge.send(("kept", kept.identity))
            if number % 5 == 0:
                log.edit(kept.id, page="12")
                acknowledge.send(("edited", kept.identity))
            if number % 7 == 0:
                tick(log, [Tick(kept.id, "yellow", 100)])
            if number % 11 == 0:
                with log.together("both", "ferrow"):
                    log.edit(kept.id, page="both")
                    log.edit(kept.id, note="both")


def keep_some(path: Path, name: str, count: int) -> None:
    with Log(path, patience=600) as log:
        keep(log, *(f"{name} {n}" for n in range(count)))
