"""The log: what is kept stays, is found, and whatever is done can be undone."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test
from kept import COAT, NEWSPRINT, PALETTE, SEA, choice, fill, keep, labels, version_1, whole

from tuimatch.errors import LogError
from tuimatch.log import UNSORTED, Log, Tick, log_path, remembered_project, search
from tuimatch.log.search import ORDERS, folded, words
from tuimatch.text import has_unsafe


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "folder" / "log.sqlite"


@pytest.fixture
def log(path: Path):
    with Log(path) as opened:
        yield opened


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
        log.relabel(kept.id, "x" * 61)


# Editing, removing, undoing.


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


# Finding.


def test_find_looks_in_every_text_and_every_word_must_occur(log):
    log.keep(PALETTE, choice("Oda's coat", COAT, page="12", note="wet side", target="#8c3b3f"))
    log.keep(PALETTE, choice("Ölzeug", SEA, page="cover", target="tomato"))
    for text in (
        "coat",
        "COAT oda",
        "wet",
        "12",
        "#8c3b",
        '"magenta 100"',
        '"et si',
        "#ffe800 wet",
    ):
        assert labels(log.find(text)) == ["Oda's coat"], text
    for text in ("olz", "ÖLZEUG", "toma", "cover", '"cyan 100'):
        assert labels(log.find(text)) == ["Ölzeug"], text
    assert labels(log.find("")) == ["Ölzeug", "Oda's coat"]
    assert log.find("coat tomato") == log.find("xyzzy") == log.find("zz") == []
    assert log.find("coat", "other") == []
    assert labels(log.find("coat", "FERROW")) == ["Oda's coat"]


def test_find_does_not_take_the_text_for_a_query_language(log):
    keep(log, 'say"ay" AND')
    for text in ("AND", "NOT", "*", "(", "NEAR(", "'", "_", "\ue000", 'y" OR "a', "folded:say"):
        assert len(log.find(text)) == (text == "AND"), text
    for text in ('y"ay"', '""', '"', '" AND"'):
        assert len(log.find(text)) == 1, text


def test_find_orders_and_pages(log):
    for label, page, delta_e in (("b", "10", 1.0), ("A", "9", 3.0), ("c", "cover", 2.0)):
        log.keep(PALETTE, choice(label, page=page, delta_e=delta_e))
    by = {order: "".join(labels(log.find("", order=order))) for order in ORDERS}
    assert by == {"newest": "cAb", "oldest": "bAc", "label": "Abc", "page": "cAb", "delta_e": "bcA"}
    assert labels(log.find("", limit=1, offset=1)) == ["A"]
    assert labels(log.find("ferro", limit=1)) == []


_words = st.text("ab'\"é% ", max_size=6)


@given(
    kept=st.lists(st.tuples(_words, _words, st.sampled_from(["one", "two"])), max_size=6),
    text=_words,
    project=st.sampled_from([None, "one", "two"]),
    order=st.sampled_from(list(ORDERS)),
)
def test_find_agrees_with_reading_everything(kept, text, project, order):
    with tempfile.TemporaryDirectory() as folder, Log(Path(folder) / "log.sqlite") as log:
        for label, note, whose in kept:
            log.keep(PALETTE, choice(label, note=note, project=whose))

        def matches(c):
            texts = (c.label, c.page, c.note, c.target_text, c.srgb, c.recipe)
            return all(any(w in folded(t) for t in texts) for w in words(text))

        expected = {c.identity for c in log.choices(project) if matches(c)}
        found = log.find(text, project, order=order)
        assert {c.identity for c in found} == expected
        assert len(found) == len(expected) == log.count(text, project)


def test_every_way_of_finding_gives_the_same_in_a_large_log(log, monkeypatch):
    monkeypatch.setattr(search, "_MOST_SORTED", 100)
    monkeypatch.setattr(search, "_MOST_LISTED", 300)
    fill(log, 1500)
    log.remove(*(c.id for c in log.find("panel 1", limit=20)))
    everything = log.choices()
    for text in ("lamp", "e", "la", "7", "lamp quay", "yellow", "#1", "l e", "panel 49", "zz"):
        expected = {
            c.id
            for c in everything
            if all(
                any(
                    word in field
                    for field in (c.label, c.page, c.note, c.target_text, c.srgb, c.recipe)
                )
                for word in text.split()
            )
        }
        for order in ORDERS:
            found = log.find(text, "ferrow", order=order, limit=-1)
            assert len(found) == len({c.id for c in found})
            assert {c.id for c in found} == expected, (text, order)
            assert log.find(text, order=order, limit=7, offset=3) == found[3:10], (text, order)
    by_delta_e = [c.delta_e for c in log.find("yellow", order="delta_e", limit=-1)]
    assert by_delta_e == sorted(by_delta_e)


# Projects.


def test_projects_are_made_used_renamed_archived_and_remembered(path, log):
    assert log.projects.all() == []
    assert log.projects.current() == UNSORTED
    assert log.projects.create(" ferrow ") == "ferrow"
    keep(log, "a", project="second")
    assert remembered_project(path) == "second"
    log.projects.use("FERROW")
    assert remembered_project(path) == "ferrow"
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
    assert remembered_project(path) == "ferrow"


def test_archiving_the_project_in_use_leaves_none_in_use(path, log):
    log.projects.create("ferrow")
    log.projects.archive("ferrow")
    assert remembered_project(path) == UNSORTED


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


def test_asking_for_the_remembered_project_makes_no_log(path):
    assert remembered_project(path) == UNSORTED
    assert not path.parent.exists()
    path.parent.mkdir()
    path.write_text("a letter")
    assert remembered_project(path) == UNSORTED


# Ticks.


def test_ticks_stay_and_go_one_by_one(path):
    with Log(path) as log:
        coat, sea = keep(log, "coat", "sea")
        done = [Tick(coat.id, "yellow", 75), Tick(sea.id, "cyan", 100)]
        log.ticks.put("laying", done)
        log.ticks.put("laying", done)
        log.ticks.put("pass", done[:1])
    with Log(path) as log:
        assert log.ticks.of("laying") == set(done)
        assert log.ticks.of("laying", [sea.id]) == {done[1]}
        log.ticks.put("laying", done[:1], on=False)
        assert log.ticks.of("laying") == {done[1]}
        assert log.ticks.of("pass") == {done[0]}
        assert log.ticks.of(None) == set(done)
        assert log.ticks.of(None, [sea.id]) == {done[1]}
        with pytest.raises(LogError, match="no choice 99"):
            log.ticks.put("pass", [Tick(sea.id, "cyan", 100), Tick(99, "cyan", 100)])
        assert log.ticks.of("pass") == {done[0]}
        log.undo()
        assert log.ticks.of("laying") == set()


# Versions.


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
