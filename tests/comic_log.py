"""The invented comic's log, made once and copied for each test; and what one can see in it."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import replace
from functools import cache
from pathlib import Path

import comic

from tuimatch.log import Choice, Log


@cache
def _made() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.sqlite"
        with Log(path) as log:
            comic.make(log)
        return path.read_bytes()


def put_comic(path: Path) -> None:
    """Write the comic's log to a file."""
    path.write_bytes(_made())


def contents(path: Path) -> list[Choice]:
    """Every choice as it is, but for when it was changed."""
    with Log(path) as log:
        return [replace(choice, changed_at="") for choice in log.choices()]


def steps(path: Path) -> int:
    """How many steps stand to be undone."""
    with closing(sqlite3.connect(path)) as db:
        (count,) = db.execute("SELECT count(*) FROM step WHERE state = 'done'").fetchone()
        return int(count)


def lose_palette(path: Path, name: str) -> None:
    """Empty the text of a palette, as recovering a damaged log may leave it."""
    with closing(sqlite3.connect(path)) as db, db:
        changed = db.execute(
            "UPDATE palette SET text = '' WHERE digest IN"
            " (SELECT palette_digest FROM choice WHERE palette = ?)",
            (name,),
        )
        assert changed.rowcount == 1
