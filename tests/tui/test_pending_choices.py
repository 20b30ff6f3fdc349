"""The interface and the log: what cannot be written now is written later, where it belongs."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from kept import COAT, PALETTE, choice, keep, labels

from tuimatch.log import Log, Tick, ticks
from tuimatch.recipe import laying
from tuimatch.recipe.recipes import mix
from tuimatch.tui.match.pending_choices import Keeper

RECIPES = mix(PALETTE)
COAT_ROW = RECIPES.row_of(COAT)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Another program keeps the log to itself: it can be neither written nor read."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE meta SET value = value")
        other.execute("COMMIT")
        yield


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Another program is writing to the log."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield


def test_what_is_taken_while_the_log_is_locked_goes_to_the_project_used_last(path):
    with Log(path) as log:
        keep(log, "before")
    keeper = Keeper(path, None)
    with locked(path):
        keeper.open()
        assert "another program is writing" in keeper.problem
        assert not keeper.keep(PALETTE, choice("meanwhile", project=keeper.project)).id
        assert labels(keeper.choices) == ["meanwhile"]
    assert keeper.retry()
    assert (keeper.project, keeper.problem) == ("ferrow", "")
    assert labels(keeper.choices) == ["before", "meanwhile"]
    assert [c.project for c in keeper.choices] == ["ferrow", "ferrow"]
    with Log(path) as log:
        assert labels(log.choices("ferrow")) == ["before", "meanwhile"]
        assert [p.name for p in log.projects.all()] == ["ferrow"]
        assert log.projects.current() == "ferrow"
    keeper.close()


def test_what_waits_stays_in_its_own_project(path):
    with Log(path) as log:
        keep(log, "before")
    keeper = Keeper(path, "ferrow")
    with locked(path):
        keeper.open()
        keeper.keep(PALETTE, choice("here"))
        keeper.switch("second")
        keeper.keep(PALETTE, choice("there", project="second"))
    assert keeper.retry()
    assert labels(keeper.choices) == ["there"]
    with Log(path) as log:
        assert labels(log.choices("ferrow")) == ["before", "here"]
        assert labels(log.choices("second")) == ["there"]
    keeper.close()


def test_a_damaged_log_is_opened_with_what_was_recovered(path):
    with Log(path) as log:
        keep(log, "coat", "lamp")
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE choice SET lab = '1,2,3' WHERE label = 'lamp'")
        db.commit()
    keeper = Keeper(path, None)
    keeper.open()
    assert (keeper.problem, keeper.project) == ("", "ferrow")
    assert labels(keeper.choices) == ["coat"]
    assert "was damaged" in keeper.notice
    keeper.close()


def laid(keeper: Keeper, kept, steps: int) -> str:
    return keeper.lay(kept, laying.start(RECIPES, COAT_ROW).at(steps))


def opened(path: Path) -> Keeper:
    with Log(path) as log:
        log.keep(PALETTE, choice("coat", COAT))
    keeper = Keeper(path, "ferrow")
    keeper.open()
    return keeper


def test_how_far_a_choice_is_laid_is_kept_whole_or_not_at_all(path, monkeypatch):
    keeper = opened(path)
    (coat,) = keeper.choices
    assert laid(keeper, coat, 1) == ""
    put = ticks.Ticks.put

    def failing(self, kind, which, on=True):
        if not on:
            raise sqlite3.OperationalError("the disk fails")
        put(self, kind, which, on)

    with monkeypatch.context() as patched:
        patched.setattr(ticks.Ticks, "put", failing)
        assert "the disk fails" in laid(keeper, coat, 2)
    with Log(path) as log:
        assert log.ticks.of("laying") == {Tick(coat.id, "yellow", 75.0)}
    keeper.close()


def test_ticks_that_cannot_be_written_are_tried_again(path):
    keeper = opened(path)
    (coat,) = keeper.choices
    steps = laying.steps(RECIPES, COAT_ROW)
    assert laid(keeper, coat, 3) == ""
    with writing(path):
        assert "another program is writing" in laid(keeper, coat, 1)
        assert "another program is writing" in laid(keeper, coat, 2)
        assert keeper.waiting == 1
        assert keeper.laid(coat, steps) == 2  # as the artist knows it
    assert keeper.retry()
    assert (keeper.waiting, keeper.problem) == (0, "")
    with Log(path) as log:
        assert {t.ink for t in log.ticks.of("laying")} == {"yellow", "magenta"}
    assert keeper.laid(coat, steps) == 2
    keeper.close()


def test_ticks_that_wait_are_written_when_the_interface_closes(path):
    keeper = opened(path)
    with writing(path):
        laid(keeper, keeper.choices[0], 1)
    keeper.close()
    with Log(path) as log:
        assert len(log.ticks.of("laying")) == 1


def test_ticks_of_a_choice_removed_meanwhile_wait_for_nothing(path):
    keeper = opened(path)
    (coat,) = keeper.choices
    with writing(path):
        laid(keeper, coat, 1)
    with Log(path) as log:
        log.undo()
    assert keeper.retry()
    assert keeper.waiting == 0
    keeper.close()
