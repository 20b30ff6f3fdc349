"""Logs of other versions and of other programs."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from kept import COAT, choice, keep, labels, version_1, whole

from tuimatch.errors import LogError
from tuimatch.log import Log


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
