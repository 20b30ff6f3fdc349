"""Editing and removing: whatever is done to the log can be undone."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test
from kept import COAT, NEWSPRINT, PALETTE, SEA, choice, keep, labels, whole

from tuimatch.errors import LogError
from tuimatch.log import Log, Tick


def test_editing_changes_what_is_given_and_leaves_the_rest(log):
    kept = log.keep(PALETTE, choice("coat", page="1", note="wet"))
    log.edit(kept.id, page="2")
    edited = log.choice(kept.id)
    assert (edited.label, edited.page, edited.note) == ("coat", "2", "wet")
    assert replace(edited, page="1", changed_at=kept.changed_at) == kept


def test_an_edit_that_changes_nothing_is_no_step(log):
    (kept,) = keep(log, "coat")
    log.edit(kept.id, label=" coat ")
    assert log.undo() == f"undone: took {kept.recipe} for coat"


def test_undo_works_after_a_restart_and_says_what_it_undid(path):
    with Log(path) as log:
        (kept,) = keep(log, "coat")
        log.edit(kept.id, label="scarf")
        log.remove(kept.id)
        assert log.choices() == []
    with Log(path) as log:
        assert log.undo() == f"undone: removed {kept.recipe} for scarf"
        assert labels(log.choices()) == ["scarf"]
    with Log(path) as log:
        assert log.undo() == f"undone: changed label coat to scarf of {kept.recipe}"
        assert labels(log.choices()) == ["coat"]
        assert log.undo() == f"undone: took {kept.recipe} for coat"
        assert log.undo() is None
        assert whole(path)
    with Log(path) as log:
        assert [log.redo() is not None for _ in range(4)] == [True, True, True, False]
        assert log.choices() == []
        assert log.undo() is not None
        assert labels(log.choices()) == ["scarf"]


def test_removed_choices_stay_in_the_file(path, log):
    (kept,) = keep(log, "coat")
    log.remove(kept.id)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT label FROM choice").fetchall() == [("coat",)]
    with pytest.raises(LogError, match=f"no choice {kept.id}"):
        log.choice(kept.id)


def test_undoing_in_one_project_leaves_the_others(log):
    keep(log, "a", project="ferrow")
    keep(log, "b", project="other")
    assert log.undo("ferrow") is not None
    assert labels(log.choices()) == ["b"]
    assert log.undo("ferrow") is None
    assert log.undo("no such project") is None


def test_after_something_new_what_was_undone_is_passed_over(log):
    keep(log, "a", "b")
    log.undo()
    keep(log, "c")
    assert log.redo() is None
    assert labels(log.choices()) == ["a", "c"]
    log.undo()
    log.undo()
    assert log.choices() == []


def test_a_number_never_means_another_choice(log):
    (first,) = keep(log, "a")
    log.undo()
    (second,) = keep(log, "b")
    assert second.id != first.id


def test_several_changes_together_are_one_undo(path, log):
    coat, sea = keep(log, "coat", "sea")
    with log.together("saved 2 passes", "ferrow"):
        for kept, tints in ((coat, COAT), (sea, SEA)):
            log.replace(NEWSPRINT, replace(kept, recipe=NEWSPRINT.recipe_text(tints)))
        log.edit(sea.id, note="planned")
    assert [c.recipe for c in log.choices()] == list(map(NEWSPRINT.recipe_text, (COAT, SEA)))
    assert log.undo() == "undone: saved 2 passes"
    assert [(c.recipe, c.note) for c in log.choices()] == [(coat.recipe, "")] * 2
    assert whole(path)


def test_together_is_all_or_nothing(log):
    (coat,) = keep(log, "coat")

    def half() -> None:
        with log.together("half", "ferrow"):
            log.edit(coat.id, label="scarf")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half()
    assert labels(log.choices()) == ["coat"]
    assert log.undo() == f"undone: took {coat.recipe} for coat"


def test_replacing_what_was_removed_is_refused(log):
    (coat,) = keep(log, "coat")
    log.remove(coat.id)
    with pytest.raises(LogError, match="no longer in the log"):
        log.replace(PALETTE, coat)


def test_removing_from_two_projects_is_undone_in_each(path, log):
    (here,), (there,) = keep(log, "coat"), keep(log, "lamp", project="other")
    also = keep(log, "sea")[0]
    log.remove(here.id, there.id, also.id)
    assert log.choices() == []
    assert log.undo("other") == f"undone: removed {there.recipe} for lamp"
    assert labels(log.choices()) == ["lamp"]
    assert log.undo("other") == f"undone: took {there.recipe} for lamp"
    assert log.undo("ferrow") == f"undone: removed {here.recipe} for coat and 1 more"
    assert labels(log.choices()) == ["coat", "sea"]
    assert log.redo("other") is not None
    assert labels(log.choices()) == ["coat", "lamp", "sea"]
    assert whole(path)


def test_what_is_done_together_to_two_projects_is_a_step_in_each(log):
    (here,), (there,) = keep(log, "coat"), keep(log, "lamp", project="other")
    with log.together("noted both", "third"):
        log.edit(here.id, note="wet")
        log.edit(there.id, note="lit")
    assert log.undo("third") is None
    for project, left in (("ferrow", ["", "lit"]), ("other", ["", ""])):
        assert log.undo(project) == "undone: noted both"
        assert [c.note for c in log.choices()] == left


def test_a_step_whose_choice_is_gone_is_refused_in_one_line(log):
    """As logs may hold it in which removing from two projects was one step."""
    (here,), (there,) = keep(log, "coat"), keep(log, "lamp", project="other")
    log.remove(here.id, there.id)
    with log.database.transaction() as db:
        first, second = (id for (id,) in db.execute("SELECT id FROM step ORDER BY id DESC LIMIT 2"))
        db.execute("UPDATE change SET step_id = ? WHERE step_id = ?", (second, first))
        db.execute("DELETE FROM step WHERE id = ?", (first,))
    assert log.undo("other") == f"undone: took {there.recipe} for lamp"
    before = list(log.database.db.iterdump())
    with pytest.raises(LogError, match=f"cannot be undone: choice {there.id} is not there") as said:
        log.undo("ferrow")
    assert "\n" not in str(said.value)
    assert list(log.database.db.iterdump()) == before
    log.redo("other")
    log.undo("ferrow")
    assert labels(log.choices()) == ["coat", "lamp"]


def test_a_name_that_is_taken_since_is_refused_in_one_line(log):
    log.projects.create("ferrow")
    log.projects.rename("ferrow", "second")
    log.projects.create("ferrow")
    with pytest.raises(LogError, match=r"renamed .* cannot be undone: project 1 would be there"):
        log.undo("second")


def test_what_changes_nothing_of_a_project_is_no_step(log):
    log.projects.create("ferrow")
    log.projects.restore("ferrow")
    log.projects.rename("ferrow", "ferrow")
    assert log.undo() is None


def test_the_ticks_of_a_choice_whose_taking_is_undone_come_back_with_it(path):
    with Log(path) as log:
        (coat,) = keep(log, "coat")
        ticks = {Tick(coat.id, "yellow", 100), Tick(coat.id, "magenta", 33.3)}
        log.ticks.put("laying", ticks)
        log.undo()
        assert log.ticks.of("laying") == set()
    with Log(path) as log:
        log.redo()
        assert log.ticks.of("laying") == ticks
        log.undo()
        log.redo()
        assert log.ticks.of("laying") == ticks


class Undoing(RuleBasedStateMachine):
    """Whatever is done, undoing it all step by step gives back each state before it."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.log = Log(Path(self.folder.name) / "log.sqlite")
        self.before: list[list[tuple[str, ...]]] = []

    def teardown(self) -> None:
        while self.before:
            assert self.log.undo() is not None
            assert self.state() == self.before.pop()
        assert self.log.undo() is None
        assert whole(self.log.path)
        self.log.close()
        self.folder.cleanup()

    def state(self) -> list[tuple[str, ...]]:
        return [(c.identity, c.label, c.page, c.note, c.recipe) for c in self.log.choices()]

    def done(self, before: list[tuple[str, ...]]) -> None:
        self.before.append(before)

    @rule(label=st.sampled_from(["coat", "sea", ""]))
    def take(self, label):
        before = self.state()
        self.log.keep(PALETTE, choice(label))
        self.done(before)

    @rule(number=st.integers(0, 5), page=st.sampled_from(["1", "2", ""]))
    def edit(self, number, page):
        before, known = self.state(), self.log.choices()
        if number < len(known) and known[number].page != page:
            self.log.edit(known[number].id, page=page)
            self.done(before)

    @rule(number=st.integers(0, 5))
    def remove(self, number):
        before, known = self.state(), self.log.choices()
        if number < len(known):
            self.log.remove(known[number].id)
            self.done(before)

    @rule()
    def undo_and_redo(self):
        before = self.state()
        if self.log.undo() is not None:
            assert self.state() == self.before[-1]
            assert self.log.redo() is not None
        assert self.state() == before

    @rule()
    def undo(self):
        if self.log.undo() is not None:
            assert self.state() == self.before.pop()

    @invariant()
    def what_is_found_is_what_is_there(self):
        assert {c.identity for c in self.log.find("coat")} == {
            row[0] for row in self.state() if row[1] == "coat"
        }


def test_any_history_can_be_undone():
    run_state_machine_as_test(Undoing)
