"""Changing choices in the review, and what goes wrong, through Textual's Pilot."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from kept import fill
from review import all_of, four_choices, here, in_log
from screens import OPEN, another_writes, play, press, rows, said, text, write
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.tui.screens.review_screen import ReviewScreen


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return four_choices(tmp_path / "log.sqlite")


# Changing.


@pytest.mark.parametrize(("key", "what", "old"), [("l", "label", "lamp"), ("p", "page", "10")])
def test_label_and_page_are_changed(path: Path, key: str, what: str, old: str) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", key)
        assert said(screen) == f"the {what} of lamp"
        assert screen.prompt.value == old
        await write(pilot, "new 7")
        assert said(screen) == f"the {what} of yellow 100 % is changed"
        assert "new 7" in rows(screen)[2]
        assert screen.choices.cursor == 1

    play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert getattr(log.choices("ferrow")[1], what) == "new 7"


def test_a_note_is_changed_and_taken_away(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "n")
        await write(pilot, "dim\x1b[2J")
        assert "dim\\x1b[2J" in text(screen, "#review-foot")
        await press(pilot, "n", "backspace", "enter")
        assert "dim" not in text(screen, "#review-foot")

    play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert log.choices("ferrow")[1].note == ""


def test_an_edit_can_be_left_or_refused(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "l", "z", "escape")
        assert said(screen) == ""
        await press(pilot, "l")
        await write(pilot, "x" * 61)
        assert "the label has 61 characters; give at most 60" in said(screen)
        assert screen.has_class("-asking")
        await press(pilot, "escape")

    before = in_log(path)
    play(ReviewScreen(path, "ferrow"), scene)
    assert in_log(path) == before


@pytest.mark.parametrize("key", ["x", "delete"])
def test_removing_is_undone_and_done_again_after_a_restart(path: Path, key: str) -> None:
    async def remove(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", key)
        assert said(screen) == "removed lamp; u undoes it"
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    async def undo(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "u")
        assert said(screen) == "undone: removed yellow 100 % for lamp"
        assert all_of(screen) == ["oda's coat", "lamp", "Oda's coat"]

    async def redo(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "r")
        assert said(screen) == "done again: removed yellow 100 % for lamp"
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    for scene in (remove, undo, redo):
        play(ReviewScreen(path, "ferrow"), scene)
    assert in_log(path) == ["Oda's coat", "oda's coat"]
    assert in_log(path, "second") == ["hull"]


def test_removing_the_last_ones_leaves_the_cursor_in_the_list(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "end", "x")
        assert here(screen) == "lamp"
        await press(pilot, "x", "x", "x")
        assert len(screen.choices) == 0
        assert said(screen) == "removed oda's coat; u undoes it"

    play(ReviewScreen(path, "ferrow"), scene)


def test_undoing_in_one_project_leaves_the_others(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        for _ in range(4):
            await press(pilot, "u")
        assert said(screen) == "nothing to undo"
        await press(pilot, "a", "u")
        assert said(screen) == "undone: took yellow 100 % for hull"

    play(ReviewScreen(path, "ferrow"), scene)


def test_undoing_a_renaming_follows_the_project(path: Path) -> None:
    with Log(path) as log:
        log.projects.rename("ferrow", "Nine Lamps")

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "u")
        assert said(screen) == "undone: renamed project ferrow to Nine Lamps"
        assert screen.project == "ferrow"
        assert "ferrow · newest first" in text(screen, "#review-head")
        assert len(screen.choices) == 3

    play(ReviewScreen(path, "Nine Lamps"), scene)


def test_what_another_program_removed_is_said(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down")
        with Log(path) as log:
            log.remove(log.choices("ferrow")[1].id)
        await press(pilot, "x")
        assert "no choice 2" in said(screen)
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    play(ReviewScreen(path, "ferrow"), scene)


# What goes wrong.


def test_a_locked_log_is_said_and_tried_again(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        with another_writes(path):
            for key in ("x", "u", "r"):
                await press(pilot, key)
                assert "another program is writing to it" in said(screen)
            await press(pilot, "l")
            await write(pilot, "new")
            assert "another program is writing to it" in said(screen)
            assert screen.prompt.value == "new"
            assert len(screen.choices) == 3  # reading goes on
        await press(pilot, "enter")
        assert said(screen).endswith("is changed")

    assert play(ReviewScreen(path, "ferrow"), scene) == OPEN
    assert in_log(path) == ["Oda's coat", "lamp", "new"]


def test_what_is_no_log_is_said_with_each_key(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Oda, " * 200)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "letter.txt: the log cannot be opened" in said(screen)
        assert "choices" not in text(screen, "#review-head") + text(screen, "#review-foot")
        keys = ("s", "a", "m", "x", "u", "r", "y", "l", "enter", "t", "slash", "z", "enter", "g")
        for key in keys:
            await press(pilot, key)
            assert pilot.app.screen is screen
        await press(pilot, "enter", "escape", "u")
        assert "letter.txt: the log cannot be opened" in said(screen)

    play(ReviewScreen(letter, "ferrow"), scene)
    assert letter.read_text() == "Dear Oda, " * 200


def test_a_damaged_log_is_recovered_and_both_files_named(path: Path) -> None:
    with Log(path) as log:
        fill(log, 400)
    with closing(sqlite3.connect(path)) as db:
        ((page,),) = db.execute(
            "SELECT pageno FROM dbstat WHERE name = 'choice' AND pagetype = 'leaf'"
            " ORDER BY pageno DESC LIMIT 1"
        )
    with path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\xa5" * 4096)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        notice = text(screen, ".log-notice")
        assert f"{path}: was damaged; it is kept as {path.parent / 'log-damaged'}" in notice
        assert "choices were recovered into a new log" in notice
        await press(pilot, "s")
        assert text(screen, ".log-notice") == notice
        assert screen.query_one(".log-notice").display
        assert 380 < len(screen.choices) < 403

    play(ReviewScreen(path, "ferrow"), scene)
