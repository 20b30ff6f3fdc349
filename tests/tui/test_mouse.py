"""What can be walked to can be clicked: a click shows what the keys show that go to the same place.

Each screen is brought to a place once by its keys and once by the mouse, and all that is written on
it is compared.
Tested where the screens are: a second click that takes (match, chart, review, palettes, projects,
wheel, picking), the flats drawn on the page and listed beside it, the rows of the plan's picture,
the review's headings, and places where nothing is (chart, palettes, picking, review).
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from typing import Any

import comic_page
import numpy as np
import pytest
import screens
from comic_log import put_comic
from kept import NEWSPRINT, PALETTE
from match_app import Play
from PIL import Image
from screens import press, settled, write
from textual.app import App
from textual.pilot import Pilot
from textual.screen import Screen

from tuimatch.log import Log
from tuimatch.match.limits import start
from tuimatch.picture import picture
from tuimatch.recipe.recipes import mix
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.apart_screen import ApartScreen
from tuimatch.tui.screens.draw_screen import DrawScreen
from tuimatch.tui.screens.draw_state import LINES
from tuimatch.tui.screens.economy_screen import EconomyScreen
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.laying_screen import LayingScreen
from tuimatch.tui.screens.page_screen import PageScreen
from tuimatch.tui.screens.page_state import Asked, opened
from tuimatch.tui.screens.palette_screen import PaletteScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.screens.pick_screen import PickScreen
from tuimatch.tui.screens.project_screen import ProjectScreen
from tuimatch.tui.screens.reach_screen import ReachScreen
from tuimatch.tui.screens.rematch_screen import RematchScreen
from tuimatch.tui.screens.review_screen import ReviewScreen
from tuimatch.tui.screens.tints_screen import TintsScreen
from tuimatch.tui.screens.wheel_screen import WheelScreen
from tuimatch.tui.widgets.block_list import BlockList
from tuimatch.tui.widgets.flat_lists import FlatList
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.prompt import Prompt

ROW = 3  # the place in a list that is walked to and clicked
RECIPES = mix(NEWSPRINT)


@pytest.fixture(autouse=True)
def _no_tooltip(monkeypatch: pytest.MonkeyPatch) -> None:
    """What hangs at the pointer is not part of what is compared."""
    monkeypatch.setattr(App, "TOOLTIP_DELAY", 1e6)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    put_comic(tmp_path / "log.sqlite")
    return tmp_path / "log.sqlite"


@pytest.fixture
def page(tmp_path: Path) -> Path:
    comic_page.draw(200, line=6, smooth=False).save(tmp_path / "page.png")
    return tmp_path / "page.png"


def seen(pilot: Pilot[None]) -> list[str]:
    """All that is written on the screen, the marks of the cursor with it."""
    return [strip.text for strip in pilot.app.screen._compositor.render_strips()]


async def click(pilot: Pilot[None], on: Any, x: int, y: int) -> None:
    assert await pilot.click(on, offset=(x, y))
    await settled(pilot)


async def click_foot(pilot: Pilot[None], name: str) -> None:
    """Click the word of a key at the foot."""
    foot = pilot.app.screen.query_one(Foot)
    await click(pilot, foot, foot.render_line(0).text.index(f" {name}") + 1, 0)


async def same(
    pilot: Pilot[None], keys: list[str], back: list[str], clicked: Callable[[], Awaitable[None]]
) -> None:
    """The click does what the keys do; `back` takes back what they did."""
    before = seen(pilot)
    await press(pilot, *keys)
    wanted = seen(pilot)
    assert wanted != before
    await press(pilot, *back)
    assert seen(pilot) == before
    await clicked()
    assert seen(pilot) == wanted


async def rows_and_help(pilot: Pilot[None], screen: Screen[Any]) -> None:
    """A row of the list, and the key for help at the foot of a screen and back out of it."""
    listed = screen.query_one(BlockList)
    place = min(ROW, listed._in_view - 1)
    y = listed.HEAD + place * listed.HIGH
    seen_of_it = listed.HIGH - listed.GAP
    for line in {y, y + seen_of_it - 1} if place else ():  # the first of its lines and the last
        clicked = partial(click, pilot, listed, 20, line)
        await press(pilot, "home")
        await same(pilot, ["down"] * place, ["home"], clicked)
    # Scrolled to the end, what is in view first is what is pointed at.
    await press(pilot, "end")
    if (first := listed._first) < listed.cursor:
        await press(pilot, "end")
        clicked = partial(click, pilot, listed, 20, listed.HEAD)
        await same(pilot, ["up"] * (listed.cursor - first), ["end"], clicked)
        assert listed.cursor == first
    await help_is_clicked(pilot)


async def help_is_clicked(pilot: Pilot[None]) -> None:
    """Help is opened and closed by the keys at the foot."""
    before = seen(pilot)
    await press(pilot, "question_mark")
    wanted = seen(pilot)
    assert isinstance(pilot.app.screen, HelpScreen)
    await press(pilot, "escape")
    await click_foot(pilot, "Help")
    assert seen(pilot) == wanted
    await press(pilot, "question_mark")
    more = seen(pilot)
    await press(pilot, "escape", "question_mark")
    await click_foot(pilot, "All words")
    assert seen(pilot) == more
    await click_foot(pilot, "Close")
    assert seen(pilot) == before


# Lists.


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (160, 45)])
def test_match(play: Play, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await rows_and_help(pilot, screen)

    play(scene, size=size)


LISTS = ["review", "passes", "economy", "rematch", "palettes", "projects", "tints", "wheel"]


def list_screen(name: str, path: Path) -> Screen[Any]:
    """One of the screens that are a list, on the comic's log."""
    if name == "rematch":
        return RematchScreen(path, "ferrow", lambda log: log.choices("ferrow"), NEWSPRINT)
    return {
        "review": partial(ReviewScreen, path, "ferrow", PALETTE),
        "passes": partial(PassesScreen, path, "ferrow", "9"),
        "economy": partial(EconomyScreen, path, "ferrow", "9"),
        "palettes": partial(PaletteScreen, NEWSPRINT),
        "projects": partial(ProjectScreen, path, "ferrow"),
        "tints": partial(TintsScreen, path, "ferrow", "9"),
        "wheel": partial(WheelScreen, RECIPES),
    }[name]()


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("size", [(36, 12), (60, 24), (160, 45)])
def test_lists(path: Path, name: str, size: tuple[int, int]) -> None:
    with Log(path) as log:
        for number in range(9):
            log.projects.create(f"book {number}")
    screens.play(list_screen(name, path), rows_and_help, size)


