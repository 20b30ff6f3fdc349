"""A choice and the table of its columns: one line there is a column in every place."""

from __future__ import annotations

import dataclasses
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from kept import PALETTE, choice, keep, version_1, version_2
from support import in_fresh_interpreter

from tuimatch.log import Choice, Log, project_file, transfer
from tuimatch.log.choice import COLUMNS

MEANT = (81.5, -1.25, 30.0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


def relative() -> Choice:
    return replace(choice("lamp"), intent="relative-black", meant_lab=MEANT)


def test_a_choice_is_a_plain_value_without_sqlite():
    run = in_fresh_interpreter(
        "import sys; from tuimatch.log import Choice, checked_name, log_path, new_choice\n"
        "print('sqlite3' in sys.modules)\n"
        "from tuimatch.log import Log; print('sqlite3' in sys.modules)"
    )
    assert run.stdout.split() == ["False", "True"], run.stderr


def test_every_column_is_an_attribute_and_stands_in_the_log_in_json_and_in_a_project_file(path):
    names = [column.name for column in COLUMNS]
    own = ["project", "identity", "id", "changed_at", "doubtful"]
    assert sorted([*names, *own]) == sorted(f.name for f in dataclasses.fields(Choice))
    with Log(path) as log:
        kept = log.keep(PALETTE, relative())
        exported = json.loads(project_file.to_json(transfer.gather(log, "ferrow")))
    with closing(sqlite3.connect(path)) as db:
        held = {name for _, name, *_ in db.execute("PRAGMA table_info (choice)")}
    assert held == {
        *names,
        *("id", "identity", "project_id", "changed_at", "removed_at", "folded", "checksum"),
    }
    for column in COLUMNS:
        inside: object = kept.as_json()
        moved: object = exported["choices"][0]
        for key in column.path:
            assert isinstance(inside, dict)
            assert isinstance(moved, dict)
            inside, moved = inside[key], moved[key]
        assert json.loads(json.dumps(getattr(kept, column.name))) == inside == moved


def test_what_a_target_was_adapted_to_is_kept_and_moves_along(path, tmp_path):
    file = tmp_path / "ferrow.json"
    with Log(path) as log, Log(tmp_path / "there.sqlite") as there:
        kept = log.keep(PALETTE, relative())
        assert (kept.intent, kept.meant_lab) == ("relative-black", MEANT)
        assert log.edit(kept.id, label="glass").meant_lab == MEANT
        file.write_text(project_file.to_json(transfer.gather(log, "ferrow")))
        transfer.merge(there, project_file.read(file))
        assert [replace(c, changed_at="") for c in there.choices()] == [
            replace(c, changed_at="") for c in log.choices()
        ]
        found = json.loads(json.dumps(kept.as_json()))
        assert found["intent"] == "relative-black"
        assert found["target"] == {
            "text": "#f3e3a1",
            "lab": [88.0, -1.5, 34.0],
            "meant_lab": list(MEANT),
        }


def test_a_choice_of_an_older_log_is_meant_as_given(path):
    version_2(path, choice("lamp", page="3"), choice("coat", page="4"))
    with Log(path) as log:
        assert "was of schema 2" in log.notice
        for kept in log.choices():
            assert (kept.intent, kept.meant_lab) == ("absolute", kept.target_lab)
            assert kept.meant_lab == (88.0, -1.5, 34.0)
            assert not kept.doubtful
        edited = log.edit(1, label="glass")
        assert log.undo() is not None
        assert not edited.doubtful
        assert not any(kept.doubtful for kept in log.choices())


@pytest.mark.parametrize("older", [version_1, version_2])
def test_what_was_taken_and_undone_in_an_older_log_can_be_done_again(path, older):
    older(path, choice("lamp"))
    with closing(sqlite3.connect(path)) as db:
        (version,) = db.execute("PRAGMA user_version").fetchone()
    with Log(path) as log:
        log.remove(1)
        assert log.undo()
        assert log.redo()
        assert log.undo()
        (lamp,) = log.choices()
        assert lamp.meant_lab == lamp.target_lab
        assert f"schema {version}" in log.notice


def test_a_project_file_of_before_is_taken(path, tmp_path):
    with Log(path) as log:
        keep(log, "lamp")
        document = json.loads(project_file.to_json(transfer.gather(log, "ferrow")))
    document["version"] = 1
    for entry in document["choices"]:
        del entry["intent"], entry["target"]["meant_lab"], entry["doubtful"]
    file = tmp_path / "old.json"
    file.write_text(json.dumps(document))
    (entry,) = project_file.read(file).entries
    assert (entry.choice.intent, entry.choice.meant_lab) == ("absolute", entry.choice.target_lab)


# Whether a row is as it was written.


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("label", "lanp"),
        ("page", "13"),
        ("note", "wet"),
        ("recipe", "yellow 75 %"),
        ("tints", '{"yellow": 75.0, "magenta": 0.0, "cyan": 0.0}'),
        ("target_lab", "[88.0, -1.5, 35.0]"),
        ("meant_lab", "[88.0, -1.5, 35.0]"),
        ("meant_lab", None),
        ("intent", "relative"),
        ("delta_e", 3.5),
        ("checksum", "3:0000000000000000"),
        ("checksum", "4:0000000000000000"),
        ("checksum", ""),
    ],
)
def test_a_row_altered_by_anything_else_is_doubtful(path, column, value):
    with Log(path) as log:
        keep(log, "lamp", "coat")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute(f"UPDATE choice SET {column} = ? WHERE label = 'lamp'", (value,))
    with Log(path) as log:
        assert [kept.doubtful for kept in log.choices()] == [True, False]
        assert log.choice(1).as_json()["doubtful"] is True
        # It stays so whatever is changed of it, and wherever it goes.
        assert log.edit(1, label="glass").doubtful
        file = path.with_name("out.json")
        file.write_text(project_file.to_json(transfer.gather(log, "ferrow")))
        with Log(path.with_name("there.sqlite")) as there:
            if column != "recipe" and column != "tints":
                transfer.merge(there, project_file.read(file))
                assert [kept.doubtful for kept in there.choices()] == [True, False]


def test_whatever_is_done_and_undone_leaves_no_doubt(path):
    with Log(path) as log:
        lamp, coat = keep(log, "lamp", "coat")
        log.edit(lamp.id, label="glass", page="9", note="lit")
        log.replace(PALETTE, replace(coat, delta_e=1.5))
        log.remove(lamp.id)
        while log.undo():
            assert not any(kept.doubtful for kept in log.choices())
        while log.redo():
            assert not any(kept.doubtful for kept in log.choices())


def test_an_unnamed_choice_is_called_by_its_recipe_in_rounded_percent() -> None:
    taken = replace(choice(""), recipe="yellow 71.01 %", tints={"yellow": 71.01, "cyan": 0.0})
    assert taken.name == "yellow 71 %"
    assert replace(taken, tints={"yellow": 0.0}).name == "bare paper"
