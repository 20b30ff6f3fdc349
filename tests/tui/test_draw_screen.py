"""A page drawn into files: what is asked, without a terminal; the screen; a real terminal."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from pathlib import Path

import comic_page
import pytest
import screens
from PIL import Image
from screens import settled, write
from support import PATIENCE
from terminal import Terminal
from textual.pilot import Pilot
from textual.widgets import Static

from tuimatch.errors import UsageError
from tuimatch.match.limits import start
from tuimatch.palette import file as palette_file
from tuimatch.picture import picture
from tuimatch.recipe import recipes
from tuimatch.tui.screens.draw_screen import DrawScreen, OrderList
from tuimatch.tui.screens.draw_state import LINES, DrawState, Line
from tuimatch.tui.screens.page_state import Asked, Opened, opened


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The current folder, empty."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path / "here"


@pytest.fixture
def shown(tmp_path: Path) -> Opened:
    """The comic's page, matched."""
    path = tmp_path / "flats.png"
    comic_page.draw(200, line=6, smooth=False).save(path)
    mixed = recipes.mix(palette_file.load("newsprint-quarters"))
    return opened(Asked(picture.read(path), start(mixed.palette), keep=(comic_page.INK,)), mixed)


# What is asked.


def test_names_are_made_of_the_page(folder: Path) -> None:
    assert list(DrawState.of("x/flats.png", "9, 10").names.values()) == [
        *("page9, 10.ora", "page9, 10-plates", "page9, 10-proof.png"),
    ]
    assert DrawState.of("x/flats.png", "").names[Line.LAYERS] == "flats-drawn.ora"
    assert DrawState.of("x", "../../etc").names[Line.LAYERS] == "page..-..-etc.ora"


def test_ticks_and_answers_make_the_order(folder: Path) -> None:
    state = DrawState.of("flats.png", "9")
    assert state.order.paths == [Path("page9.ora")]
    for line in (Line.PLATES, Line.MARKS, Line.DOTS, Line.LAYERS):
        assert state.tick(line)
    assert not state.tick(Line.DPI)
    state.fill_in(Line.DPI, "600")
    state.fill_in(Line.RULING, " 65 ")
    assert state.order.paths == [Path("page9-plates")]
    assert (state.order.dpi, state.order.ruling, state.order.marks) == (600, 65.0, True)
    assert state.order.screening.period is None
    assert [state.is_ticked(line) for line in LINES] == [
        *(False, True, False, None, False, None, True, False),
    ]
    state.fill_in(Line.RULING, "")
    assert state.order.ruling is None


@pytest.mark.parametrize(
    ("line", "text", "said"),
    [
        (Line.DPI, "many", "is not a resolution"),
        (Line.RULING, "1000", "is not a ruling"),
        (Line.LAYERS, "", "give the name"),
        (Line.LAYERS, "a\x1b[2Jb", "give the name"),
    ],
)
def test_an_answer_that_will_not_do_changes_nothing(line: Line, text: str, said: str) -> None:
    state = DrawState.of("flats.png", "9")
    before = (dict(state.names), set(state.ticked), state.how)
    with pytest.raises(UsageError, match=said):
        state.fill_in(line, text)
    assert (state.names, state.ticked, state.how) == before


def test_nothing_ticked_and_names_taken_are_said(folder: Path) -> None:
    state = DrawState.of("flats.png", "9")
    state.tick(Line.LAYERS)
    with pytest.raises(UsageError, match="nothing is ticked"):
        _ = state.order
    (folder / "page9.ora").write_text("mine")
    state.tick(Line.LAYERS)
    with pytest.raises(UsageError, match="already exists; give another name, or tick overwrite"):
        _ = state.order
    state.tick(Line.REPLACE)
    assert state.order.replace


# The screen.


def said(screen: DrawScreen) -> str:
    return str(screen.query_one("#draw-line", Static).render())


