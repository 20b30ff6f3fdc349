"""The commands of the log."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from kept import COAT, PALETTE, choice, version_1

from tuimatch.log import Log, new_choice
from tuimatch.palette import file as palette_file
from tuimatch.text import has_unsafe

ENTRY_KEYS = [
    *("id", "project", "label", "page", "note", "target", "intent", "palette", "palette_digest"),
    *("recipe", "tints", "lab", "srgb", "delta_e", "chosen_at", "doubtful"),
]


def test_log_json_has_exactly_these_keys(ferrow):
    entries = ferrow.lines("log", "--json")
    assert [e["label"] for e in entries] == ["lamp glass", "Oda's coat", "elsewhere"]
    for entry in entries:
        assert list(entry) == ENTRY_KEYS
        assert list(entry["target"]) == ["text", "lab", "meant_lab"]
    with Log(ferrow.log) as log:
        assert entries == [json.loads(json.dumps(c.as_json())) for c in log.choices()]
    assert entries[0]["page"] == "1"
    assert entries[0]["note"] == "brightest"


def test_log_of_a_project_found_by_words(ferrow):
    def found(*arguments):
        return [e["label"] for e in ferrow.lines("log", "--json", *arguments)]

    assert found("--project", "FERROW") == ["lamp glass", "Oda's coat"]
    assert found("--find", "coat oda") == ["Oda's coat"]
    assert found("--find", "bright", "--project", "ferrow") == ["lamp glass"]
    assert found("--find", "bright", "--project", "other") == []
    assert "lost" in ferrow.refuses("log", "--json", "--project", "lost")


def test_log_as_a_table(ferrow):
    lines = ferrow("log").splitlines()
    assert len(lines) == 3
    assert "Oda's coat" in lines[1]
    assert "yellow 75 %, magenta 100 %, cyan 50 %" in lines[1]
    assert ferrow("log", "--find", "xyzzy") == "No recipes with 'xyzzy' in the log yet.\n"
    assert "no project 'nope'; there are ferrow" in ferrow.refuses("log", "--project", "nope")


def test_log_as_csv(ferrow):
    rows = list(csv.DictReader(io.StringIO(ferrow("log", "--csv"))))
    assert [row["label"] for row in rows] == ["lamp glass", "Oda's coat", "elsewhere"]
    assert float(rows[1]["magenta %"]) == 100


def test_asking_makes_no_log(cli):
    assert cli("log") == f"No recipes in the log yet: {cli.log} is not there.\n"
    assert cli("log", "--json") == cli("projects", "--json") == ""
    assert cli("projects").startswith("No projects yet")
    assert list(cli.folder.iterdir()) == []


def test_removing_and_undoing(ferrow):
    assert "removed 2: Oda's coat" in ferrow("log", "remove", "2")
    assert len(ferrow.lines("log", "--json")) == 2
    assert "no recipe 2" in ferrow.refuses("log", "remove", "1", "2")
    assert len(ferrow.lines("log", "--json")) == 2
    assert ferrow("log", "undo").startswith("undone: removed yellow 75 %")
    assert len(ferrow.lines("log", "--json")) == 3
    assert ferrow("log", "redo").startswith("redone: removed")
    assert len(ferrow.lines("log", "--json")) == 2
    for _ in range(4):
        ferrow("log", "undo")
    assert ferrow("log", "undo") == "nothing to undo\n"
    assert ferrow.lines("log", "--json") == []


def test_checking_a_project(ferrow):
    assert "no conflicts" in ferrow("log", "check", "--project", "ferrow")
    with Log(ferrow.log) as log:
        log.keep(PALETTE, choice("lamp glass", COAT, lab=(20.0, 0.0, 0.0)))
    said = ferrow("log", "check", "--project", "ferrow").splitlines()
    assert "lamp glass has 2 recipes" in said[0]
    assert said[1].startswith("    ")
    (finding,) = ferrow.lines("log", "check", "--project", "ferrow", "--json")
    assert finding["ids"] == [1, 4]
    assert "lost" in ferrow.refuses("log", "check", "--project", "lost")


def test_a_choice_that_something_else_altered_is_reported(ferrow):
    with closing(sqlite3.connect(ferrow.log)) as db, db:
        db.execute("UPDATE choice SET page = '77' WHERE id = 1")
    said = ferrow("log", "check", "--project", "ferrow").splitlines()
    assert said[0].endswith("(1) has changed since it was written: its checksum is wrong")
    assert "`tuimatch log remove 1`" in said[1]
    (finding,) = ferrow.lines("log", "check", "--project", "ferrow", "--json")
    assert (finding["kind"], finding["ids"]) == ("doubtful", [1])


def test_exporting_and_importing(ferrow):
    assert "2 recipes" in ferrow("log", "export", "--project", "ferrow", "--out", "out.json")
    other = ("--log", "second.sqlite")
    assert ferrow(*other, "log", "import", "out.json") == (
        "project 'ferrow': 2 recipes new, 0 changed, 0 as they were\n"
    )
    assert "0 recipes new, 0 changed, 2 as they were" in ferrow(*other, "log", "import", "out.json")
    here = ferrow.lines("log", "--json", "--project", "ferrow")
    assert ferrow.lines(*other, "log", "--json") == here
    ferrow("projects", "archive", "ferrow")
    again = ("log", "export", "--project", "ferrow", "--out", "out.json")
    assert "out.json: already exists" in ferrow.refuses(*again)
    ferrow(*again, "--replace")
    assert "archived, `tuimatch projects restore`" in ferrow(
        *("--log", "third.sqlite", "log", "import", "out.json")
    )
    (ferrow.folder / "bad.json").write_text('{"format": "tuimatch project", "version": 9}')
    assert "version: is 9" in ferrow.refuses(*other, "log", "import", "bad.json")


@pytest.mark.parametrize("name", ["x" * 300, "ü" * 126])
@pytest.mark.parametrize(
    "command", [("guide", ".html"), ("guide", ".html", "--replace"), ("log", ".json", "export")]
)
def test_a_name_too_long_for_a_file_is_refused_in_a_line(ferrow, command, name):
    word, extension, *more = command
    out = name + extension
    said = ferrow.refuses(word, *more, "--project", "ferrow", "--out", out)
    assert f"{out}: cannot be written (File name too long); give another name" in said
    assert list(ferrow.folder.iterdir()) == [ferrow.log]


def test_projects(cli):
    cli("projects", "create", "ferrow")
    cli("projects", "create", "second")
    cli("projects", "use", "FERROW")
    cli("projects", "rename", "second", "Zwölf")
    assert [(p["name"], p["current"]) for p in cli.lines("projects", "--json")] == [
        ("ferrow", True),
        ("Zwölf", False),
    ]
    cli("projects", "archive", "Zwölf")
    assert "Zwölf" not in cli("projects")
    assert "Zwölf" in cli("projects", "--all")
    assert list(cli.lines("projects", "--json")[1]) == [
        *("name", "choices", "current", "created_at", "archived_at"),
    ]
    assert cli.lines("projects", "--json")[1]["archived_at"]
    cli("projects", "restore", "Zwölf")
    assert cli("projects").startswith("* ferrow")
    assert "no project 'lost'; there are ferrow, Zwölf" in cli.refuses("projects", "use", "lost")


@pytest.mark.parametrize("extension", ["html", "md", "csv", "json", "gpl", "cgats"])
def test_guide(ferrow, extension):
    said = ferrow("guide", "--project", "ferrow", "--out", f"guide.{extension}")
    assert said == f"guide.{extension}: 2 colours\n"
    assert "coat" in (ferrow.folder / f"guide.{extension}").read_text(encoding="utf-8")
    assert "lost" in ferrow.refuses("guide", "--project", "lost", "--out", "x.html")


def test_what_became_of_an_old_or_damaged_log_is_said_on_standard_error(cli):
    version_1(cli.log, choice("lamp glass"))
    done = cli.run("log", "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["label"] == "lamp glass"
    assert "was of schema 1" in done.stderr
    cli.log.write_bytes(b"wrecked" + cli.log.read_bytes()[7:])
    done = cli.run("log", "--json")
    assert json.loads(done.stdout)["label"] == "lamp glass"
    assert done.stderr.count("\n") == 1
    assert "was damaged; it is kept as" in done.stderr
    assert cli.run("log").stderr == ""


def test_nothing_of_a_foreign_log_steers_the_terminal(ferrow):
    evil = "a\x1b]0;b\x07c\x9b2Jd\x7fe\u202ef"
    with closing(sqlite3.connect(ferrow.log)) as db:
        db.execute("UPDATE project SET name = ? || id WHERE id = 2", (evil,))
        db.execute("UPDATE choice SET label = ? || id, note = ? || id", (evil, evil))
        db.commit()
    of_one = ("--project", "ferrow")
    for arguments in (("log",), ("projects",), ("passes", *of_one), ("economy", *of_one)):
        for form in ("", "--json", "--csv"):
            done = ferrow.run(*arguments, *filter(None, [form]))
            assert not has_unsafe((done.stdout + done.stderr).replace("\n", "").replace("\r", ""))
    assert [p["name"] for p in ferrow.lines("projects", "--json")] == ["ferrow", f"{evil}2"]
    assert ferrow.lines("log", "--json")[0]["note"] == f"{evil}1"
    assert r"a\x1b]0;b\x07c\x9b2Jd\x7fe\u202ef1" in ferrow("log", "--csv")


def test_a_path_that_steers_the_terminal_is_said_as_text(cli):
    cli.environment["TUIMATCH_LOG"] = str(cli.folder / "a\x1b[2J\x9bb.sqlite")
    version_1(Path(cli.environment["TUIMATCH_LOG"]), choice("lamp glass"))
    said = cli.run("log").stderr
    assert r"a\x1b[2J\x9bb.sqlite: was of schema 1" in said
    assert not has_unsafe(said.replace("\n", ""))


def test_the_table_says_recipes_as_the_artist_does(cli):
    zine = palette_file.load("zine-two-inks")
    with Log(cli.log) as log:
        taken = new_choice(
            zine,
            (60.0, 80.0),
            project="ferrow",
            target_text="#a07888",
            target_lab=(55.0, 17.0, -5.0),
            lab=(55.0, 17.0, -5.0),
            srgb=(160, 120, 136),
            delta_e=0.0,
        )
        log.keep(zine, taken)
        log.keep(PALETTE, choice("gull"))
    said = cli("log")
    assert "coral: brick 60 %, harbour blue: depth 80 %" in said
    assert "yellow 100 %" in said
    assert cli.lines("log", "--json")[0]["recipe"] == "coral 60 %, harbour blue 80 %"
