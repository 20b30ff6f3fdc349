"""Picking a target in a picture, through Textual's Pilot."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import screens
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from screens import OPEN, settled
from textual.pilot import Pilot

from tuimatch.colour import target
from tuimatch.picture.picture import Picture
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.pick_screen import PickScreen
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.picture_view import PictureView, Window, dots, scales
from tuimatch.tui.widgets.seam import Seam

VIEWS = [(60, 24), (100, 30), (160, 45)]
Scene = Callable[[Pilot[None], PickScreen], Coroutine[Any, Any, None]]


def play(
    scene: Scene, path: Path, size: tuple[int, int] = (100, 30), picture: Picture | None = None
) -> Any:
    return screens.play(PickScreen(path, picture), scene, size)


@pytest.fixture
def quarters(tmp_path: Path) -> Path:
    """Four colours, 800 × 400: red and green above, blue and white below."""
    pixels = np.empty((400, 800, 3), dtype=np.uint8)
    pixels[:200, :400], pixels[:200, 400:] = (200, 30, 20), (20, 160, 40)
    pixels[200:, :400], pixels[200:, 400:] = (30, 40, 190), (250, 250, 250)
    Image.fromarray(pixels).save(tmp_path / "quarters.png")
    return tmp_path / "quarters.png"


def text(screen: PickScreen, identity: str) -> str:
    return screen.query_one(identity, Lines).text


def shown(screen: PickScreen) -> list[list[tuple[str, str | None, str | None]]]:
    """Sign, colour and ground of every cell of the picture."""
    view = screen.view
    return [
        [
            (sign, name(segment.style, "color"), name(segment.style, "bgcolor"))
            for segment in view.render_line(y)
            for sign in segment.text
        ]
        for y in range(view.size.height)
    ]


def name(style: Any, attribute: str) -> str | None:
    colour = getattr(style, attribute) if style else None
    return colour.name if colour else None


def marks(screen: PickScreen) -> dict[str, tuple[int, int]]:
    return {
        cell[0]: (x, y)
        for y, row in enumerate(shown(screen))
        for x, cell in enumerate(row)
        if cell[0] in "┌┐└┘"
    }


@pytest.mark.parametrize("size", VIEWS)
def test_the_picture_is_whole_and_its_colours_exact(quarters: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        cells = shown(screen)
        assert {len(row) for row in cells} == {screen.view.size.width}
        grounds = {ground for row in cells for _, _, ground in row}
        assert {"#c81e14", "#14a028", "#1e28be", "#fafafa"} <= grounds
        assert set(marks(screen)) == set("┌┐└┘")
        assert "800 × 400, seen 1 : " in text(screen, "#pick-head")
        assert "around 400, 200" in text(screen, "#pick-facts")

    assert play(scene, quarters, size) == OPEN


def test_every_arrow_moves_the_cursor_by_a_dot_or_eight(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        step = round(1 / screen.view.zoom)
        assert step > 1
        for key, x, y in (
            *(("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1)),
            *(("k", 0, -1), ("j", 0, 1)),
            *(("shift+left", -8, 0), ("shift+right", 8, 0), ("shift+up", 0, -8)),
            ("shift+down", 0, 8),
        ):
            await pilot.press("home", key)
            assert screen.view.cursor == (400 + step * x, 200 + step * y), key
            assert "around {}, {}".format(*screen.view.cursor) in text(screen, "#pick-facts")
        await pilot.press(*["shift+left"] * 9, *["shift+up"] * 9)
        assert screen.view.cursor == (0, 0)
        await pilot.press(*["shift+right"] * 20, *["shift+down"] * 20)
        assert screen.view.cursor == (799, 399)

    play(scene, quarters)


def test_the_swatch_is_the_mean_in_linear_light(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.press("shift+left", "shift+up")
        swatch = screen.query_one("#pick-swatch", Seam)
        assert {name(s.style, "bgcolor") for s in swatch.render_line(0)} == {"#c81e14"}
        assert text(screen, "#pick-facts").startswith("#c81e14\nmean of ")
        await pilot.press("shift+right")
        picture = screen._picture
        assert picture is not None
        x, y = screen.view.cursor
        assert picture.target(x, y, 9).text in text(screen, "#pick-facts")

    play(scene, quarters)


def test_the_area_grows_and_shrinks_with_its_corners(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        seen = [screen.view.area]
        for key in ["right_square_bracket"] * 6 + ["left_square_bracket"] * 10:
            await pilot.press(key)
            seen.append(screen.view.area)
        assert seen[:7] == [9, 17, 33, 65, 129, 257, 257]
        assert seen[7:] == [129, 65, 33, 17, 9, 5, 3, 1, 1, 1]
        await pilot.press("right_square_bracket", "right_square_bracket", "left_square_bracket")
        assert screen.view.area == 3
        narrow = marks(screen)
        await pilot.press(*["right_square_bracket"] * 7)
        await settled(pilot)
        wide = marks(screen)
        assert wide["┐"][0] - wide["┌"][0] > narrow["┐"][0] - narrow["┌"][0]
        assert wide["└"][1] - wide["┌"][1] > narrow["└"][1] - narrow["┌"][1]
        assert "mean of 257 × 257 pixels" in text(screen, "#pick-facts")

    play(scene, quarters)


def test_zooming_keeps_the_cursor_in_sight(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.press("shift+left", "shift+up")
        cursor, seen = screen.view.cursor, []
        for key in ["plus", "equals_sign", *["plus"] * 8, *["minus"] * 12]:
            await pilot.press(key)
            await settled(pilot)
            seen.append(screen.view.zoom)
            assert screen.view.cursor == cursor
            assert len(marks(screen)) == 4, screen.view.zoom
        assert seen[:6] == [0.25, 0.5, 1, 2, 4, 8]
        assert max(seen) == 16
        assert seen[-1] < 0.125

    play(scene, quarters)


@pytest.mark.parametrize("zoom", [0, 2, 5, 8])
def test_walking_never_loses_the_cursor(quarters: Path, zoom: int) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.press(*["plus"] * zoom)
        for key in (
            "shift+right",
            "shift+down",
            "shift+left",
            "shift+left",
            "shift+up",
            "shift+up",
        ):
            for _ in range(6):
                await pilot.press(key)
                await settled(pilot)
                found = marks(screen)
                assert len(found) == 4, (screen.view.cursor, key)

    play(scene, quarters)


def test_enter_answers_a_text_that_reads_back_as_the_colour(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.press("shift+right", "shift+up", "enter")

    answer = play(scene, quarters)
    assert target.parse(answer).srgb == (20, 160, 40)


def test_escape_answers_nothing_and_help_explains_the_keys(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.press("question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)
        says = {key.says for key in pilot.app.screen._keys}
        assert {
            "Make it the target",
            "Zoom in",
            "Far to the left",
            "What the keys and words here mean",
        } <= says
        await pilot.press("escape", "escape")

    assert play(scene, quarters) is None


def test_the_pointer_points_and_then_picks(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.click(PictureView, offset=(90, 20))
        assert text(screen, "#pick-facts").startswith("#fafafa")
        await pilot.click(PictureView, offset=(10, 20))
        assert text(screen, "#pick-facts").startswith("#1e28be")
        assert pilot.app.screen is screen
        await pilot.click(PictureView, offset=(10, 20))

    assert target.parse(play(scene, quarters)).srgb == (30, 40, 190)


def test_what_lies_beside_the_picture_is_no_place(tmp_path: Path) -> None:
    Image.new("RGB", (10, 200), (1, 2, 3)).save(tmp_path / "tall.png")

    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        before = screen.view.cursor
        for x in (0, 99):
            await pilot.click(PictureView, offset=(x, 10))
        assert screen.view.cursor == before

    assert play(scene, tmp_path / "tall.png") == OPEN


@pytest.mark.parametrize("size", [(1, 1), (1, 500), (3, 2), (4000, 1)])
def test_odd_pictures_are_shown(tmp_path: Path, size: tuple[int, int]) -> None:
    Image.new("RGB", size, (217, 128, 63)).save(tmp_path / "odd.png")

    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        for key in (
            "plus",
            "right",
            "down",
            "minus",
            "minus",
            "right_square_bracket",
            "left",
            "up",
        ):
            await pilot.press(key)
            await settled(pilot)
            assert len(shown(screen)) == screen.view.size.height
        await pilot.press("enter")

    assert target.parse(play(scene, tmp_path / "odd.png")).srgb == (217, 128, 63)


def test_a_file_that_is_no_picture_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "note[b].png").write_text("\x1b[31m")

    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        assert "note[b].png: is not a picture of a known kind" in text(screen, "#pick-head")
        keys = [
            "enter",
            "up",
            "plus",
            "right_square_bracket",
            "home",
            "question_mark",
            "escape",
            "minus",
        ]
        await pilot.press(*keys)
        await pilot.click(PictureView, offset=(5, 5))
        await pilot.resize_terminal(60, 24)
        assert pilot.app.screen is screen
        await pilot.press("escape")

    long = tmp_path / "note[b].png"
    assert play(scene, long, size=(200, 30)) is None


def test_where_it_is_transparent_nothing_is_picked(tmp_path: Path) -> None:
    pixels = np.zeros((40, 40, 4), dtype=np.uint8)
    pixels[:, 30:] = (217, 128, 63, 255)
    Image.fromarray(pixels).save(tmp_path / "clear.png")

    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        assert "is transparent there" in text(screen, "#pick-facts")
        await pilot.press("enter")
        assert pilot.app.screen is screen
        await pilot.press("shift+right", "shift+right", "enter")

    assert target.parse(play(scene, tmp_path / "clear.png")).srgb == (217, 128, 63)


def test_a_picture_at_hand_is_not_read_again(tmp_path: Path) -> None:
    picture = Picture("x", np.full((20, 20, 3), 90, dtype=np.uint8), notes=("a note",))

    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        assert "gone.png (a note)" in text(screen, "#pick-head")
        await pilot.press("enter")

    answer = play(scene, tmp_path / "gone.png", picture=picture)
    assert target.parse(answer).srgb == (90, 90, 90)


def test_resizing_keeps_the_place(quarters: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PickScreen) -> None:
        await pilot.press("shift+left")
        cursor = screen.view.cursor
        for size in ((60, 24), (160, 45), (30, 10)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            assert screen.view.cursor == cursor
            assert screen.view.zoom == screen.view._scales[0]
            assert marks(screen)
        await pilot.press("plus", "plus", "plus", "plus")
        await settled(pilot)
        zoom = screen.view.zoom
        await pilot.resize_terminal(100, 30)
        await settled(pilot)
        assert (screen.view.zoom, screen.view.cursor) == (zoom, cursor)

    play(scene, quarters)


@given(
    st.tuples(st.integers(1, 300), st.integers(1, 300)),
    st.tuples(st.integers(1, 120), st.integers(1, 90).map(lambda rows: 2 * rows)),
    st.floats(0, 1),
    st.floats(0, 1),
    st.integers(0, 20),
)
def test_any_window_holds_its_place_and_fits_the_room(
    size: tuple[int, int], room: tuple[int, int], across: float, down: float, nearer: int
) -> None:
    width, height = size
    choice = scales(size, room)
    assert choice == sorted(set(choice))
    at = round(across * (width - 1)), round(down * (height - 1))
    window = Window.around(at, size, room, choice[min(nearer, len(choice) - 1)])
    assert window.holds(*at)
    assert window.x >= 0 and window.x + window.width <= width
    assert window.y >= 0 and window.y + window.height <= height
    seen = dots(Picture("x", np.zeros((height, width, 3), dtype=np.uint8)), window, room)
    assert seen.shape[1] <= room[0] and seen.shape[0] <= room[1]
    assert seen.shape[0] % 2 == 0
