"""The interface and the log: what cannot be written now is written later, where it belongs."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from kept import COAT, PALETTE, choice, keep, labels

from tuimatch.log import Log, Tick
from tuimatch.log.history import History
from tuimatch.tui.match.pending_choices import Keeper


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


def lay(keeper: Keeper, kept, *inks: str, on: bool = True) -> str:
    return keeper.lay(kept, [(ink, kept.tints[ink]) for ink in inks], on)


def opened(path: Path) -> Keeper:
    with Log(path) as log:
        log.keep(PALETTE, choice("coat", COAT))
    keeper = Keeper(path, "ferrow")
    keeper.open()
    return keeper


def test_ticks_are_kept_whole_or_not_at_all(path, monkeypatch):
    keeper = opened(path)
    (coat,) = keeper.choices
    assert lay(keeper, coat, "yellow") == ""
    ticks = History.ticks

    def failing(self, row, which, on):
        ticks(self, row, which, on)
        raise sqlite3.OperationalError("the disk fails")

    with monkeypatch.context() as patched:
        patched.setattr(History, "ticks", failing)
        assert "the disk fails" in lay(keeper, coat, "magenta", "cyan")
    with Log(path) as log:
        assert log.ticks.of() == {Tick(coat.id, "yellow", 75.0)}
    keeper.close()


def test_ticks_that_cannot_be_written_are_tried_again_each_a_step(path):
    keeper = opened(path)
    (coat,) = keeper.choices
    assert lay(keeper, coat, "yellow") == ""
    with writing(path):
        assert "another program is writing" in lay(keeper, coat, "magenta")
        assert "another program is writing" in lay(keeper, coat, "yellow", on=False)
        assert keeper.waiting == 2
        assert keeper.laid(coat) == {"magenta"}  # as the artist knows it
    assert keeper.retry()
    assert (keeper.waiting, keeper.problem) == (0, "")
    with Log(path) as log:
        assert {t.ink for t in log.ticks.of()} == {"magenta"}
    assert keeper.undo() == "undone: unticked yellow 75 % for coat"
    assert keeper.laid(coat) == {"yellow", "magenta"}
    keeper.close()


def test_an_ink_of_a_choice_that_waits_itself_is_kept_with_it_in_one_step(path):
    with Log(path) as log:
        keep(log, "before")
    keeper = Keeper(path, "ferrow")
    keeper.open()
    with writing(path):
        coat = keeper.keep(PALETTE, choice("coat", COAT))
        assert not coat.id
        assert keeper.lay(coat, [("yellow", 75)], True, with_taking=True)
        assert keeper.laid(coat) == {"yellow"}
    assert keeper.retry()
    assert keeper.laid(keeper.choices[-1]) == {"yellow"}
    keeper.undo()
    assert labels(keeper.choices) == ["before"]
    keeper.close()


def test_ticks_that_wait_are_written_when_the_interface_closes(path):
    keeper = opened(path)
    with writing(path):
        lay(keeper, keeper.choices[0], "yellow")
    keeper.close()
    with Log(path) as log:
        assert len(log.ticks.of()) == 1


def test_ticks_of_a_choice_removed_meanwhile_wait_for_nothing(path):
    keeper = opened(path)
    (coat,) = keeper.choices
    with writing(path):
        lay(keeper, coat, "yellow")
    with Log(path) as log:
        log.undo()
    assert keeper.retry()
    assert keeper.waiting == 0
    keeper.close()