# Other places.


@pytest.mark.parametrize("size", [(60, 24), (100, 30)])
def test_chart(path: Path, size: tuple[int, int]) -> None:
    """The first screen, which is the chart: its cells, and its keys at the foot."""

    async def whole() -> None:
        app = TuimatchApp(palette=PALETTE, colour=None, project="ferrow", log_path=path)
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            chart = app.screen
            assert isinstance(chart, ReachScreen)
            await press(pilot, "home")
            begun = chart.map.cursor
            for keys in (["right"], ["down", "right", "right"]):
                await press(pilot, "home", *keys)
                there = chart.map.cursor
                assert there is not None and there != begun
                await press(pilot, "home")
                row, column = there
                grid = chart.map._grid
                at = (grid.left(column) + grid.width(column) - 1, (row + 1) * grid.high - 1)
                assert chart.map.cursor == begun
                await same(pilot, keys, ["home"], partial(click, pilot, chart.map, *at))
            await help_is_clicked(pilot)
            await press(pilot, "t")
            asked = seen(pilot)
            await press(pilot, "escape")
            await click_foot(pilot, "Colour")
            assert seen(pilot) == asked

    asyncio.run(whole())


def test_page(play: Play, page: Path) -> None:
    """A flat on the page, in both lists beside it, and a second click, which goes to the match."""

    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "F")
        await write(pilot, str(page))
        screen = pilot.app.screen
        assert isinstance(screen, PageScreen)
        await help_is_clicked(pilot)
        await press(pilot, "down")
        wanted, place = seen(pilot), screen.state.place
        assert screen._dots is not None
        left, top = screen.view._margins
        y, x = np.argwhere(screen._dots.places[::2] == place)[0].tolist()
        await press(pilot, "up")
        assert seen(pilot) != wanted
        await click(pilot, screen.view, left + x, top + y)
        assert seen(pilot) == wanted
        await press(pilot, "up")
        listed = screen.query_one("#page-flats", FlatList)
        await click(pilot, listed, 3, 1 + screen.state.at + 1)
        assert seen(pilot) == wanted
        await press(pilot, "d")
        looked = seen(pilot)
        await press(pilot, "d", "d")
        await click_foot(pilot, "Look")
        assert seen(pilot) == looked
        await click(pilot, screen.view, left + x, top + y)
        clicked = seen(pilot)
        assert pilot.app.screen is match
        await press(pilot, "escape", "enter")
        assert seen(pilot) == clicked

    play(scene, palette="newsprint-quarters", size=(160, 45))


