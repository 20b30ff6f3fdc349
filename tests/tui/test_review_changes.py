"""Changing choices in the review, and what goes wrong, through Textual's Pilot."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from kept import fill, keep
from review import all_of, four_choices, here, in_log
from screens import play, press, rows, said, text, write
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.tui.screens.review_screen import ReviewScreen


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return four_choices(tmp_path / "log.sqlite")


# Changing.


def test_label_page_and_note_are_changed(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down")
        for key, what, old in (("l", "label", "lamp"), ("g", "page", "10")):
            await press(pilot, key)
            assert said(screen) == f"the {what} of {'lamp' if key == 'l' else 'new 7'}"
            assert screen.prompt.value == old
            await write(pilot, "new 7")
            changed = "lamp is called new 7 now" if key == "l" else "the page of new 7 is changed"
            assert said(screen) == changed
            assert "new 7" in rows(screen)[2]
            assert screen.choices.cursor == 1
        await press(pilot, "quotation_mark")
        await write(pilot, "dim\x1b[2J")
        assert "dim\\x1b[2J" in text(screen, "#review-foot")

    play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert (log.choices("ferrow")[1].label, log.choices("ferrow")[1].page) == ("new 7",) * 2


def test_the_cursor_stays_with_its_entry(path: Path) -> None:
    """After a find, an edit and Esc, x removes what was edited and is seen."""

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "slash")
        await write(pilot, "lamp")
        await press(pilot, "l")
        await write(pilot, "lantern")
        await press(pilot, "escape")
        assert here(screen) == "lantern" and "▸" in rows(screen)[2]
        await press(pilot, "s", "s")
        assert here(screen) == "lantern"
        await press(pilot, "x")
        assert said(screen) == "removed lantern; u undoes it"
        await press(pilot, "u")
        assert here(screen) == "lantern"

    play(ReviewScreen(path, "ferrow"), scene)


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
        await press(pilot, "U")
        assert said(screen) == "redone: removed yellow 100 % for lamp"
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    for scene in (remove, undo, redo):
        play(ReviewScreen(path, "ferrow"), scene)
    assert in_log(path) == ["Oda's coat", "oda's coat"]
    assert in_log(path, "second") == ["hull"]


# What goes wrong.


def test_what_is_no_log_is_said_with_each_key(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Oda, " * 200)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "letter.txt: the log cannot be opened" in said(screen)
        assert "recipes" not in text(screen, "#review-head") + text(screen, "#review-foot")
        keys = ("s", "A", "!", "x", "u", "U", "y", "l", "enter", "T", "slash", "z", "enter", "G")
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
        assert "recipes were recovered into a new log" in notice
        await press(pilot, "s")
        assert text(screen, ".log-notice") == notice
        assert screen.query_one(".log-notice").display
        assert 380 < len(screen.choices) < 403

    play(ReviewScreen(path, "ferrow"), scene)


def test_what_another_window_does_is_seen_without_a_key(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down")
        place = here(screen)
        with Log(path) as other:
            keep(other, "ledger")
        while "ledger" not in "".join(rows(screen)):
            await pilot.pause(0.1)
        assert here(screen) == place

    play(ReviewScreen(path, "ferrow"), scene)
