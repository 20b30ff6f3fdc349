"""The screen of tints worth making and of those used least."""

from __future__ import annotations

from pathlib import Path

import comic
import pytest
from screens import play, settled
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.tui.screens.tints_screen import TintsList, TintsScreen
from tuimatch.tui.widgets.lines import Lines


@pytest.fixture(scope="module")
def log_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tints") / "log.sqlite"
    with Log(path) as log:
        comic.make(log)
    return path


def head(screen: TintsScreen) -> str:
    return screen.query_one("#tints-head", Lines).text


def line(screen: TintsScreen, y: int) -> str:
    return screen.query_one(TintsList).render_line(y).text.rstrip()


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_the_best_tint_stands_first_with_the_areas_it_helps(
    log_path: Path, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: TintsScreen) -> None:
        assert head(screen).startswith("ferrow, page 9\n22 areas, total ΔE ")
        assert line(screen, 0).startswith("▸ magenta 1")
        assert ": worth making, total ΔE " in line(screen, 0)
        assert " → " in line(screen, 1)
        await pilot.press("end")
        shown = [line(screen, y) for y in range(screen.query_one(TintsList).size.height)]
        assert any(text.startswith("▸ ") and "giving it up costs ΔE" in text for text in shown)

    play(TintsScreen(log_path, comic.PROJECT, "9"), scene, size)


def test_another_page_is_asked_for_by_its_key(log_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: TintsScreen) -> None:
        assert head(screen).startswith("ferrow, all pages\n")
        assert "(newsprint-quarters)" in line(screen, 0)  # areas are of several palettes
        await pilot.press("g")
        await settled(pilot)
        assert head(screen).startswith("ferrow, page cover\n")
        assert "(" not in line(screen, 0)
        await pilot.press("escape")

    assert play(TintsScreen(log_path, comic.PROJECT), scene) is None


def test_a_project_without_areas_says_what_to_do(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: TintsScreen) -> None:
        assert head(screen) == "empty, all pages\nno areas yet: take a recipe first"
        await pilot.press("down", "g")

    with Log(tmp_path / "log.sqlite") as log:
        log.projects.create("empty")
    play(TintsScreen(tmp_path / "log.sqlite", "empty"), scene)
