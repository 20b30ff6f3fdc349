"""Killed at any moment, again and again: what was acknowledged is there, and whole."""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import sqlite3
import sys
from contextlib import closing, suppress
from pathlib import Path

import pytest
from kept import PALETTE, keep, whole
from writers import keep_some, write_on

from tuimatch.log import Log

KILLS = 200
WRITERS = 2
SEED = 20261125

# Children of a server that has loaded everything already start in a few milliseconds.
_START = multiprocessing.get_context("forkserver")
_START.set_forkserver_preload(["writers"])


@pytest.fixture(autouse=True)
def same_path(monkeypatch):
    """The server of Python 3.11 looks for what it loads only where a new interpreter would."""
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(sys.path))


class Writer:
    def __init__(self, path: Path) -> None:
        self.told, telling = _START.Pipe(duplex=False)
        self.process = _START.Process(target=write_on, args=(path, telling))
        self.process.start()
        telling.close()
        assert self.told.poll(60)
        assert self.told.recv()[0] == "open"

    def kill(self) -> list[tuple[str, str]]:
        """Kill it; what it had told of."""
        self.process.kill()
        self.process.join()
        told = []
        with suppress(EOFError, OSError):
            while True:
                told.append(self.told.recv())
        self.told.close()
        return told


def test_two_hundred_kills_lose_nothing_that_was_acknowledged(tmp_path):
    path = tmp_path / "log.sqlite"
    chance = random.Random(SEED)
    told: list[tuple[str, str]] = []
    writers = [Writer(path) for _ in range(WRITERS)]
    for kill in range(KILLS):
        writers[0].process.join(chance.uniform(0.0, 0.04))
        told += writers.pop(0).kill()
        writers.append(Writer(path))
        if kill % 40 == 0:
            assert whole(path)
    for writer in writers:
        told += writer.kill()
    assert whole(path)
    assert not list(tmp_path.glob("*-damaged-*"))
    with Log(path) as log:
        assert log.notice == ""
        found = {c.identity: c for c in log.choices()}
        kept = [identity for what, identity in told if what == "kept"]
        assert len(kept) > KILLS
        assert set(kept) <= found.keys()
        for what, identity in told:
            if what == "edited":
                assert found[identity].page in ("12", "both")
        for c in found.values():  # a choice is never half there
            assert c.tints == {"yellow": 100.0, "magenta": 0.0, "cyan": 0.0}
            assert (c.page == "both") == (c.note == "both")
            assert log.palette(c) == PALETTE
        assert {c.identity for c in log.find("number", limit=-1)} == found.keys()
    with closing(sqlite3.connect(path)) as db:
        for tints, lab in db.execute("SELECT tints, lab FROM choice"):
            json.loads(tints), json.loads(lab)
        # Every choice came with its step, so that it can be undone.
        assert db.execute(
            "SELECT count(*) FROM choice WHERE id NOT IN (SELECT row FROM change)"
        ).fetchone() == (0,)


def test_writers_at_once_all_get_through(tmp_path):
    path = tmp_path / "log.sqlite"
    writers = [_START.Process(target=keep_some, args=(path, f"writer {n}", 40)) for n in range(8)]
    for writer in writers:  # none finds a log: they make it at once
        writer.start()
    for writer in writers:
        writer.join(120)
        assert writer.exitcode == 0
    with Log(path) as log:
        for n in range(8):
            kept = [c.label for c in log.choices() if c.label.startswith(f"writer {n} ")]
            assert kept == [f"writer {n} {number}" for number in range(40)]
    assert whole(path)


def test_a_choice_taken_elsewhere_is_seen_at_once(tmp_path):
    path = tmp_path / "log.sqlite"
    with Log(path) as here, Log(path) as there:
        (kept,) = keep(there, "lamp glass")
        assert here.choices() == [kept]
        here.edit(kept.id, label="coat")
        assert there.find("coat")[0].id == kept.id
        assert there.undo() is not None
        assert here.choice(kept.id).label == "lamp glass"
