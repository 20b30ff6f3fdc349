"""What the review shows and finds, through Textual's Pilot."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import match_app
import pytest
from kept import choice, fill, keep
from review import four_choices, here
from screens import OPEN, play, press, rows, said, settled, text, write
from textual.pilot import Pilot

from tuimatch.colour.colorimetry import displayed, lab_to_xyz
from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.help_screen import HelpScreen, keys_of
from tuimatch.tui.screens.review_keys import REVIEW_KEYS
from tuimatch.tui.screens.review_screen import ReviewScreen
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.seam import Seam


@pytest.fixture(autouse=True)
def _no_desktop(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return four_choices(tmp_path / "log.sqlite")


# What is shown.


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_each_choice_with_seam_and_everything_about_it(path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        lines = rows(screen)
        assert {len(line) for line in lines} == {screen.choices.size.width}
        assert lines[0].startswith("▸!") and lines[2].startswith("  ")
        with Log(path) as log:
            day = log.choices()[0].chosen_at[:10]
        for part in ("lamp", " 10 ", " 3.25 ", day):
            assert part in lines[2]
        assert "yellow 100 %" in lines[3] and "screen-quarters" in lines[3]
        assert "second" not in "".join(lines)
        head = text(screen, "#review-head")
        assert "ferrow · newest first" in head and "3 recipes, 1 conflict" in head
        for word, value in (("label", "lamp"), ("page", "10 ")):
            # The heading's line begins one cell further right than the list.
            assert text(screen, "#review-columns").index(word) + 1 == lines[2].index(value)

    assert play(ReviewScreen(path, "ferrow"), scene, size) == OPEN


@pytest.mark.parametrize("size", [(1, 1), (20, 8), (36, 12)])
def test_a_pane_that_is_made_small_ends_nothing(path: Path, size: tuple[int, int]) -> None:
    """A small pane is for the passes that are opened from here."""

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "space", "n")
        await pilot.resize_terminal(*size)
        await press(pilot, "escape")
        assert pilot.app.screen is screen
        if size[0] == 36:
            assert text(screen, "#review-columns").split() == ["seam", "label", "page", "ΔE"]
            assert " ✓  oda'" in rows(screen)[0]
            assert rows(screen)[0].endswith(" 1.00  ")

    play(ReviewScreen(path, "ferrow"), scene)


def test_the_seam_is_target_and_recipe_in_exact_colours(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        target = "#{:02x}{:02x}{:02x}".format(*displayed(lab_to_xyz((88, -1.5, 34))).srgb.tolist())
        upper = [s.style.bgcolor for s in screen.choices.render_line(2) if s.text == " " * 8]
        lower = [s.style.color for s in screen.choices.render_line(3) if s.text == "▀" * 8]
        for colours in (upper, lower):
            assert [c.get_truecolor().hex for c in colours if c] == [target, "#ffe800"]

    play(ReviewScreen(path, "ferrow"), scene)


def test_foreign_text_is_neither_markup_nor_cut_in_the_foot(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down")
        assert text(screen, "#review-foot").splitlines() == [
            "yellow 100 %  #ffe800  for #f3e3a1",
            "brightest [b]thing",
        ]

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_log_without_choices_says_so(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert text(screen, "#review-foot") == "no recipes"
        assert "0 recipes" in text(screen, "#review-head")
        await press(
            pilot, "enter", "T", "y", "l", "x", "!", "space", "0", "n", "e", "down", "end", "u"
        )
        assert said(screen) == "nothing to undo"
        await press(pilot, "U")
        assert said(screen) == "nothing to redo"

    assert play(ReviewScreen(tmp_path / "log.sqlite", "ferrow"), scene) == OPEN


# Finding.


def test_each_key_of_a_filter_narrows_the_list(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "slash")
        counts = []
        for key in ("o", "d", "a"):
            await press(pilot, key)
            counts.append(len(screen.choices))
        assert counts == [3, 2, 2]  # all have a yellow
        assert "“oda” in ferrow" in text(screen, "#review-head")
        await press(pilot, "enter", "down")
        assert here(screen) == "Oda's coat"
        assert not screen.has_class("-asking")
        await press(pilot, "slash", "space", "9", "9")
        assert text(screen, "#review-foot") == "no recipes with 'oda 99'"
        await press(pilot, "escape")
        assert len(screen.choices) == 3
        assert "“" not in text(screen, "#review-head")

    play(ReviewScreen(path, "ferrow"), scene)


def test_all_projects_and_back(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "A")
        assert "all projects" in text(screen, "#review-head")
        assert "4 recipes, 1 conflict" in text(screen, "#review-head")
        await press(pilot, "home")
        assert here(screen) == "hull"
        assert "second · screen-quarters" in rows(screen)[1]
        await press(pilot, "A")
        assert "3 recipes" in text(screen, "#review-head")
        assert "ferrow ·" not in "".join(rows(screen))

    play(ReviewScreen(path, "ferrow"), scene)


def test_keys_jump(path: Path) -> None:
    with Log(path) as log:
        keep(log, *(f"thing {n}" for n in range(40)))

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        async def to(key: str) -> str:
            await press(pilot, key)
            assert any(row.startswith("▸") and here(screen) in row for row in rows(screen))
            return here(screen)

        assert await to("end") == "Oda's coat"
        assert await to("home") == "thing 39"
        assert await to("pagedown") not in ("thing 39", "thing 38")
        assert await to("pageup") == "thing 39"
        assert [await to(key) for key in ("down", "j", "k", "up")] == [
            *("thing 38", "thing 37", "thing 38", "thing 39")
        ]

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_long_list_is_whole_and_only_what_is_in_view_is_fetched(path: Path) -> None:
    with Log(path) as log:
        fill(log, 1_000)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "1,003 recipes" in text(screen, "#review-head")
        await press(pilot, "end")
        assert here(screen) == "Oda's coat"
        assert screen.choices.cursor == 1_002
        await press(pilot, "up", "pageup", "home")
        assert len(screen.choices._choices) < 100
        await press(pilot, "s", "s", "s")
        await press(pilot, "end")
        assert screen.choices.cursor == 1_002
        assert screen.choices.choice is not None and screen.choices.choice.page == "47"
        await press(pilot, "l")
        await write(pilot, "something else")  # the cursor stays with what was edited
        assert here(screen) == "something else"
        await press(pilot, "s", "slash")
        await write(pilot, "lamp ledger")
        assert len(screen.choices) == 20
        await press(pilot, "x")
        assert len(screen.choices) == 19

    play(ReviewScreen(path, "ferrow"), scene)


# Using again.


def test_the_target_of_a_choice_is_wanted_again(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "enter")

    answer: Any = play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert answer == log.choices("ferrow")[1]


def test_a_second_click_makes_it_the_target(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await pilot.click(screen.choices, offset=(30, 3))
        assert here(screen) == "lamp"
        await pilot.click(screen.choices, offset=(30, 2))

    answer: Any = play(ReviewScreen(path, "ferrow"), scene)
    assert answer.label == "lamp"


def test_a_recipe_that_a_crafted_log_holds_is_never_copied(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE choice SET recipe = ?", ("yellow\nrm -r harbour\n",))

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "y")
        assert pilot.app.copied == ["yellow 100 %"]  # type: ignore[attr-defined]

    play(ReviewScreen(path, "ferrow"), scene)


def test_the_recipe_is_copied(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "y")
        assert pilot.app.copied == ["yellow 100 %"]  # type: ignore[attr-defined]
        assert said(screen) == "recipe sent to the terminal's clipboard"

    play(ReviewScreen(path, "ferrow"), scene)


# Keys.


def test_help_explains_every_key(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        said = {key.says for key in keys_of(screen)}
        assert {b.tooltip for b in REVIEW_KEYS} <= said  # type: ignore[union-attr]
        await press(pilot, "question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)
        await press(pilot, "escape")
        await settled(pilot)
        assert pilot.app.screen is screen

    play(ReviewScreen(path, "ferrow"), scene)


def test_the_list_has_most_of_a_small_pane(path: Path) -> None:
    """In the whole interface, whose style sheet hides what the match has no room for."""

    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        await press(pilot, "v")
        await pilot.resize_terminal(36, 12)
        await settled(pilot)
        screen = pilot.app.screen
        assert isinstance(screen, ReviewScreen)
        assert screen.choices.size.height >= 6
        assert "oda's coat" in rows(screen)[0]
        assert text(screen, "#review-foot").startswith("yellow ")

    match_app.play(path, scene)


# The mouse.


def test_a_heading_that_is_clicked_sorts(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        async def click(word: str) -> str:
            heading = screen.query_one("#review-columns", Lines)
            # The line begins one cell after the edge of its widget.
            at = heading.text.index(word) + 1
            await pilot.click("#review-columns", offset=(at, 0))
            await settled(pilot)
            return screen.state.order

        assert await click("label") == "label"
        assert "by label" in text(screen, "#review-head")
        assert [await click(word) for word in ("page", "ΔE", "when", "when", "recipe")] == [
            *("page", "delta_e", "newest", "oldest", "oldest")
        ]

    play(ReviewScreen(path, "ferrow"), scene)


@pytest.mark.parametrize("size", [(60, 24), (160, 45)])
def test_every_row_in_view_can_be_clicked(path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        for y, label in ((2, "lamp"), (4, "Oda's coat"), (1, "oda's coat")):
            await pilot.click(screen.choices, offset=(30, y))
            assert here(screen) == label

    play(ReviewScreen(path, "ferrow"), scene, size)


# The artist's own words, and what stands beside them.


def test_tints_are_in_the_words_of_their_palette(path: Path) -> None:
    zine = palette_file.load("zine-two-inks")
    own = next(ink for ink in zine.inks if ink.labels)
    tints = tuple(own.tints[0] if ink is own else 0.0 for ink in zine.inks)
    words = zine.recipe_words(tints)
    assert words != zine.recipe_text(tints)
    with Log(path) as log:
        kept = choice("print")
        named = {ink.name: tint for ink, tint in zip(zine.inks, tints, strict=True)}
        recipe = zine.recipe_text(tints)
        own_palette = {"palette": zine.stem, "palette_digest": zine.digest}
        log.keep(zine, replace(kept, recipe=recipe, tints=named, **own_palette))

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert words in rows(screen)[1]
        assert text(screen, "#review-foot").startswith(words)

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_wide_window_shows_what_was_wanted_and_the_note_beside_the_label(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        heading, lamp = text(screen, "#review-columns"), rows(screen)[2]
        for word, value in (("wanted", "#f3e3a1"), ("note", "brightest [b]")):
            assert heading.index(word) + 1 == lamp.index(value)
        assert rows(screen)[3].rstrip().endswith("screen-quarters")

    play(ReviewScreen(path, "ferrow"), scene, (100, 30))
    play(ReviewScreen(path, "ferrow"), scene, (160, 45))


def test_a_broad_window_shows_the_choice_under_the_cursor_large(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        seam = screen.query_one(Seam)
        for place in (0, 1):
            assert screen.choices.cursor == place
            small = [s for s in screen.choices.render_line(2 * place) if s.text == " " * 8]
            large = [s for s in seam.render_line(5) if s.text.strip(" ") == ""]
            grounds = [[s.style.bgcolor for s in half if s.style] for half in (large, small[:2])]
            assert grounds[0] == grounds[1] and len(set(grounds[0])) == 2
            await press(pilot, "down")
        await pilot.resize_terminal(100, 30)
        await settled(pilot)
        assert not seam.display

    play(ReviewScreen(path, "ferrow"), scene, (160, 45))


@pytest.mark.parametrize("height", range(10, 31, 5))
def test_no_entry_is_cut_at_the_end_of_the_list(path: Path, height: int) -> None:
    with Log(path) as log:
        fill(log, 40)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        lines = rows(screen)
        first, second = lines[::2], lines[1::2]
        assert all("%" in line for line in second if line.strip())
        assert len([line for line in first if line.strip()]) == len(lines) // 2
        await pilot.click(screen.choices, offset=(30, len(lines) // 2 * 2))
        assert screen.choices.cursor == 0  # below the last there is nothing
        await press(pilot, "end")
        assert rows(screen)[len(lines) // 2 * 2 - 2].startswith("▸")

    play(ReviewScreen(path, "ferrow"), scene, (100, height))


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30), (160, 45)])
def test_the_head_is_whole_and_names_the_project(path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "space")
        head = screen.query_one("#review-head", Lines).render_line(0).text
        assert "…" not in head and head.startswith("ferrow ") and "1 ticked" in head

    play(ReviewScreen(path, "ferrow"), scene, size)