def test_picking(tmp_path: Path) -> None:
    Image.radial_gradient("L").convert("RGB").resize((90, 40)).save(tmp_path / "lamp.png")

    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await press(pilot, "shift+left", "shift+up")
        cell = screen.view._cell_of(*screen.view.cursor)
        await press(pilot, "home")
        assert screen.view._cell_of(*screen.view.cursor) != cell
        await click(pilot, screen.view, *cell)
        assert screen.view._cell_of(*screen.view.cursor) == cell
        await help_is_clicked(pilot)
        await same(pilot, ["plus"], ["minus"], partial(click_foot, pilot, "Nearer"))

    screens.play(PickScreen(tmp_path / "lamp.png"), scene)


def test_laying(play: Play) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "b")
        assert isinstance(pilot.app.screen, LayingScreen)
        await press(pilot, "space", "0")  # what is said of the first tick is said once
        await same(pilot, ["space"], ["0"], partial(click_foot, pilot, "Laid"))
        await help_is_clicked(pilot)
        await click_foot(pilot, "Back")
        assert pilot.app.screen is match

    play(scene)


@pytest.mark.parametrize("size", [(60, 24), (160, 45)])
def test_apart(path: Path, play: Play, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "a")
        screen = pilot.app.screen
        assert isinstance(screen, ApartScreen)
        await rows_and_help(pilot, screen)
        await click_foot(pilot, "Back")
        assert pilot.app.screen is match

    play(scene, size=size)


@pytest.mark.parametrize("size", [(60, 24), (160, 45)])
def test_draw(page: Path, size: tuple[int, int]) -> None:
    """Its lines; a second click changes one, as Enter does."""
    shown = opened(Asked(picture.read(page), start(NEWSPRINT), keep=(comic_page.INK,)), RECIPES)

    async def scene(pilot: Pilot[None], screen: DrawScreen) -> None:
        await rows_and_help(pilot, screen)
        await same(pilot, ["space"], ["space"], partial(click_foot, pilot, "Tick"))
        for place, away in ((ROW, "escape"), (len(LINES) - 1, "enter")):
            await press(pilot, "home", *["down"] * place)
            clicked = partial(click, pilot, screen.listed, 20, place)
            await same(pilot, ["enter"], [away], clicked)
            await press(pilot, away)

    screens.play(DrawScreen(shown, "9"), scene, size)


# Keys at the foot.


