"""Choosing a palette through Textual's Pilot."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest
import screens
from screens import OPEN
from textual.pilot import Pilot

from tuimatch.colour.colorimetry import displayed, lab_to_xyz
from tuimatch.palette import file as palette_file
from tuimatch.palette.file import shipped_folder, shipped_names
from tuimatch.tui.screens.palette_screen import PaletteList, PaletteScreen, entries

MINE = (shipped_folder() / "zine-two-inks.toml").read_text()

Scene = Callable[[Pilot[None], PaletteScreen], Coroutine[Any, Any, None]]


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def play(scene: Scene, current: str = "screen-quarters", size: tuple[int, int] = (100, 30)) -> Any:
    return screens.play(PaletteScreen(palette_file.load(current)), scene, size)


def foot(screen: PaletteScreen) -> str:
    return str(screen.query_one("#palette-foot").render())


def text(screen: PaletteScreen) -> list[str]:
    palettes = screen.palettes
    return ["".join(s.text for s in palettes.render_line(y)) for y in range(palettes.size.height)]


def test_shipped_palettes_and_those_of_the_folder_broken_ones_last() -> None:
    Path("mine.toml").write_text(MINE.replace("Zine, two inks", "Ferrow [b]zine"))
    Path("broken.toml").write_text(MINE.replace("tints", "tnits"))
    Path("notes.txt").write_text("no palette")
    found = entries(palette_file.load("screen-quarters"))
    assert [entry.name for entry in found] == [*shipped_names(), "mine.toml", "broken.toml"]
    for entry in found[:-1]:
        palette = palette_file.load(entry.name)
        assert entry.palette == palette
        assert not entry.refusal
        solids = [palette.paper, *(ink.solid for ink in palette.inks)]
        if palette.kind == "measured":
            solids = [tuple(displayed(lab_to_xyz(lab)).srgb.tolist()) for lab in solids]
        assert list(entry.colours) == solids
    assert found[-1].palette is None
    assert found[-1].refusal.startswith("broken.toml: inks[1].tnits: is not a known key")


def test_what_is_said_of_each() -> None:
    Path("mine.toml").write_text(MINE.replace("Zine, two inks", "Ferrow [b]zine"))

    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        rows = text(screen)
        assert {len(row) for row in rows} == {screen.palettes.size.width}
        shown = "\n".join(rows)
        assert "Coated cover, tenths\n" in shown.replace("  ", "").replace(" \n", "\n")
        assert "14,641 recipes, measured, prints within ΔE 1.4, coated-tenths" in shown
        assert "Ferrow [b]zine" in shown  # text, not markup
        assert "36 recipes, screen, mine.toml" in shown
        (used,) = [row for row in rows if "in use" in row]
        assert "Newsprint, quarter tints" in used and "▸" in used
        assert "ANSI CGATS/SNAP TR 002-2007" in foot(screen)
        grounds = {
            s.style.bgcolor.name
            for s in screen.palettes.render_line(0)
            if s.style and s.style.bgcolor
        }
        assert {"#fffdf5", "#ffe800", "#e4007c", "#009ee0"} <= grounds

    play(scene, "newsprint-quarters")


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_keys_move_through_every_palette(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        names = shipped_names()

        async def press(key: str) -> str:
            await pilot.press(key)
            entry = screen.palettes.entry
            assert entry is not None and entry.palette is not None
            assert any("▸" in row and entry.palette.name in row for row in text(screen))
            return entry.name

        assert [await press("down") for _ in names] == [*names[1:], names[-1]]
        assert [await press(key) for key in ("home", "end")] == [names[0], names[-1]]
        assert [await press(key) for key in ("up", "k", "j")] == [names[-2], names[-3], names[-2]]
        await press("home")
        assert await press("pagedown") != names[0]
        assert await press("pageup") == names[0]

    play(scene, size=size)


def test_choosing_and_leaving() -> None:
    async def take(pilot: Pilot[None], screen: PaletteScreen) -> None:
        await pilot.press("down", "enter")

    async def leave(pilot: Pilot[None], screen: PaletteScreen) -> None:
        await pilot.press("down", "escape")

    assert play(take) == palette_file.load(shipped_names()[1])
    assert play(leave) is None
    Path("mine.toml").write_text(MINE)

    async def mine(pilot: Pilot[None], screen: PaletteScreen) -> None:
        await pilot.press("end", "enter")

    answer = play(mine)
    assert (answer.stem, answer.text) == ("mine", MINE)


def test_a_palette_from_elsewhere_is_in_the_list_and_in_use(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "press.toml").write_text(MINE)

    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        (used,) = [row for row in text(screen) if "in use" in row]
        assert "Zine, two inks" in used and "▸" in used
        await pilot.press("enter")

    assert play(scene, str(elsewhere / "press.toml")).stem == "press"


def test_a_refused_file_says_why_and_is_not_chosen() -> None:
    Path("broken.toml").write_text('name = "\\u001b[31m"')

    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        await pilot.press("end", "enter")
        assert "broken.toml: kind: is missing" in foot(screen)
        assert any("broken.toml: cannot be used" in row for row in text(screen))
        assert pilot.app.screen is screen

    assert play(scene) == OPEN


def test_the_pointer_points_and_then_chooses() -> None:
    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        await pilot.click(PaletteList, offset=(10, 3))
        assert screen.palettes.cursor == 1
        assert pilot.app.screen is screen
        await pilot.click(PaletteList, offset=(10, 3 * len(shipped_names()) + 1))
        assert screen.palettes.cursor == 1
        await pilot.click(PaletteList, offset=(10, 4))

    assert play(scene) == palette_file.load(shipped_names()[1])


@pytest.mark.parametrize("size", [(36, 24), (36, 12), (24, 12)])
def test_a_small_pane_is_laid_out_once_and_holds_every_part(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        for selector in ("#palette-head", "PaletteList", "#palette-foot", "Foot"):
            region = screen.query_one(selector).region
            assert region.area and region.bottom <= size[1] and region.right <= size[0]
        await pilot.press("escape")

    assert play(scene, size=size) is None


@pytest.mark.parametrize("width", [36, 48, 60, 72, 80, 100, 160])
def test_what_is_said_of_a_palette_is_whole_at_every_width(width: int) -> None:
    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        for line in text(screen):
            assert "…" not in line
        assert any("recipes" in line for line in text(screen))

    play(scene, size=(width, 30))
