"""The reach of an ink set through Textual's Pilot."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest
import screens
from rich.segment import Segment
from screens import OPEN, settled
from textual.pilot import Pilot

from tuimatch.colour.target import parse
from tuimatch.match.limits import Narrowing
from tuimatch.match.reach import reach
from tuimatch.palette import file as palette_file
from tuimatch.recipe.dots import Press
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.tui.match.pending_choices import Keeper
from tuimatch.tui.match.state import MatchState
from tuimatch.tui.screens.reach_screen import Picked, ReachScreen
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.reach_map import Grid, ReachMap

SIZES = [(60, 24), (100, 30), (160, 45)]

Scene = Callable[[Pilot[None], ReachScreen], Coroutine[Any, Any, None]]


@cache
def mixed(palette: str) -> Recipes:
    return mix(palette_file.load(palette))


def asking(
    palette: str, colour: str | None, row: int | None = None, limits: Narrowing | None = None
) -> MatchState:
    """The state of a match whose log is never opened."""
    recipes = mixed(palette)
    state = MatchState(recipes.palette, Keeper(Path(mkdtemp()) / "unopened.sqlite", "ferrow"))
    state.mixed(recipes, Press(recipes), None if colour is None else parse(colour))
    if state.match is not None and limits is not None:
        state.ask(replace(state.match.question, narrowing=limits))
    if row is not None:
        state.look_at(row)
    return state


def play(
    scene: Scene,
    palette: str = "screen-quarters",
    colour: str | None = "#d9803f",
    row: int | None = None,
    limits: Narrowing | None = None,
    size: tuple[int, int] = (100, 30),
) -> Any:
    """Open the map, wait until the recipes are placed, play a scene; what the screen answered."""
    return screens.play(ReachScreen(asking(palette, colour, row, limits)), scene, size)


async def nothing(pilot: Pilot[None], screen: ReachScreen) -> None:
    pass


def cells(line: list[Segment]) -> list[tuple[str, str | None]]:
    """Sign and ground of each terminal cell."""
    return [
        (sign, s.style.bgcolor.name if s.style and s.style.bgcolor else None)
        for s in line
        for sign in s.text
    ]


def lines(reach_map: ReachMap) -> list[list[tuple[str, str | None]]]:
    return [cells(list(reach_map.render_line(y))) for y in range(reach_map.size.height)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("palette", palette_file.shipped_names())
def test_the_colours_of_all_cells_are_exact_and_spread_to_the_cells_nearest(
    palette: str, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        grid, drawn = screen.map._grid, lines(screen.map)
        chart, recipes = screen.state.chart(), mixed(palette)
        assert chart is not None
        placed = reach(recipes, grid.rows, grid.columns, target=chart.target, allowed=chart.allowed)
        spread = placed.nearest(24)
        assert (spread >= 0).sum() > (placed.cells >= 0).sum()
        for r, row in enumerate(spread.tolist()):
            for c, recipe in enumerate(row):
                here = {
                    drawn[y][x][1]
                    for y in range(r * grid.high, (r + 1) * grid.high)
                    for x in range(grid.left(c), grid.left(c) + grid.width(c))
                }
                if recipe < 0:
                    assert here == {drawn[y][0][1] for y in range(len(drawn))}  # the ground
                else:
                    assert here == {"#{:02x}{:02x}{:02x}".format(*recipes.rgb_of(recipe))}
        assert {len(line) for line in drawn} == {screen.map.size.width}
        assert grid.left(grid.columns) + grid.width(grid.columns) < screen.map.size.width
        text = "".join(sign for line in drawn for sign, _ in line)
        assert text.count("(") == text.count(")") == 1
        for name in ("red", "yellow", "green", "blue", "greys"):
            assert name in text

    play(scene, palette, size=size)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("palette", ["screen-quarters", "zine-two-inks", "coated-tenths"])
def test_arrows_reach_every_recipe_of_the_map(palette: str, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        seen = set()
        reach_map = screen.map
        while before := reach_map.cursor:
            reach_map.action_down(-1)
            if reach_map.cursor == before:
                break
        while True:
            start = reach_map.cursor
            while reach_map.cursor not in seen:
                seen.add(reach_map.cursor)
                reach_map.action_across(1)
            assert reach_map.cursor == start
            reach_map.action_down(1)
            if reach_map.cursor == start:
                break
        assert seen == set(reach_map._filled)

    play(scene, palette, size=size)


def test_keys_move_the_cursor_and_the_foot_with_it() -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        rgb = mixed("screen-quarters").rgb_of
        start = screen.map.cursor
        assert start is not None
        places = []
        for key in ("right", "left", "down", "up", "j", "k"):
            await pilot.press(key)
            cursor, row = screen.map.cursor, screen.map.recipe
            assert cursor is not None and row is not None
            places.append(cursor)
            seam = screen.query_one("Seam").render_line(0)
            ground = list(seam)[1].style
            assert ground is not None and ground.bgcolor is not None
            assert tuple(ground.bgcolor.triplet) == rgb(row)
            facts = str(screen.query_one("#reach-facts").render())
            assert mixed("screen-quarters").palette.recipe_text(
                mixed("screen-quarters").tints_of(row)
            ) in " ".join(facts.split())
        assert places[0][0] == start[0] and places[0][1] != start[1]
        assert places[1] == places[3] == places[5] == start
        assert places[2][0] > start[0]
        assert places[4] == places[2]
        await pilot.press("down", "right", "home")
        assert screen.map.cursor == start

    play(scene)


def test_a_row_without_the_column_does_not_lose_it() -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        neutral = screen.map._grid.columns
        while screen.map.cursor is not None and screen.map.cursor[1] != neutral:
            await pilot.press("right")
        first, seen = screen.map.cursor, set()
        for _ in range(8):
            await pilot.press("down")
            seen.add(screen.map.cursor)
        assert any(cell[1] != neutral for cell in seen if cell)
        assert {cell for cell in seen if cell and cell[1] == neutral} - {first}

    play(scene, colour="#b4b4b4")


@pytest.mark.parametrize(
    ("keys", "take"), [(["enter"], True), (["V"], False), (["right", "enter"], True)]
)
def test_picking(keys: list[str], take: bool) -> None:
    picked = None

    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        nonlocal picked
        for key in keys[:-1]:
            await pilot.press(key)
        picked = screen.map.recipe
        await pilot.press(keys[-1])

    assert play(scene) == Picked(picked, take)  # type: ignore[arg-type]


def test_leaving_picks_nothing() -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        await pilot.press("escape")

    assert play(scene) is None
    assert play(nothing) == OPEN


def test_the_pointer_points_and_then_takes() -> None:
    chosen = None

    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        nonlocal chosen
        grid = screen.map._grid
        (r, c), chosen = max(screen.map._filled.items())
        hole = next((0, x) for x in range(grid.columns) if (0, x) not in screen.map._filled)
        before = screen.map.cursor
        await pilot.click(ReachMap, offset=(grid.left(hole[1]), 0))
        await pilot.click(ReachMap, offset=(0, 0))
        await pilot.click(ReachMap, offset=(grid.left(c), grid.rows * grid.high))
        assert screen.map.cursor == before
        await pilot.click(ReachMap, offset=(grid.left(c), r * grid.high))
        assert screen.map.recipe == chosen
        assert pilot.app.screen is screen
        await pilot.click(ReachMap, offset=(grid.left(c), r * grid.high))

    assert play(scene) == Picked(chosen, True)  # type: ignore[arg-type]


def test_it_opens_on_the_recipe_looked_at_and_keeps_it_when_resized() -> None:
    row = mixed("screen-quarters").row_of((0, 0, 100))
    assert row is not None

    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        assert screen.map.recipe == row
        await pilot.resize_terminal(60, 24)
        await settled(pilot)
        assert screen.map.recipe == row

    play(scene, row=row, colour="#009ee0")


def test_limits_make_holes_and_none_left_is_no_fall() -> None:
    recipes = mixed("screen-quarters")

    async def few(pilot: Pilot[None], screen: ReachScreen) -> None:
        assert all(recipes.inks[row] <= 1 for row in screen.map._filled.values())
        assert screen.map.recipe is not None
        assert "13 of 125 recipes" in screens.text(screen, "#reach-head")
        assert screens.text(screen, "#reach-said") == "( ) your colour: #d9803f"

    play(few, row=124, limits=Narrowing(max_inks=1))

    async def none(pilot: Pilot[None], screen: ReachScreen) -> None:
        await pilot.press("left", "right", "up", "down", "home", "enter", "V")
        assert screen.map.recipe is None

    assert play(none, limits=Narrowing(max_coverage=-1)) == OPEN


def test_ring_and_brackets_stay_whole_side_by_side() -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        target = screen.map._target
        assert target is not None and screen.map._grid.wide == 2
        for beside in (target, (target[0], target[1] - 1), (target[0], target[1] + 1)):
            assert beside in screen.map._filled
            screen.map.cursor = beside
            text = "".join(s.text for s in screen.map.render_line(target[0]))
            assert {sign: text.count(sign) for sign in "()[]"} == dict.fromkeys("()[]", 1)

    play(scene, "coated-tenths", "#7a5a40", size=(60, 24))


@pytest.mark.parametrize("width", range(1, 200, 7))
@pytest.mark.parametrize("height", [1, 2, 10, 60])
@pytest.mark.parametrize("recipes", [2, 125, 200_000])
def test_any_size_is_divided(width: int, height: int, recipes: int) -> None:
    grid = Grid.fitting(width, height, recipes)
    assert min(grid) >= 1
    assert grid.rows * grid.high <= max(height - 1, grid.high)
    if width >= 30:
        assert grid.left(grid.columns) + grid.width(grid.columns) < width
    for column in range(grid.columns + 1):
        assert grid.cell_at(grid.left(column), 0) == (0, column)


@pytest.mark.parametrize("palette", ["screen-quarters", "coated-tenths"])
def test_a_window_made_narrow_is_drawn_before_the_recipes_have_their_places(palette: str) -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        for size in ((14, 11), (160, 45), (3, 3), (36, 20), (1, 45)):
            await pilot.resize_terminal(*size)
            screen.map.refresh()
            await settled(pilot)

    play(scene, palette=palette, size=(160, 45))


def test_without_a_target_nothing_is_marked_and_escape_leads_nowhere() -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        await pilot.press("escape")
        text = "".join(sign for line in lines(screen.map) for sign, _ in line)
        assert "(" not in text
        assert "125 recipes" in screens.text(screen, "#reach-head")
        assert screens.text(screen, "#reach-said") == "paste a colour, or press t to type one"
        row = screen.map.recipe
        assert row is not None
        facts = str(screen.query_one("#reach-facts").render())
        assert "#{:02x}{:02x}{:02x}".format(*mixed("screen-quarters").rgb_of(row)) in facts
        await pilot.press("down", "home")
        assert screen.map.recipe == row

    assert play(scene, colour=None) == OPEN


@pytest.mark.parametrize("size", [(36, 12), (36, 24), (60, 24), (100, 30)])
def test_in_a_small_pane_map_hint_and_choices_are_seen(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        for selector in ("#reach-said", "ReachMap", "#reach-facts", "ChoicesStrip", "Foot"):
            region = screen.query_one(selector).region
            assert region.area and region.bottom <= size[1] and region.right <= size[0]
        assert screen.map.size.height >= 5
        hint = screen.query_one("#reach-said", Lines).render_line(0).text
        assert "paste a colour" in hint and "…" not in hint
        assert "t Colour" in screen.query_one(Foot).render_line(0).text
        hues = next(
            line.split()
            for y in range(screen.map.size.height)
            if "greys" in (line := screen.map.render_line(y).text)
        )
        assert set(hues) <= {"light", "red", "yellow", "green", "blue", "greys"}

    play(scene, colour=None, size=size)


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30), (160, 45)])
def test_project_and_page_and_the_keys_that_set_them_are_in_the_head(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReachScreen) -> None:
        assert screens.text(screen, "#reach-head").endswith(" ferrow (P) · no page (g)")
        screen.state.page = "9"
        screen.show()
        line = screen.query_one("#reach-head", Lines).render_line(0).text
        assert "…" not in line and line.endswith(" ferrow (P) · page 9 (g)")
        names = [key.name for key in screen.query_one(Foot).shown]
        assert names[:3] == (
            ["Take", "Colour", "Flats"] if size[0] > 36 else ["Take", "Colour", "Help"]
        )

    play(scene, colour=None, size=size)


def test_made_large_it_is_as_if_it_had_been_large() -> None:
    drawn = []

    async def small(pilot: Pilot[None], screen: ReachScreen) -> None:
        await pilot.resize_terminal(160, 45)
        await settled(pilot)
        drawn.append(lines(screen.map))

    async def large(pilot: Pilot[None], screen: ReachScreen) -> None:
        drawn.append(lines(screen.map))

    play(small, colour=None, size=(36, 12))
    play(large, colour=None, size=(160, 45))
    assert drawn[0] == drawn[1]