def listed(screen: DrawScreen) -> str:
    shown = screen.query_one(OrderList)
    return "\n".join(shown.render_line(y).text for y in range(len(LINES)))


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_what_is_ticked_is_drawn(folder: Path, shown: Opened, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: DrawScreen) -> None:
        await pilot.press("down", "space", "enter")
        await write(pilot, "plates")
        await pilot.press("down", "space", "down", "enter")
        await write(pilot, "150")
        for words in ("[x] layers", "page9.ora", "[x] plates", "[x] proof", "150"):
            assert words in listed(screen)
        await pilot.press("D")
        await settled(pilot)
        for words in ("page9.ora: 5 layers", "plates: 3 plates", "page9-proof.png: proof"):
            assert words in said(screen)
        await pilot.press("D")
        await settled(pilot)
        assert "page9.ora: already exists" in said(screen)
        await pilot.press("end", "space")
        assert "replace files" in "".join(screen.listed.render_line(y).text for y in range(10))
        await pilot.press("D")
        await settled(pilot)
        assert said(screen).count("\n") == 4

    screens.play(DrawScreen(shown, "9"), scene, size=size)
    with Image.open(folder / "page9-proof.png") as proof:
        page = shown.flats.page
        assert proof.size == (page.width, page.height)
    assert sorted(path.name for path in folder.iterdir()) == [
        *("page9-proof.png", "page9.ora", "plates"),
    ]


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[list[int], threading.Event]]:
    """Holds the drawing at a moment until Esc is pressed, however fast the machine is."""
    moment, reached, go = [0], threading.Event(), threading.Event()
    told = DrawScreen._told

    def held(screen: DrawScreen, done: float) -> None:
        if threading.current_thread() is not threading.main_thread():
            moment[0] -= 1
            if moment[0] == 0:
                reached.set()
                assert go.wait(PATIENCE)
        told(screen, done)

    monkeypatch.setattr(DrawScreen, "_told", held)
    monkeypatch.setattr(DrawScreen, "go", go, raising=False)
    yield moment, reached
    go.set()


@pytest.mark.parametrize("moment", [1, 2, 4, 6, 10, 14, 18, 25])
@pytest.mark.parametrize("quits", [False, True])
def test_esc_leaves_nothing_half_written(
    folder: Path,
    shown: Opened,
    gate: tuple[list[int], threading.Event],
    moment: int,
    quits: bool,
) -> None:
    gate[0][0] = moment

    async def scene(pilot: Pilot[None], screen: DrawScreen) -> None:
        await pilot.press("down", "space", "down", "space", "D")
        assert await asyncio.to_thread(gate[1].wait, PATIENCE)
        if quits:  # as when the program ends
            screen.on_unmount()
        else:
            await pilot.press("escape")
            assert said(screen) == "stopping"
        screen.go.set()  # type: ignore[attr-defined]
        await settled(pilot)
        assert said(screen) == "stopped; nothing is written"
        assert pilot.app.screen is screen
        if not quits:
            assert not list(folder.iterdir())
            await pilot.press("escape")

    screens.play(DrawScreen(shown, "9"), scene)
    assert not list(folder.iterdir())


def test_it_can_be_drawn_after_it_was_stopped(
    folder: Path, shown: Opened, gate: tuple[list[int], threading.Event]
) -> None:
    gate[0][0] = 3

    async def scene(pilot: Pilot[None], screen: DrawScreen) -> None:
        await pilot.press("D")
        assert await asyncio.to_thread(gate[1].wait, PATIENCE)
        await pilot.press("escape")
        screen.go.set()  # type: ignore[attr-defined]
        await settled(pilot)
        await pilot.press("D")
        await settled(pilot)
        assert "page9.ora: 5 layers" in said(screen)

    screens.play(DrawScreen(shown, "9"), scene)
    assert [path.name for path in folder.iterdir()] == ["page9.ora"]


def test_a_folder_that_may_not_be_written_into_is_said(folder: Path, shown: Opened) -> None:
    async def scene(pilot: Pilot[None], screen: DrawScreen) -> None:
        await pilot.press("enter")
        await write(pilot, "nowhere/[bold]page.ora")
        await pilot.press("D")
        await settled(pilot)
        assert "nothing is written: nowhere/[bold]page.ora: cannot be written" in said(screen)

    screens.play(DrawScreen(shown, "9"), scene)


# A real terminal.


def test_from_the_page_to_a_file_in_a_terminal(tmp_path: Path) -> None:
    comic_page.draw(200, line=6, smooth=False).save(tmp_path / "flats.png")
    arguments = ("page", "flats.png", "--keep", comic_page.INK, "--project", "ferrow")
    with Terminal(*arguments, "--log", str(tmp_path / "l.sqlite"), folder=tmp_path) as terminal:
        terminal.until("neighbours still differ")
        terminal.press("D")
        terminal.until("contract proof")
        terminal.press("D")
        terminal.until("flats-drawn.ora: 5 layers")
        terminal.press("escape")
        terminal.until("neighbours still differ")
        terminal.press("q")
        terminal.wait()
    assert sorted(path.name for path in tmp_path.iterdir()) >= ["flats-drawn.ora", "flats.png"]
