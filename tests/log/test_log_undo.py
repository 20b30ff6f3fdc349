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
from kept import COAT, LAMP, NEWSPRINT, PALETTE, SEA, choice, keep, labels, tick, whole
from support import costly

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
    with pytest.raises(LogError, match=f"no recipe {kept.id}"):
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
        tick(log, ticks)
        log.undo()
        log.undo()
        assert log.ticks.of() == set()
    with Log(path) as log:
        log.redo()
        log.redo()
        assert log.ticks.of() == ticks


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
    run_state_machine_as_test(costly(Undoing))


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


def test_undoing_a_tick_takes_back_just_what_it_set(log):
    (coat,) = keep(log, "coat")
    yellow, cyan = Tick(coat.id, "yellow", 100), Tick(coat.id, "cyan", 50)
    log.tick([yellow], True, "ticked yellow 100 %", "ferrow")
    log.tick([yellow, cyan], True, "ticked two", "ferrow")
    assert log.undo() == "undone: ticked two"
    assert log.ticks.of() == {yellow}
    assert log.undo() == "undone: ticked yellow 100 %"
    assert log.ticks.of() == set()
    log.redo()
    assert log.ticks.of() == {yellow}
    log.tick([yellow], True, "nothing new", "ferrow")
    assert log.redo() == "redone: ticked two"  # what changes nothing is not a step


Laid = frozenset[tuple[str, float]]
# By identity: label, tints by ink, and what is ticked.
Content = dict[str, tuple[str, Laid, Laid]]
INKS = ("yellow", "magenta", "cyan")


def named(tints: tuple[float, ...]) -> Laid:
    return frozenset(zip(INKS, tints, strict=True))


class Modelled(RuleBasedStateMachine):
    """Any sequence of changes, undone and redone in one project or in all, is that of a model.

    The model: what a project holds before and after each step, two stacks of steps in each project,
    and when each was done, undone or redone last. Of a recipe that is put in the place of another
    just those inks are laid that were laid at the same tint.
    """

    projects = st.sampled_from(["ferrow", "other"])
    places = st.integers(0, 4)
    recipes = st.sampled_from([COAT, SEA])

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

    def taken_with_the_last_step(self, project: str, identity: str) -> None:
        """The last step takes the taking of a choice in, if no other has changed it."""
        *earlier, last = self.done[project]
        own = [one for one in earlier if one[1].get(identity) != one[2].get(identity)]
        if last[1].get(identity) == last[2].get(identity) or len(own) != 1 or identity in own[0][1]:
            return
        since = earlier.index(own[0])

        def without(content: Content) -> Content:
            return {one: what for one, what in content.items() if one != identity}

        between = [(when, without(b), without(a)) for when, b, a in earlier[since + 1 :]]
        last = (last[0], without(last[1]), last[2])
        self.done[project] = [*earlier[:since], *between, last]

    def one(self, project: str, place: int) -> str | None:
        known = list(self.holds[project])  # not sorted: identities differ each time
        return known[place] if place < len(known) else None

    @rule(project=projects, label=st.sampled_from(["coat", "sea", ""]))
    def take(self, project, label):
        kept = self.log.keep(PALETTE, choice(label, project=project))
        new = (label, named(LAMP), frozenset())
        self.step(project, self.holds[project] | {kept.identity: new})

    @rule(project=projects, place=places, label=st.sampled_from(["coat", "sea", ""]))
    def label(self, project, place, label):
        if identity := self.one(project, place):
            self.log.label(identity, label)
            before, recipe, ticks = self.holds[project][identity]
            self.step(project, self.holds[project] | {identity: (label, recipe, ticks)})
            if label != before:
                self.taken_with_the_last_step(project, identity)

    @rule(project=projects, place=places, at_once=st.booleans())
    def take_in_place_of_another(self, project, place, at_once):
        if old := self.one(project, place):
            before, recipe, ticks = self.holds[project][old]
            label = before or "gull"
            if at_once:
                new = choice(label, COAT, project=project)
                self.log.keep(PALETTE, new, replacing=[old])
            else:
                new = self.log.keep(PALETTE, choice("", COAT, project=project))
                self.log.label(new.identity, label, replacing=[old])
            rest = {one: what for one, what in self.holds[project].items() if one != old}
            laid = ticks & recipe & named(COAT)
            self.step(project, rest | {new.identity: (label, named(COAT), laid)})

    @rule(project=projects, place=places, tints=recipes)
    def replace(self, project, place, tints):
        if identity := self.one(project, place):
            now = self.log.known(identity)
            recipe = PALETTE.recipe_text(tints)
            self.log.replace(PALETTE, replace(now, recipe=recipe, tints=dict(named(tints))))
            label, before, ticks = self.holds[project][identity]
            if before != named(tints):
                ticks = ticks & before & named(tints)
            self.step(project, self.holds[project] | {identity: (label, named(tints), ticks)})

    @rule(project=projects, place=places)
    def remove(self, project, place):
        if identity := self.one(project, place):
            self.log.remove(self.log.known(identity).id)
            rest = {one: what for one, what in self.holds[project].items() if one != identity}
            self.step(project, rest)

    @rule(
        project=projects,
        place=places,
        inks=st.sets(st.sampled_from(INKS)),
        on=st.booleans(),
        tints=st.sampled_from([LAMP, COAT, SEA]),
        one_of_many=st.booleans(),
    )
    def tick(self, project, place, inks, on, tints, one_of_many):
        """From the passes, or where a recipe is laid; perhaps for a recipe it has no longer."""
        if identity := self.one(project, place):
            laid = {(ink, tint) for ink, tint in named(tints) if ink in inks}
            if one_of_many:
                number = self.log.known(identity).id
                ticks = [Tick(number, *one) for one in laid]
                self.log.tick(ticks, on, "ticked", project)
            else:
                self.log.lay(identity, laid, on)
            label, recipe, before = self.holds[project][identity]
            now = before | laid if on else before - laid
            self.step(project, self.holds[project] | {identity: (label, recipe, now)})

    @rule(project=projects)
    def begin_to_lay(self, project):
        kept = self.log.keep(PALETTE, choice("", COAT, project=project))
        first = ("yellow", COAT[0])
        self.log.lay(kept.identity, [first], True, with_taking=True)
        new = ("", named(COAT), frozenset({first}))
        self.step(project, self.holds[project] | {kept.identity: new})

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
        ticks: dict[int, set[tuple[str, float]]] = {}
        for one in self.log.ticks.of():
            ticks.setdefault(one.choice, set()).add((one.ink, one.tint))
        for project, holds in self.holds.items():
            choices = self.log.choices(project)
            assert {
                c.identity: (c.label, frozenset(c.tints.items()), frozenset(ticks.get(c.id, ())))
                for c in choices
            } == holds
            laid = self.log.ticks.laid(choices)
            for c in choices:
                recipe, own = holds[c.identity][1:]
                on = {ink for ink, tint in recipe & own if tint}
                assert laid.get(c.id, ()) == tuple(ink for ink in INKS if ink in on)


def test_any_sequence_of_changes_is_that_of_a_simple_model():
    few = settings().max_examples // 4  # a case is slow: each change is on disk
    run_state_machine_as_test(Modelled, settings=settings(max_examples=few))
