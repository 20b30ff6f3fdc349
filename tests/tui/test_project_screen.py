"""The projects through Textual's Pilot."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from kept import keep
from screens import OPEN, another_writes, play, press, rows, said, text, write
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.project_screen import ProjectScreen


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "log.sqlite"
    with Log(path) as log:
        keep(log, "lamp", "coat", project="ferrow")
        keep(log, "hull", project="Second [b]book")
        keep(log, "gull", project="sketches")
        log.projects.archive("sketches")
        log.projects.use("ferrow")
    return path


def names(path: Path, *, archived: bool = False) -> list[str]:
    with Log(path) as log:
        return [project.name for project in log.projects.all(archived=archived)]


def current(path: Path) -> str:
    with Log(path) as log:
        return log.projects.current()


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_each_project_with_its_choices_and_colours(path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        shown = rows(screen)
        assert {len(row) for row in shown} == {screen.listed.size.width}
        assert shown[0].startswith("▸ ferrow  in use") and "2 recipes" in shown[0]
        assert shown[3].startswith("  Second [b]book") and "1 recipe" in shown[3]
        assert "sketches" not in "".join(shown)
        assert text(screen, "#project-head") == "projects, 1 archived not shown: A"
        swatches = [
            segment.text
            for segment in screen.listed.render_line(1)
            if segment.style
            and segment.style.bgcolor
            and segment.style.bgcolor.get_truecolor().hex == "#ffe800"
        ]
        assert "".join(swatches) == " " * 6

    assert play(ProjectScreen(path, "ferrow"), scene, size) == OPEN


def test_enter_switches_and_is_remembered(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "down", "enter")

    assert play(ProjectScreen(path, "ferrow"), scene) == "Second [b]book"
    assert current(path) == "Second [b]book"


def test_a_click_points_and_a_second_one_switches(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await pilot.click(screen.listed, offset=(5, 4))
        assert pilot.app.screen is screen
        await pilot.click(screen.listed, offset=(5, 4))

    assert play(ProjectScreen(path, "ferrow"), scene) == "Second [b]book"


@pytest.mark.parametrize("key", ["escape"])
def test_leaving_changes_nothing(path: Path, key: str) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "down", key)

    assert play(ProjectScreen(path, "ferrow"), scene) is None
    assert current(path) == "ferrow"


def test_a_new_project_is_used_at_once(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "N")
        assert said(screen) == "the name of a new project"
        await write(pilot, "FERROW")
        assert said(screen) == "there is a project 'ferrow' already; choose another name"
        await press(pilot, "escape", "N")
        await write(pilot, "third book")

    assert play(ProjectScreen(path, "ferrow"), scene) == "third book"
    assert current(path) == "third book"


def test_a_name_that_is_refused_stays_to_be_mended(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "N")
        await write(pilot, "x" * 61)
        assert "has 61 characters; give at most 60" in said(screen)
        await press(pilot, "backspace", "enter")

    assert play(ProjectScreen(path, "ferrow"), scene) == "x" * 60


def test_renaming_the_one_in_use_answers_its_new_name(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "R")
        assert said(screen) == "another name for ferrow"
        assert screen.prompt.value == "ferrow"
        await write(pilot, "Nine Lamps")
        assert said(screen) == "ferrow is now Nine Lamps"
        assert rows(screen)[0].startswith("▸ Nine Lamps  in use")
        await press(pilot, "escape")

    assert play(ProjectScreen(path, "ferrow"), scene) == "Nine Lamps"
    assert names(path) == ["Nine Lamps", "Second [b]book"]


def test_renaming_another_answers_nothing(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "down", "R")
        await write(pilot, "Book two")
        assert rows(screen)[3].startswith("▸ Book two")
        await press(pilot, "escape")

    assert play(ProjectScreen(path, "ferrow"), scene) is None
    assert names(path) == ["ferrow", "Book two"]


def test_archiving_and_bringing_back(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "down", "x")
        assert said(screen).startswith("Second [b]book is archived; its recipes stay")
        assert "Second" not in "".join(rows(screen))
        assert names(path) == ["ferrow"]
        await press(pilot, "A")
        assert text(screen, "#project-head") == "projects, 2 archived among them"
        assert "archived 20" in rows(screen)[3]
        assert rows(screen)[0].startswith("▸ ferrow")
        await press(pilot, "down", "x")
        assert said(screen) == "Second [b]book is back in the list"
        await press(pilot, "A")
        assert rows(screen)[3].startswith("▸ Second [b]book")

    assert play(ProjectScreen(path, "ferrow"), scene) == OPEN
    assert names(path) == ["ferrow", "Second [b]book"]
    assert names(path, archived=True) == ["ferrow", "Second [b]book", "sketches"]


def test_help_lists_every_key(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)
        says = {key.says for key in pilot.app.screen._keys}
        assert {"Make a project and use it", "Give it another name", "Go back"} <= says
        await press(pilot, "escape")
        assert pilot.app.screen is screen

    play(ProjectScreen(path, "ferrow"), scene)


def test_a_log_without_projects_says_how_to_make_one(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        assert text(screen, "#project-head") == "no projects here: N makes one"
        await press(pilot, "enter", "R", "x")
        assert pilot.app.screen is screen
        await press(pilot, "N")
        await write(pilot, "ferrow")

    assert play(ProjectScreen(tmp_path / "log.sqlite", "unsorted"), scene) == "ferrow"


def test_a_locked_log_is_said_and_tried_again(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        with another_writes(path):
            for keys in (["x"], ["enter"]):
                await press(pilot, *keys)
                assert "another program is writing to it" in said(screen)
            await press(pilot, "N")
            await write(pilot, "third")
            assert "another program is writing to it" in said(screen)
            assert pilot.app.screen is screen
        await press(pilot, "enter")

    assert play(ProjectScreen(path, "ferrow"), scene) == "third"


def test_what_is_no_log_is_said(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Oda, " * 200)

    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        assert "letter.txt: the log cannot be opened" in said(screen)
        await press(pilot, "enter", "x", "A", "N")
        await write(pilot, "third")
        assert "letter.txt: the log cannot be opened" in said(screen)
        await press(pilot, "escape", "escape")

    answer: Any = play(ProjectScreen(letter, "ferrow"), scene)
    assert answer is None
    assert letter.read_text() == "Dear Oda, " * 200


def test_a_renaming_is_undone_and_done_again(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    with Log(path) as log:
        keep(log, "lamp")
        log.projects.rename("ferrow", "Nine Lamps")

    async def scene(pilot: Pilot[None], screen: ProjectScreen) -> None:
        await press(pilot, "u")
        assert said(screen) == "undone: renamed project ferrow to Nine Lamps"
        assert "▸ ferrow" in "".join(rows(screen))
        await press(pilot, "U")
        assert "▸ Nine Lamps" in "".join(rows(screen))
        await press(pilot, "u", "escape")

    assert play(ProjectScreen(path, "Nine Lamps"), scene) == "ferrow"
