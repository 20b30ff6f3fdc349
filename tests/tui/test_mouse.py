"""What can be walked to can be clicked: a click shows what the keys show that go to the same place.

Each screen is brought to a place once by its keys and once by the mouse, and all that is written on
it is compared.
Tested where the screens are: a second click that takes (match, chart, review, palettes, projects,
wheel, picking), the flats drawn on the page and listed beside it, the rows of the plan's picture,
the review's headings, and places where nothing is (chart, palettes, picking, review).
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from typing import Any

import comic_page
import pytest
import screens
from comic_log import put_comic
from kept import NEWSPRINT, PALETTE
from match_app import Play
from screens import press, settled
from textual.app import App
from textual.pilot import Pilot
from textual.screen import Screen

from tuimatch.log import Log
from tuimatch.recipe.recipes import mix
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.economy_screen import EconomyScreen
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.palette_screen import PaletteScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.screens.project_screen import ProjectScreen
from tuimatch.tui.screens.rematch_screen import RematchScreen
from tuimatch.tui.screens.review_screen import ReviewScreen
from tuimatch.tui.screens.tints_screen import TintsScreen
from tuimatch.tui.screens.wheel_screen import WheelScreen
from tuimatch.tui.widgets.block_list import BlockList
from tuimatch.tui.widgets.foot import Foot

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
    """The click does what the keys do; `back` undoes it and forgets it."""
    await press(pilot, *back)
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
        await same(pilot, ["down"] * place, ["home"], clicked)
    # Scrolled to the end, what is in view first is what is pointed at.
    await press(pilot, "end")
    if (first := listed._first) < listed.cursor:
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


@pytest.mark.parametrize(
    "name", ["review", "passes", "economy", "rematch", "palettes", "projects", "tints", "wheel"]
)
@pytest.mark.parametrize("size", [(36, 12), (60, 24), (160, 45)])
def test_lists(path: Path, name: str, size: tuple[int, int]) -> None:
    with Log(path) as log:
        for number in range(9):
            log.projects.create(f"book {number}")
    screen: Screen[Any] = {
        "review": lambda: ReviewScreen(path, "ferrow", PALETTE),
        "passes": lambda: PassesScreen(path, "ferrow", "9"),
        "economy": lambda: EconomyScreen(path, "ferrow", "9"),
        "rematch": lambda: RematchScreen(
            path, "ferrow", lambda log: log.choices("ferrow"), NEWSPRINT
        ),
        "palettes": lambda: PaletteScreen(NEWSPRINT),
        "projects": lambda: ProjectScreen(path, "ferrow"),
        "tints": lambda: TintsScreen(path, "ferrow", "9"),
        "wheel": lambda: WheelScreen(RECIPES),
    }[name]()
    screens.play(screen, rows_and_help, size)
