"""What disagrees, the guide and planning what is ticked, through Textual's Pilot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from kept import PALETTE
from review import four_choices, here
from screens import play, press, rows, said, text, write
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.tui.screens.economy_screen import EconomyScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.screens.review_screen import ReviewScreen


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return four_choices(tmp_path / "log.sqlite")


# What disagrees.


def test_what_disagrees_is_marked_and_how_to_mend_it_said(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert [row[1] for row in rows(screen)[:6:2]] == ["!", " ", "!"]
        await press(pilot, "!")
        assert here(screen) == "Oda's coat"
        foot = text(screen, "#review-foot")
        assert "! Oda's coat is elsewhere yellow 25 %, magenta 75 %, cyan 100 %" in foot
        assert "→ x removes this one" in foot
        await press(pilot, "!")
        assert screen.choices.cursor == 0
        await press(pilot, "x")
        assert "conflict" not in text(screen, "#review-head")
        assert "!" not in text(screen, "#review-foot")
        await press(pilot, "!")
        assert said(screen) == "no conflicts"
        await press(pilot, "u")
        assert "1 conflict" in text(screen, "#review-head")

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_palette_that_has_changed_is_found_by_the_one_in_use(path: Path, tmp_path: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    mine = folder / "screen-quarters.toml"
    mine.write_text(PALETTE.text.replace("#ffe800", "#ffd800"))

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "3 recipes, 2 conflicts" in text(screen, "#review-head")
        assert "palette screen-quarters has changed" in text(screen, "#review-foot")

    play(ReviewScreen(path, "ferrow", palette_file.load(str(mine))), scene)


# The guide.


def test_the_guide_is_written_where_it_was_asked_for(path: Path, tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "G")
        assert said(screen).startswith("the guide of ferrow: a file to write, .html to print")
        assert screen.prompt.value == "ferrow.html"
        await press(pilot, "enter")
        assert said(screen) == f"{tmp_path / 'ferrow.html'}: 3 colours"
        await press(pilot, "A", "home", "G")
        assert screen.prompt.value == "second.html"
        await write(pilot, "second.json")
        assert said(screen) == f"{tmp_path / 'second.json'}: 1 colour"

    play(ReviewScreen(path, "ferrow"), scene)
    assert "brightest [b]thing" in (tmp_path / "ferrow.html").read_text()
    assert "hull" in json.dumps(json.loads((tmp_path / "second.json").read_text()))


# Ticking.


def ticked_lines(screen: ReviewScreen) -> list[str]:
    return [line for line in rows(screen) if " ✓ " in line]


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_what_is_ticked_is_seen_and_counted_and_stays_so_while_filtered(
    path: Path, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert not ticked_lines(screen)
        assert "ticked" not in text(screen, "#review-head")
        await press(pilot, "space", "down", "space")
        assert [" ✓  oda's coat " in line for line in ticked_lines(screen)] == [True, False]
        assert " ✓  lamp " in ticked_lines(screen)[1]
        assert {len(line) for line in rows(screen)} == {screen.choices.size.width}
        assert text(screen, "#review-head").endswith("3 recipes, 1 conflict, 2 ticked")
        assert "n plans" in said(screen)
        await press(pilot, "slash", *"lamp")
        assert text(screen, "#review-head").endswith("1 recipe, 2 ticked")
        assert len(ticked_lines(screen)) == 1
        await press(pilot, "escape", "s", "s")
        assert len(ticked_lines(screen)) == 2
        await press(pilot, "home", "space")
        assert len(ticked_lines(screen)) != 2
        await press(pilot, "0")
        assert not ticked_lines(screen)
        assert text(screen, "#review-head").endswith("1 conflict")
        assert said(screen) == ""

    play(ReviewScreen(path, "ferrow"), scene, size)


@pytest.mark.parametrize(
    ("key", "opened", "head"),
    [("n", PassesScreen, "#passes-head"), ("e", EconomyScreen, "#economy-head")],
)
def test_planning_just_what_is_ticked(
    path: Path, key: str, opened: type[PassesScreen] | type[EconomyScreen], head: str
) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, key)
        assert pilot.app.screen is screen
        assert said(screen).startswith("nothing is ticked yet")
        await press(pilot, "space", "down", "down", "space", key)
        planned = pilot.app.screen
        assert isinstance(planned, opened)
        assert "2 ticked" in text(planned, head)
        await press(pilot, "escape")
        assert pilot.app.screen is screen
        assert len(ticked_lines(screen)) == 2
        # Those of several projects are refused; those of another one alone are not.
        await press(pilot, "A", "home", "space", key)
        assert pilot.app.screen is screen
        assert said(screen) == "you ticked recipes of ferrow, second: plan one project at a time"
        await press(pilot, "0", "space", key)
        assert isinstance(pilot.app.screen, opened)
        assert "1 ticked" in text(pilot.app.screen, head)
        await press(pilot, "escape")

    play(ReviewScreen(path, "ferrow"), scene)


def test_what_the_economy_took_is_seen_at_once(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "space", "down", "space", "n", "e", "plus", "enter", "escape", "escape")
        assert pilot.app.screen is screen
        assert here(screen) == "lamp"
        assert screen.choices.choice is not None
        with Log(path) as log:
            now = log.choice(screen.choices.choice.id).recipe
        assert now != "yellow 100 %"
        assert now in rows(screen)[3]

    play(ReviewScreen(path, "ferrow"), scene)