@pytest.mark.parametrize(
    ("name", "word", "key", "back"),
    [
        ("review", "Tick", "space", "space"),
        ("passes", "Tick", "space", "space"),
        ("economy", "Keep", "space", "space"),
        ("tints", "Page", "g", ""),
        ("wheel", "More", "plus", "minus"),
        ("projects", "New", "N", "escape"),
    ],
)
def test_keys_at_the_foot_of_lists(path: Path, name: str, word: str, key: str, back: str) -> None:
    async def scene(pilot: Pilot[None], screen: Screen[Any]) -> None:
        pages = len(screen._pages()) if isinstance(screen, TintsScreen) else 0
        clicked = partial(click_foot, pilot, word)
        await same(pilot, [key], [back] if back else ["g"] * (pages - 1), clicked)

    screens.play(list_screen(name, path), scene, (160, 45))


# With a question open.


def test_a_click_leaves_the_keys_with_the_question(play: Play) -> None:
    """It takes nothing; what is typed next is still the answer, and not commands."""

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await press(pilot, "t")
        for _ in range(3):
            await click(pilot, screen.query_one(BlockList), 20, ROW)
        assert pilot.app.focused is screen.query_one(Prompt)
        await press(pilot, "4", "a")
        assert screen.query_one(Prompt).value.endswith("4a")
        assert screen.state.keeper.choices == []

    play(scene)


def test_a_click_leaves_the_keys_with_the_question_of_the_chart(path: Path) -> None:
    async def whole() -> None:
        app = TuimatchApp(palette=PALETTE, colour=None, project="ferrow", log_path=path)
        async with app.run_test(size=(100, 30)) as pilot:
            await settled(pilot)
            chart = app.screen
            assert isinstance(chart, ReachScreen)
            await press(pilot, "t")
            assert chart.map.cursor is not None
            row, column = chart.map.cursor
            at = chart.map._grid.left(column), row * chart.map._grid.high
            for _ in range(2):
                await click(pilot, chart.map, *at)
            assert app.screen is chart
            await press(pilot, "4", "a")
            assert chart.query_one(Prompt).value == "4a"

    asyncio.run(whole())


def test_a_click_leaves_the_keys_with_the_question_of_the_review(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "slash")
        for _ in range(2):
            await click(pilot, screen.choices, 20, 0)
        assert pilot.app.screen is screen
        await press(pilot, "v")
        assert screen.query_one(Prompt).value == "v"

    screens.play(ReviewScreen(path, "ferrow", PALETTE), scene)


@pytest.mark.parametrize(("name", "key"), [("projects", "R"), ("review", "l")])
def test_a_click_does_not_move_what_is_asked_about(path: Path, name: str, key: str) -> None:
    async def scene(pilot: Pilot[None], screen: Screen[Any]) -> None:
        listed = screen.query_one(BlockList)
        await press(pilot, "home", key)
        assert screen.query_one(Prompt).has_focus
        asked = seen(pilot)
        await click(pilot, listed, 20, listed.HEAD + listed.HIGH)
        assert listed.cursor == 0
        assert seen(pilot) == asked

    with Log(path) as log:
        log.projects.create("second")
    screens.play(list_screen(name, path), scene)


def test_a_click_does_not_move_the_line_that_is_filled_in(page: Path) -> None:
    shown = opened(Asked(picture.read(page), start(NEWSPRINT), keep=(comic_page.INK,)), RECIPES)

    async def scene(pilot: Pilot[None], screen: DrawScreen) -> None:
        await press(pilot, "enter")
        await click(pilot, screen.listed, 20, 1)
        await write(pilot, "mine.ora")
        assert screen.state.names[LINES[0]] == "mine.ora"

    screens.play(DrawScreen(shown, "9"), scene)


def test_a_click_does_not_move_the_flat_that_is_named(play: Play, page: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "F")
        await write(pilot, str(page))
        screen = pilot.app.screen
        assert isinstance(screen, PageScreen)
        await press(pilot, "l")
        place = screen.state.place
        await click(pilot, screen.query_one("#page-flats", FlatList), 3, 3)
        assert (screen.state.place, pilot.app.screen) == (place, screen)

    play(scene, palette="newsprint-quarters", size=(160, 45))
