"""The log: what is kept stays; whose it is, and what has been laid of it."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kept import PALETTE, choice, keep, labels, tick

from tuimatch.errors import LogError
from tuimatch.log import UNSORTED, Log, Tick, log_path
from tuimatch.text import has_unsafe

# Keeping.


def test_what_is_kept_comes_back_the_same_after_closing(path):
    given_choice = choice("lamp glass", page="cover", note="brightest")
    with Log(path) as log:
        kept = log.keep(PALETTE, given_choice)
    with Log(path) as log:
        (found,) = log.choices("ferrow")
    assert found == kept
    assert replace(found, id=0, changed_at="") == given_choice
    assert found.id > 0


def test_a_choice_is_on_disk_when_keeping_returns(path, log):
    keep(log, "lamp glass")
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT label FROM choice").fetchall() == [("lamp glass",)]


def test_the_palette_is_kept_once_with_its_full_text(path, log):
    keep(log, "one", "two")
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT digest, text FROM palette").fetchall() == [
            (PALETTE.digest, PALETTE.text)
        ]
    assert log.palette(log.choices()[0]) == PALETTE


def test_keeping_the_same_choice_again_changes_nothing(log):
    once = choice()
    assert log.keep(PALETTE, once) == log.keep(PALETTE, once)
    assert len(log.choices()) == 1


def test_no_project_is_the_unsorted_one(log):
    log.keep(PALETTE, choice(project=""))
    assert log.choices()[0].project == UNSORTED


def test_last_gives_the_newest_oldest_first(log):
    keep(log, "a", "b", "c")
    assert labels(log.choices("FERROW", last=2)) == ["b", "c"]
    assert log.choices("no such project") == []


@pytest.mark.parametrize("field", ["label", "page", "note", "project"])
def test_texts_that_could_steer_a_terminal_are_refused(log, field):
    with pytest.raises(LogError, match="control character"):
        log.keep(PALETTE, replace(choice(), **{field: "red\x1b[2J"}))
    assert log.choices() == []


def test_a_long_label_is_refused_with_its_length(log):
    (kept,) = keep(log, "")
    with pytest.raises(LogError, match="61 characters; give at most 60"):
        log.edit(kept.id, label="x" * 61)


@given(text=st.text(max_size=40))
def test_any_label_is_kept_or_refused_in_one_line(text):
    with tempfile.TemporaryDirectory() as folder, Log(Path(folder) / "log.sqlite") as log:
        try:
            kept = log.keep(PALETTE, choice(text))
        except LogError as error:
            assert has_unsafe(text.strip())
            assert "\n" not in str(error)
        else:
            assert log.choices() == [kept]
            assert all(log.find(word) for word in kept.label.split())


# Projects.


def test_projects_are_made_used_renamed_archived_and_remembered(log):
    assert log.projects.all() == []
    assert log.projects.current() == UNSORTED
    assert log.projects.create(" ferrow ") == "ferrow"
    keep(log, "a", project="second")
    assert log.projects.current() == "second"
    log.projects.use("FERROW")
    assert log.projects.current() == "ferrow"
    assert log.projects.rename("ferrow", "Ferrow 2") == "Ferrow 2"
    log.projects.archive("second")
    assert [(p.name, p.choices, p.current) for p in log.projects.all()] == [("Ferrow 2", 0, True)]
    assert len(log.projects.all(archived=True)) == 2
    assert labels(log.choices("second")) == ["a"]
    log.projects.restore("second")
    log.undo("second")
    assert log.undo("second") == "undone: archived project second"
    assert log.undo() == "undone: renamed project ferrow to Ferrow 2"
    assert log.undo() == f"undone: took {choice().recipe} for a"
    assert log.projects.current() == "ferrow"


def test_archiving_the_project_in_use_leaves_none_in_use(log):
    log.projects.create("ferrow")
    log.projects.archive("ferrow")
    assert log.projects.current() == UNSORTED


def test_what_cannot_be_done_with_a_project_is_refused(log):
    log.projects.create("ferrow")
    log.projects.create("second")
    for refused, said in (
        (lambda: log.projects.create("FERROW"), "there is a project 'ferrow' already"),
        (lambda: log.projects.create("  "), "name is empty"),
        (lambda: log.projects.use("lost"), "no project 'lost'; there are ferrow, second"),
        (lambda: log.projects.rename("second", "Ferrow"), "already"),
        (lambda: log.projects.archive("a\nb"), "control character"),
    ):
        with pytest.raises(LogError, match=said):
            refused()


# Ticks.


def test_ticks_stay_and_go_one_by_one(path):
    with Log(path) as log:
        coat, sea = keep(log, "coat", "sea")
        done = [Tick(coat.id, "yellow", 75), Tick(sea.id, "cyan", 100)]
        tick(log, done)
        tick(log, done)
        tick(log, done[:1])
    with Log(path) as log:
        assert log.ticks.of() == set(done)
        assert log.ticks.of([sea.id]) == {done[1]}
        tick(log, done[:1], on=False)
        assert log.ticks.of() == {done[1]}
        with pytest.raises(LogError, match="no recipe 99"):
            tick(log, [Tick(coat.id, "cyan", 100), Tick(99, "cyan", 100)])
        assert log.ticks.of() == {done[1]}
        for before in ({*done}, set()):
            log.undo()
            assert log.ticks.of() == before


# Where it is.


def test_the_log_is_the_one_given_or_named_or_the_users(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("TUIMATCH_LOG", raising=False)
    assert log_path(None).name == "log.sqlite"
    monkeypatch.setenv("TUIMATCH_LOG", str(tmp_path / "named.sqlite"))
    assert log_path(None) == tmp_path / "named.sqlite"
    assert log_path("given.sqlite") == Path("given.sqlite")
    assert log_path("~/given.sqlite") == Path.home() / "given.sqlite"
    for nobody in ("~nobody-of-this-name/x", "~nobody\0/x"):
        with pytest.raises(LogError, match="there is no such home folder"):
            log_path(nobody)
