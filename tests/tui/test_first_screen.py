"""Started with nothing, the interface shows the chart: what its keys do, and when it goes."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import screens
from match_app import in_turn, paste
from screens import settled, write
from textual.pilot import Pilot

from tuimatch.palette import file as palette_file
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.match.state import MatchState
from tuimatch.tui.screens.reach_screen import ReachScreen

Scene = Callable[[Pilot[None], MatchState], Coroutine[Any, Any, None]]


def play(path: Path, scene: Scene, size: tuple[int, int] = (100, 30)) -> None:
    """Start with nothing, and play a scene when the inks are mixed."""

    async def whole() -> None:
        app = TuimatchApp(
            palette=palette_file.load("screen-quarters"),
            colour=None,
            project="ferrow",
            log_path=path,
        )
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            in_turn(pilot, app)
            assert isinstance(app.screen, ReachScreen)
            await scene(pilot, app.screen.state)

    asyncio.run(whole())


def test_enter_takes_from_the_chart_asks_for_a_label_and_r_marks_it(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], state: MatchState) -> None:
        chart = pilot.app.screen
        assert isinstance(chart, ReachScreen)
        await pilot.press("down", "right")
        row = chart.map.recipe
        await pilot.press("enter", *"lamp", "enter")
        assert isinstance(pilot.app.screen, MatchScreen)
        assert state.candidate is not None and state.candidate.row == row
        (choice,) = state.keeper.choices
        assert (choice.label, choice.delta_e) == ("lamp", 0)
        await pilot.press("r")
        await settled(pilot)
        again = pilot.app.screen
        assert isinstance(again, ReachScreen)
        assert again.map.recipe == row and again.map._target == again.map.cursor
        assert "lamp" in again.query_one("ChoicesStrip").render_line(0).text

    play(tmp_path / "log.sqlite", scene)


def test_a_colour_pasted_or_typed_is_matched_and_what_is_no_colour_is_said(tmp_path: Path) -> None:
    async def pasted(pilot: Pilot[None], state: MatchState) -> None:
        await paste(pilot, "no colour")
        assert isinstance(pilot.app.screen, ReachScreen)
        assert "no colour" in screens.text(pilot.app.screen, "#reach-said")
        await paste(pilot, "#d9803f")
        assert isinstance(pilot.app.screen, MatchScreen)
        assert state.wanted == "#d9803f"

    async def typed(pilot: Pilot[None], state: MatchState) -> None:
        await pilot.press("t", "escape", "t")
        await write(pilot, "not one")
        assert state.asked is not None and isinstance(pilot.app.screen, ReachScreen)
        await pilot.press("escape", "t")
        await write(pilot, "yellow 100")
        assert isinstance(pilot.app.screen, MatchScreen)
        assert state.wanted == "yellow 100"
        await pilot.press("enter")  # goes to the match, not to a question that was left open
        assert len(state.keeper.choices) == 1

    play(tmp_path / "log.sqlite", pasted)
    play(tmp_path / "log.sqlite", typed)


def test_doors_open_over_the_chart_and_close_to_it(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], state: MatchState) -> None:
        chart = pilot.app.screen
        assert isinstance(chart, ReachScreen)
        for key in ("v", "n", "e", "c", "p", "P", "question_mark"):
            await pilot.press(key)
            await settled(pilot)
            assert not isinstance(pilot.app.screen, ReachScreen | MatchScreen)
            await pilot.press("escape")
            await settled(pilot)
            assert pilot.app.screen is chart
        await pilot.press("g")
        await write(pilot, "9")
        assert state.page == "9"
        assert screens.text(chart, "#reach-head").endswith("ferrow (P) · page 9 (g)")
        await pilot.press("p")
        await settled(pilot)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert pilot.app.screen is chart
        assert state.palette.stem == "coated-tenths"
        assert "14,641 recipes" in screens.text(chart, "#reach-head")
        assert chart.map._chart.recipes is state.recipes

    play(tmp_path / "log.sqlite", scene)


def test_an_entry_of_the_review_or_a_hue_of_the_wheel_leads_to_the_match(tmp_path: Path) -> None:
    async def first(pilot: Pilot[None], state: MatchState) -> None:
        await pilot.press("c")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(pilot.app.screen, MatchScreen)
        await pilot.press("enter", *"lamp", "enter")

    async def later(pilot: Pilot[None], state: MatchState) -> None:
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(pilot.app.screen, MatchScreen)
        assert state.match is not None

    play(tmp_path / "log.sqlite", first)
    play(tmp_path / "log.sqlite", later)


def test_in_a_small_pane_its_keys_work(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], state: MatchState) -> None:
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(pilot.app.screen, ReachScreen)
        await pilot.press("t")
        assert state.asked is not None

    play(tmp_path / "log.sqlite", scene, size=(36, 24))
