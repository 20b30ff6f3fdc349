"""Laying a recipe on a screen: ticking off, what is seen, small panes, and a restart."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from screens import play
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.recipe.laying import Laying, start
from tuimatch.recipe.recipes import mix
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.laying_screen import LayingScreen

RECIPES = mix(palette_file.load("newsprint-quarters"))
ZINE = mix(palette_file.load("zine-two-inks"))


def _screen(kept: list[Laying], tints: tuple[float, ...] = (100, 75, 25)) -> LayingScreen:
    recipes = RECIPES if len(tints) == 3 else ZINE
    row = recipes.row_of(tints)
    assert row is not None

    def keep(laying: Laying) -> str:
        kept.append(laying)
        return ""

    canvas = recipes.canvas_rgb(recipes.tints_of(0))
    return LayingScreen("Oda's coat", recipes.rgb_of(0), start(recipes, row), keep, canvas)


def _text(screen: LayingScreen) -> list[str]:
    picture = screen.picture
    return [picture.render_line(y).text for y in range(picture.size.height)]


def _grounds(screen: LayingScreen, y: int) -> list[tuple[int, int, int]]:
    found = []
    for segment in screen.picture.render_line(y):
        colour = segment.style and segment.style.bgcolor
        if colour and colour.triplet:
            found.append(tuple(colour.triplet))
    return found


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30)])
def test_ticking_shows_the_next_ink_and_what_should_be_seen(size: tuple[int, int]) -> None:
    kept: list[Laying] = []

    async def scene(pilot: Pilot[None], screen: LayingScreen) -> None:
        laying = screen.picture.laying
        for n, step in enumerate(laying.steps):
            text = _text(screen)
            assert f"{n} of 3 laid" in text[0]
            (marked,) = [line for line in text if line.startswith(" ▸")]
            assert f"{step.name} {step.tint:g} %" in marked
            before = laying.steps[n - 1].srgb if n else RECIPES.rgb_of(0)
            canvas = laying.steps[n - 1].canvas if n else (255, 255, 255)
            # The canvas now and the print, the canvas to come and its print.
            assert list(dict.fromkeys(_grounds(screen, 1))) == list(
                dict.fromkeys([canvas, before, step.canvas, step.srgb])
            )
            (captions,) = [line for line in text if line.startswith(" now")]
            both = ["now print then print"]
            if size[0] > 36:
                both = [
                    f"now, on screen {short} then, on screen {short}"
                    for short in ("print", "in print")
                ]
            assert " ".join(captions.split()) in both
            await pilot.press("space")
        assert "done" in _text(screen)[0]
        assert _grounds(screen, 1) == [laying.steps[-1].canvas, laying.steps[-1].srgb]
        await pilot.press("backspace")
        assert "2 of 3 laid" in _text(screen)[0]
        await pilot.press("space", "u", "space", "space", "0", "question_mark", "escape", "escape")

    assert play(_screen(kept), scene, size) is None
    assert [laying.laid for laying in kept] == [1, 2, 3, 2, 3, 2, 3, 0]


def test_labels_of_the_artist_are_shown() -> None:
    async def scene(pilot: Pilot[None], screen: LayingScreen) -> None:
        text = "\n".join(_text(screen))
        assert "coral: brick 60 %" in text
        assert "harbour blue: haze 20 %" in text
        assert "print" not in text  # a screen palette is the canvas itself
        await pilot.press("escape")

    play(_screen([], (60, 20)), scene, (36, 12))


def test_what_is_laid_survives_a_restart(tmp_path: Path) -> None:
    log_path = tmp_path / "log.sqlite"

    async def session(*keys: str) -> str:
        app = TuimatchApp(
            palette=palette_file.load("newsprint-quarters"),
            colour="#9a4a45",
            project="ferrow",
            log_path=log_path,
        )
        async with app.run_test(size=(60, 24)) as pilot:
            for _ in range(50):
                await pilot.pause(0.05)
                await pilot.app.workers.wait_for_complete()
                if isinstance(app.screen, MatchScreen) and app.screen.state.match is not None:
                    break
            await pilot.press("b", *keys)
            await pilot.pause()
            screen = app.screen
            assert isinstance(screen, LayingScreen)
            return _text(screen)[0]

    assert "0 of 3 laid" in asyncio.run(session())
    assert "2 of 3 laid" in asyncio.run(session("space", "space"))
    assert "2 of 3 laid" in asyncio.run(session())
    assert "1 of 3 laid" in asyncio.run(session("backspace"))
    with Log(log_path) as log:
        (choice,) = log.choices("ferrow")  # kept once, when laying began
        first = next((ink, tint) for ink, tint in choice.tints.items() if tint)
        assert {(t.ink, t.tint) for t in log.ticks.of("laying", [choice.id])} == {first}
