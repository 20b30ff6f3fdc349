"""Which project and which log a command means."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from comic_log import contents, put_comic
from command import Cli
from kept import keep

from tuimatch.log import Log

PLANNED = [
    ("passes",),
    ("economy",),
    ("log", "check"),
    ("guide", "--out", "sheet.html", "--replace"),
]
JSON = [("passes", "--json"), ("economy", "--json"), ("log", "check", "--json")]


@pytest.fixture
def cli(tmp_path: Path) -> Cli:
    made = Cli(tmp_path)
    put_comic(made.log)
    with Log(made.log) as log:
        keep(log, "hull", project="second")
    return made


@pytest.mark.parametrize("command", PLANNED)
def test_without_a_project_the_one_in_use_is_meant_and_said(cli, command):
    for name in ("ferrow", "second"):
        with Log(cli.log) as log:
            log.projects.use(name)
        given = cli(*command, "--project", name)
        assert cli(*command) == f"project '{name}', the one in use\n{given}"


@pytest.mark.parametrize("command", JSON)
def test_json_is_not_headed(cli, command):
    with Log(cli.log) as log:
        log.projects.use("ferrow")
    assert cli.lines(*command) == cli.lines(*command, "--project", "ferrow")


def test_an_export_names_the_project_in_its_line(cli):
    with Log(cli.log) as log:
        log.projects.use("second")
    assert cli("log", "export", "--out", "x.json") == "x.json: 1 recipe of project 'second'\n"


@pytest.mark.parametrize("command", [*PLANNED, ("log", "export", "--out", "x.json")])
def test_with_none_in_use_the_projects_are_named(cli, command):
    cli("projects", "archive", "second")
    assert "no project is in use; give --project NAME; there are ferrow" in cli.refuses(*command)
    cli.log.unlink()
    assert "there is no log yet" in cli.refuses(*command)


@pytest.mark.parametrize(
    "command",
    [
        ("economy", "--project", "ferrow", "--extra", "5", "--page", "1", "--take"),
        ("log", "remove", "3"),
        ("projects", "rename", "ferrow", "harbour"),
        ("projects", "archive", "ferrow"),
    ],
)
def test_the_way_back_is_on_the_log_that_was_given(cli, tmp_path, command):
    """Without it the last change of the usual log would be undone instead."""
    other = tmp_path / "it's another.sqlite"
    put_comic(other)
    cli("log", "remove", "1")
    usual, before = contents(cli.log), contents(other)
    with Log(other) as log:
        projects = log.projects.all()
    said = cli(*command, "--log", str(other))
    way = re.search("`tuimatch (.*)`", said)
    assert way
    cli(*shlex.split(way[1]))
    assert contents(other) == before
    with Log(other) as log:
        assert [(p.name, p.archived_at) for p in log.projects.all()] == [
            (p.name, p.archived_at) for p in projects
        ]
    assert contents(cli.log) == usual
