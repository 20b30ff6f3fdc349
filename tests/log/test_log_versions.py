"""Logs of other versions and of other programs."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from kept import COAT, PALETTE, SEA, choice, keep, labels, version_1, version_3, whole

from tuimatch.errors import LogError
from tuimatch.log import Log, Tick, project_file, transfer


def test_a_log_of_the_first_schema_is_migrated_and_a_copy_kept(path):
    path.parent.mkdir()
    old = [choice("lamp glass"), choice("Ölzeug", COAT, project="second"), choice("")]
    version_1(path, *old)
    before = path.read_bytes()
    with Log(path) as log:
        assert [c.identity for c in log.choices()] == [c.identity for c in old]
        assert [replace(c, id=0, changed_at="") for c in log.choices()] == old
        assert labels(log.find("olzeug")) == ["Ölzeug"]
        assert labels(log.find("ol", "second")) == ["Ölzeug"]
        assert [p.name for p in log.projects.all()] == ["ferrow", "second"]
        log.edit(log.choices()[0].id, page="3")
        assert log.undo() is not None
        assert log.undo() is None
        (copy,) = path.parent.glob("log-schema-1-*.sqlite")
        assert str(copy) in log.notice
    assert whole(path)
    with closing(sqlite3.connect(copy)) as db, closing(sqlite3.connect(":memory:")) as original:
        original.deserialize(before.replace(b"\x02\x02", b"\x01\x01", 1))
        assert list(db.iterdump()) == list(original.iterdump())
    with Log(path) as log:
        assert log.notice == ""
    assert len(list(path.parent.glob("log-schema-*"))) == 1


def test_what_was_laid_in_either_of_two_ways_is_laid(path):
    """Up to schema 3 laying a recipe and the passes ticked for themselves, and did not agree."""
    path.parent.mkdir()
    coat, sea = choice("Oda's coat", COAT), choice("sea", SEA)
    version_3(path, coat, sea)
    ticks = [
        (1, "laying", "yellow", 75),  # both
        (1, "pass", "yellow", 75),
        (1, "laying", "magenta", 100),  # only where it was laid, which was not a step
        (2, "pass", "cyan", 100),  # only in the passes
        (2, "pass", "yellow", 5),  # of a recipe it had before
    ]
    step = (
        "INSERT INTO step (project_id, what, done_at, state) VALUES (1, ?, ?, 'done')",
        "INSERT INTO change (step_id, of, row, before)"
        " VALUES (last_insert_rowid(), 'choice', ?, ?)",
    )
    with closing(sqlite3.connect(path)) as db:
        db.executemany("INSERT INTO tick (choice_id, kind, ink, tint) VALUES (?, ?, ?, ?)", ticks)
        for what, row, before in (
            ("ticked yellow 75 %", 1, '{"ticks": [["pass", "yellow", 75.0]], "on": 0}'),
            ("unticked yellow 25 %", 2, '{"ticks": [["pass", "yellow", 25.0]], "on": 1}'),
        ):
            db.execute(step[0], (what, "2026-01-02T00:00:00+00:00"))
            db.execute(step[1], (row, before))
        db.commit()
    all_ticks = {Tick(row, ink, tint) for row, _, ink, tint in ticks}
    with Log(path) as log:
        assert log.ticks.of() == all_ticks
        laid = log.ticks.laid(log.choices())
        assert laid == {1: ("yellow", "magenta"), 2: ("cyan",)}
        # The steps of then are undone and redone as they were.
        assert log.undo() == "undone: unticked yellow 25 %"
        assert log.ticks.of() == all_ticks | {Tick(2, "yellow", 25.0)}
        assert log.undo() == "undone: ticked yellow 75 %"
        assert log.ticks.of() == all_ticks - {Tick(1, "yellow", 75.0)} | {Tick(2, "yellow", 25.0)}
        assert log.redo() and log.redo() and log.redo() is None
        assert log.ticks.of() == all_ticks
    assert whole(path)
    assert len(list(path.parent.glob("log-schema-3-*.sqlite"))) == 1


def test_a_project_file_of_then_is_laid_in_either_way_too(path, tmp_path):
    with Log(path) as log:
        coat = log.keep(PALETTE, choice("Oda's coat", COAT))
        document = json.loads(project_file.to_json(transfer.gather(log, "ferrow")))
        log.undo()
    document["version"] = 2
    document["choices"][0]["ticks"] = [
        {"kind": kind, "ink": ink, "tint": tint}
        for kind, ink, tint in (
            ("laying", "yellow", 75),
            ("pass", "yellow", 75),
            ("pass", "cyan", 50),
        )
    ]
    file = tmp_path / "then.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    with Log(path) as log:
        transfer.merge(log, project_file.read(file))
        (there,) = log.choices()
        assert there.identity == coat.identity
        assert log.ticks.laid([there]) == {there.id: ("yellow", "cyan")}


def test_a_damaged_log_of_then_keeps_what_was_laid(path):
    path.parent.mkdir()
    version_3(path, choice("lamp glass"), choice("Oda's coat", COAT))
    with closing(sqlite3.connect(path)) as db:
        db.execute("INSERT INTO tick VALUES (2, 'laying', 'yellow', 75), (2, 'pass', 'yellow', 75)")
        db.execute("UPDATE choice SET lab = 'none' WHERE id = 1")
        db.commit()
    with Log(path) as log:
        with pytest.raises(LogError, match="was damaged"):
            log.choices()
        assert labels(log.choices()) == ["Oda's coat"]
        assert log.ticks.of() == {Tick(2, "yellow", 75.0)}


def test_an_old_log_is_untouched_when_migrating_fails(path, monkeypatch):
    path.parent.mkdir()
    version_1(path, choice("lamp glass"))
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE meta (mine TEXT)")
        db.commit()
        before = list(db.iterdump())
    with pytest.raises(LogError, match="meta"):
        Log(path)
    with closing(sqlite3.connect(path)) as db:
        assert list(db.iterdump()) == before


def test_a_newer_log_is_refused_and_untouched(path):
    with Log(path) as log:
        keep(log, "a")
    with closing(sqlite3.connect(path)) as db:
        db.execute("ALTER TABLE choice ADD COLUMN mood TEXT")  # no version has the same tables
        db.execute("PRAGMA user_version = 99")
        db.execute("PRAGMA journal_mode = DELETE")
    before = path.read_bytes()
    with pytest.raises(LogError, match="newer tuimatch"):
        Log(path)
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_another_programs_database_is_refused_and_untouched(path):
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE recipes (soup TEXT)")
    before = path.read_bytes()
    with pytest.raises(LogError, match="another program"):
        Log(path)
    assert path.read_bytes() == before
