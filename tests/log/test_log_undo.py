"""Editing and removing: whatever is done to the log can be undone."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings
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


def test_replacing_by_the_same_is_not_a_step(log):
    (coat,) = keep(log, "coat")
    assert log.replace(PALETTE, coat) == coat
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


# Replacing, ticking, and several projects.


def replaced(log: Log, label: str = "coat") -> tuple[str, str]:
    """A choice taken and labelled in the place of another; the recipes of both."""
    (old,) = keep(log, label)
    new = log.keep(PALETTE, choice("", COAT))
    log.label(new.identity, label, replacing=[old.identity])
    return old.recipe, new.recipe


def test_one_undo_takes_back_a_whole_replacement(path):
    with Log(path) as log:
        old, new = replaced(log)
    with Log(path) as log:
        assert log.undo() == f"undone: replaced {old} by {new} for coat"
        assert [(c.label, c.recipe) for c in log.choices()] == [("coat", old)]
        assert log.redo() is not None
        assert [(c.label, c.recipe) for c in log.choices()] == [("coat", new)]
        log.undo()
        assert log.undo() == f"undone: took {old} for coat"
        assert log.undo() is None
        assert whole(path)


def test_a_replacement_is_one_step_also_when_another_window_was_quicker(path):
    with Log(path) as log, Log(path) as other:
        (old,) = keep(log, "coat")
        new = log.keep(PALETTE, choice("", COAT))
        keep(other, "sea")
        log.label(new.identity, "coat", replacing=[old.identity])
        log.undo()
        assert labels(log.choices()) == ["coat", "sea"]
        log.undo()
        assert labels(log.choices()) == ["coat"]
        log.redo()
        log.redo()
        assert [(c.label, c.recipe) for c in log.choices()] == [
            ("coat", new.recipe),
            ("sea", old.recipe),
        ]
        assert whole(path)


def test_what_was_changed_since_it_was_taken_is_replaced_in_a_step_of_its_own(log):
    (old,) = keep(log, "coat")
    new = log.keep(PALETTE, choice("", COAT))
    log.edit(new.id, note="wet")
    log.label(new.identity, "coat", replacing=[old.identity])
    log.undo()
    assert [(c.label, c.note) for c in log.choices()] == [("coat", ""), ("", "wet")]
    log.undo()
    log.undo()
    assert labels(log.choices()) == ["coat"]


def test_redo_over_all_projects_does_again_what_was_undone_last(log):
    keep(log, "a", project="ferrow")
    keep(log, "b", project="other")
    log.undo("ferrow")
    log.undo("other")
    assert log.redo() is not None
    assert labels(log.choices()) == ["b"]
    assert log.undo() is not None  # what was redone last
    assert log.choices() == []
    log.redo()
    log.redo()
    assert labels(log.choices()) == ["a", "b"]
    assert log.redo() is None


def test_undoing_a_tick_leaves_the_ticks_of_others_alone(log):
    (coat,) = keep(log, "coat")
    yellow, cyan = Tick(coat.id, "yellow", 100), Tick(coat.id, "cyan", 50)
    log.tick("pass", [yellow], True, "ticked yellow 100 %", "ferrow")
    log.ticks.put("laying", [yellow])
    log.tick("pass", [yellow, cyan], True, "ticked two", "ferrow")
    assert log.undo() == "undone: ticked two"
    assert (log.ticks.of("pass"), log.ticks.of("laying")) == ({yellow}, {yellow})
    assert log.undo() == "undone: ticked yellow 100 %"
    assert (log.ticks.of("pass"), log.ticks.of("laying")) == (set(), {yellow})
    log.redo()
    assert log.ticks.of("pass") == {yellow}
    log.tick("pass", [yellow], True, "nothing new", "ferrow")
    assert log.redo() == "redone: ticked two"  # what changes nothing is not a step


Content = dict[str, tuple[str, str, frozenset[str]]]


class Modelled(RuleBasedStateMachine):
    """Any sequence of changes, undone and redone in one project or in all, is that of a model.

    The model: what a project holds before and after each step, two stacks of steps in each project,
    and when each was done, undone or redone last.
    """

    projects = st.sampled_from(["ferrow", "other"])
    places = st.integers(0, 4)

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.log = Log(Path(self.folder.name) / "log.sqlite")
        self.holds: dict[str, Content] = {"ferrow": {}, "other": {}}
        self.done: dict[str, list[tuple[int, Content, Content]]] = {"ferrow": [], "other": []}
        self.undone: dict[str, list[tuple[int, Content, Content]]] = {"ferrow": [], "other": []}
        self.time = 0

    def teardown(self) -> None:
        assert whole(self.log.path)
        self.log.close()
        self.folder.cleanup()

    def step(self, project: str, after: Content) -> None:
        before = self.holds[project]
        if after != before:
            self.time += 1
            self.done[project].append((self.time, before, after))
            self.undone[project] = []
            self.holds[project] = after

    def one(self, project: str, place: int) -> str | None:
        known = sorted(self.holds[project])
        return known[place] if place < len(known) else None

    @rule(project=projects, label=st.sampled_from(["coat", "sea", ""]))
    def take(self, project, label):
        kept = self.log.keep(PALETTE, choice(label, project=project))
        new = (label, kept.recipe, frozenset())
        self.step(project, self.holds[project] | {kept.identity: new})

    @rule(project=projects, place=places, label=st.sampled_from(["coat", "sea", ""]))
    def label(self, project, place, label):
        if identity := self.one(project, place):
            self.log.label(identity, label)
            _, recipe, ticks = self.holds[project][identity]
            self.step(project, self.holds[project] | {identity: (label, recipe, ticks)})

    @rule(project=projects, place=places)
    def take_in_place_of_another(self, project, place):
        if old := self.one(project, place):
            new = self.log.keep(PALETTE, choice("", COAT, project=project))
            label = self.holds[project][old][0] or "gull"
            self.log.label(new.identity, label, replacing=[old])
            rest = {one: what for one, what in self.holds[project].items() if one != old}
            self.step(project, rest | {new.identity: (label, new.recipe, frozenset())})

    @rule(project=projects, place=places, tints=st.sampled_from([COAT, SEA]))
    def replace(self, project, place, tints):
        if identity := self.one(project, place):
            recipe = PALETTE.recipe_text(tints)
            self.log.replace(PALETTE, replace(self.log.known(identity), recipe=recipe))
            label, _, ticks = self.holds[project][identity]
            self.step(project, self.holds[project] | {identity: (label, recipe, ticks)})

    @rule(project=projects, place=places)
    def remove(self, project, place):
        if identity := self.one(project, place):
            self.log.remove(self.log.known(identity).id)
            rest = {one: what for one, what in self.holds[project].items() if one != identity}
            self.step(project, rest)

    @rule(project=projects, place=places, inks=st.sets(st.sampled_from("ymc")), on=st.booleans())
    def tick(self, project, place, inks, on):
        if identity := self.one(project, place):
            number = self.log.known(identity).id
            self.log.tick("pass", [Tick(number, ink, 50) for ink in inks], on, "ticked", project)
            label, recipe, ticks = self.holds[project][identity]
            now = ticks | inks if on else ticks - inks
            self.step(project, self.holds[project] | {identity: (label, recipe, frozenset(now))})

    @rule(project=projects, everywhere=st.booleans())
    def undo(self, project, everywhere):
        self.turn(self.done, self.undone, project, everywhere, self.log.undo)

    @rule(project=projects, everywhere=st.booleans())
    def redo(self, project, everywhere):
        self.turn(self.undone, self.done, project, everywhere, self.log.redo)

    def turn(self, source, target, project, everywhere, way):
        said = way(None if everywhere else project)
        if everywhere:
            project = max(source, key=lambda one: source[one][-1][0] if source[one] else 0)
        if not source[project]:
            assert said is None
            return
        assert said is not None
        _, before, after = source[project].pop()
        self.time += 1
        target[project].append((self.time, before, after))
        self.holds[project] = before if target is self.undone else after

    @invariant()
    def the_log_holds_what_the_model_does(self):
        ticks = {}
        for tick in self.log.ticks.of("pass"):
            ticks.setdefault(tick.choice, set()).add(tick.ink)
        for project, holds in self.holds.items():
            assert {
                c.identity: (c.label, c.recipe, frozenset(ticks.get(c.id, ())))
                for c in self.log.choices(project)
            } == holds


def test_any_sequence_of_changes_is_that_of_a_simple_model():
    few = settings().max_examples // 4  # a case is slow: each change is on disk
    run_state_machine_as_test(Modelled, settings=settings(max_examples=few))
