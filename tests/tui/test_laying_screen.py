"""Laying a recipe on a screen: ticking off, what is seen, small panes, and a restart."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from kept import choice
from screens import play, press, said
from textual.pilot import Pilot
from textual.widgets import Static

from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.recipe.dots import Press
from tuimatch.recipe.recipes import mix
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.being_laid import BeingLaid
from tuimatch.tui.match.pending_choices import Keeper
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.laying_screen import LayingScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.widgets.lines import Lines

RECIPES = mix(palette_file.load("newsprint-quarters"))
ZINE = mix(palette_file.load("zine-two-inks"))


@pytest.fixture
def keeper(tmp_path: Path) -> Iterator[Keeper]:
    keeper = Keeper(tmp_path / "log.sqlite", "ferrow")
    keeper.open()
    yield keeper
    keeper.close()


def _screen(keeper: Keeper, tints: tuple[float, ...] = (100, 75, 25)) -> LayingScreen:
    recipes = RECIPES if len(tints) == 3 else ZINE
    named = {ink.name: t for ink, t in zip(recipes.palette.inks, tints, strict=True)}
    recipe = recipes.palette.recipe_text(tints)
    new = replace(choice("Oda's coat"), recipe=recipe, tints=named)
    new = replace(new, palette_digest=recipes.palette.digest)
    kept = keeper.keep(recipes.palette, new)
    row = recipes.row_of(tints)
    assert row is not None
    return LayingScreen(kept.name, BeingLaid(keeper, recipes, row, lambda: keeper.still(kept)))


def _text(screen: LayingScreen) -> list[str]:
    picture = screen.picture
    return [picture.render_line(y).text for y in range(picture.size.height)]


def _said(screen: LayingScreen) -> str:
    return str(screen.query_one("#laying-said", Static).render())


def _grounds(screen: LayingScreen, y: int) -> list[tuple[int, int, int]]:
    found = []
    for segment in screen.picture.render_line(y):
        colour = segment.style and segment.style.bgcolor
        if colour and colour.triplet:
            found.append(tuple(colour.triplet))
    return found


@pytest.mark.parametrize(("tints", "width"), [((100, 75, 25), 100), ((40, 60), 60)])
def test_the_dots_of_the_tint_to_lay_are_shown_large(
    keeper: Keeper, tints: tuple[float, ...], width: int
) -> None:
    recipes = RECIPES if len(tints) == 3 else ZINE

    async def scene(pilot: Pilot[None], screen: LayingScreen) -> None:
        for place, tint in enumerate(tints):
            step, found = screen.picture.laying.next, []
            assert step is not None and step.tint == tint
            (last,) = [y for y, line in enumerate(_text(screen)) if line.startswith(" now")]
            for y in range(1, last):
                across = 0
                for segment in screen.picture.render_line(y):
                    across += len(segment.text)
                    if across > width - width // 4 and segment.style and segment.style.bgcolor:
                        up = segment.style.color if "▀" in segment.text else segment.style.bgcolor
                        for colour in (up, segment.style.bgcolor):
                            assert colour is not None
                            found += [colour.get_truecolor().hex] * len(segment.text)
            if tint == 100:
                assert not any("▀" in line for line in _text(screen)[1:last])  # a solid has none
            else:
                alone = recipes.row_of(tuple(t if i == place else 0 for i, t in enumerate(tints)))
                assert alone is not None
                share = Press(recipes).areas(alone)[place]
                (_, paper), (_, ink) = Counter(found).most_common()
                covered = (min if share < 0.5 else max)(paper, ink) / len(found)
                assert covered == pytest.approx(share, abs=0.005)
            await pilot.press("space")

    play(_screen(keeper, tints), scene, (width, 30))


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30)])
def test_ticking_shows_the_next_ink_and_what_should_be_seen(
    size: tuple[int, int], keeper: Keeper
) -> None:
    counted: list[int] = []

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
            colours = list(dict.fromkeys([canvas, before, step.canvas, step.srgb]))
            assert list(dict.fromkeys(_grounds(screen, 1)))[: len(colours)] == colours
            (captions,) = [line for line in text if line.startswith(" now")]
            both = ["now print then print"]
            if size[0] > 36:
                both = [
                    f"now, on screen {short} then, on screen {short}"
                    for short in ("print", "in print")
                ]
            assert " ".join(captions.replace(" its dots", "").split()) in both
            assert ("its dots" in captions) == (size[0] == 100 and step.tint < 100)
            await pilot.press("space")
        assert "done" in _text(screen)[0]
        assert _grounds(screen, 1) == [laying.steps[-1].canvas, laying.steps[-1].srgb]
        await pilot.press("space")
        assert _said(screen) == "every ink is laid"
        await pilot.press("backspace")
        assert "2 of 3 laid" in _text(screen)[0]
        assert _said(screen) == "undone: ticked cyan 25 % for Oda's coat"
        for key in ("space", "u", "ctrl+r", "U", "0", "u", "0"):
            await pilot.press(key)
            counted.append(len(screen.picture.laying.laid))
        await pilot.press("question_mark", "escape", "escape")

    assert play(_screen(keeper), scene, size) is None
    assert counted == [3, 2, 3, 3, 0, 3, 0]


def test_an_ink_ticked_in_the_passes_is_laid_and_one_u_takes_it_back_here(keeper: Keeper) -> None:
    """The worst that a trial found: what was laid in one of the two was not in the other."""

    async def passes(pilot: Pilot[None], screen: PassesScreen) -> None:
        await press(pilot, "down", "down", "space")  # magenta, whole
        assert "1 of 3 laid" in screen.query_one("#passes-head", Lines).text

    async def laying(pilot: Pilot[None], screen: LayingScreen) -> None:
        assert "1 of 3 laid" in _text(screen)[0]
        assert ["✓" in line for line in _text(screen)[-3:]] == [False, True, False]
        seen = RECIPES.rgb_of(RECIPES.row_of((0, 75, 0)) or 0)
        assert seen in _grounds(screen, 1)
        await press(pilot, "space")  # yellow
        assert "2 of 3 laid" in _text(screen)[0]

    async def again(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "2 of 3 laid" in screen.query_one("#passes-head", Lines).text
        await press(pilot, "u")
        assert said(screen) == "undone: ticked yellow 100 % for Oda's coat"
        assert "1 of 3 laid" in screen.query_one("#passes-head", Lines).text

    async def back(pilot: Pilot[None], screen: LayingScreen) -> None:
        await press(pilot, "u")
        assert _said(screen) == "undone: ticked magenta 75 %"
        assert "0 of 3 laid" in _text(screen)[0]

    _screen(keeper)  # keeps the choice
    play(PassesScreen(keeper.path, "ferrow"), passes)
    (kept,) = keeper.choices
    row = RECIPES.row_of((100, 75, 25))
    assert row is not None

    def screen() -> LayingScreen:
        return LayingScreen("coat", BeingLaid(keeper, RECIPES, row, lambda: keeper.still(kept)))

    play(screen(), laying)
    play(PassesScreen(keeper.path, "ferrow"), again)
    play(screen(), back)


def test_labels_of_the_artist_are_shown(keeper: Keeper) -> None:
    async def scene(pilot: Pilot[None], screen: LayingScreen) -> None:
        text = "\n".join(_text(screen))
        assert "coral: brick 60 %" in text
        assert "harbour blue: haze 20 %" in text
        assert "print" not in text  # a screen palette is the canvas itself
        await pilot.press("escape")

    play(_screen(keeper, (60, 20)), scene, (36, 12))


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
        assert {(t.ink, t.tint) for t in log.ticks.of([choice.id])} == {first}
