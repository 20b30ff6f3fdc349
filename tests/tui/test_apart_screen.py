"""The candidate beside the project's choices through Textual's Pilot."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from functools import cache
from typing import Any

import pytest
from textual.app import App
from textual.pilot import Pilot

from tuimatch.colour.colorimetry import displayed, lab_to_xyz, seen_with_dichromacy
from tuimatch.colour.dichromacy import DICHROMACIES
from tuimatch.colour.target import parse
from tuimatch.log import Choice, new_choice
from tuimatch.match.ranking import rank
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.tui.screens.apart_screen import ApartScreen, beside

SIZES = [(60, 24), (100, 30), (160, 45)]
COLOURS = {
    "pine": "#4a7a3a",
    "[b]reeds": "#7a8a3a",
    "": "#222222",
    "sea at noon": "#2a4fd9",
    "moss": "#607040",
    "skin": "#e0b090",
    "tiles": "#509090",
    "a label of very many words, too long for its place": "#b06a8a",
    "flag": "#c03050",
}

Scene = Callable[[Pilot[None], ApartScreen], Coroutine[Any, Any, None]]


@cache
def mixed() -> Recipes:
    return mix(palette_file.load("screen-quarters"))


def nearest(colour: str) -> int:
    found = rank(parse(colour), mixed(), top=1).nearest
    assert found is not None
    return found.row


def choice(label: str, colour: str) -> Choice:
    recipes, row = mixed(), nearest(colour)
    lightness, a, b = recipes.lab[row].tolist()
    return new_choice(
        recipes.palette,
        recipes.tints_of(row),
        project="ferrow",
        target_text=colour,
        target_lab=parse(colour).lab,
        lab=(lightness, a, b),
        srgb=recipes.rgb_of(row),
        delta_e=0,
        label=label,
    )


CANDIDATE = "#b06030"


def screen_of(colours: dict[str, str]) -> ApartScreen:
    row = nearest(CANDIDATE)
    recipes = mixed()
    return ApartScreen(
        recipes.palette.recipe_wordings(recipes.tints_of(row)),
        recipes.xyz[row],
        recipes.rgb_of(row),
        [choice(label, colour) for label, colour in colours.items()],
    )


class Host(App[None]):
    def __init__(self, screen: ApartScreen) -> None:
        super().__init__()
        self.shown = screen

    def on_mount(self) -> None:
        self.push_screen(self.shown)


def play(
    scene: Scene, colours: dict[str, str] = COLOURS, size: tuple[int, int] = (100, 30)
) -> None:
    host = Host(screen_of(colours))

    async def whole() -> None:
        async with host.run_test(size=size) as pilot:
            await pilot.pause()
            await scene(pilot, host.shown)

    asyncio.run(whole())


def rows(screen: ApartScreen) -> list[str]:
    choices = screen.choices
    return ["".join(s.text for s in choices.render_line(y)) for y in range(choices.size.height)]


def grounds(screen: ApartScreen, y: int) -> list[str]:
    return [
        s.style.bgcolor.name
        for s in screen.choices.render_line(y)
        if s.style and s.style.bgcolor and not s.text.strip() and s.cell_length > 1
    ]


def hexed(rgb: tuple[int, ...]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def test_every_choice_is_compared_the_worst_first() -> None:
    row = nearest(CANDIDATE)
    xyz, rgb = mixed().xyz[row], mixed().rgb_of(row)
    choices = [choice(label, colour) for label, colour in COLOURS.items()]
    found = beside(xyz, rgb, choices)
    assert sorted(item.choice.label for item in found) == sorted(COLOURS)
    worst = [(not item.told.alike_for, min(item.told.dichromat)) for item in found]
    assert worst == sorted(worst)
    assert found[0].told.alike_for == ("protan", "deutan")
    assert beside(xyz, rgb, []) == []
    for item in found:
        assert item.seams[0] == (rgb, tuple(bytes.fromhex(item.choice.srgb[1:])))
        for (mine, other), kind in zip(item.seams[1:], DICHROMACIES, strict=True):
            for shown, seen in ((mine, xyz), (other, lab_to_xyz(item.choice.lab))):
                expected = displayed(seen_with_dichromacy(seen, kind)).srgb.tolist()
                assert list(shown) == expected


@pytest.mark.parametrize("size", SIZES)
def test_seams_numbers_and_warnings_are_shown(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        shown = rows(screen)
        assert {len(row) for row in shown} == {screen.choices.size.width}
        item = screen.choices.item
        assert item is not None
        assert "▸ moss" in shown[0] and "! become alike" in shown[2]
        for difference in (item.told.plain, *item.told.dichromat):
            assert f"{difference:.1f}" in shown[2]
        assert shown[2].count(" !") >= 2
        assert "!" not in shown[6]
        pairs = [hexed(rgb) for seam in item.seams for rgb in seam]
        for y in (0, 1):
            assert [g for g in grounds(screen, y) if g in pairs] == pairs
        head = str(screen.query_one("#apart-head").render())
        assert "1 of 9 recipes becomes alike" in head
        assert "prot" in head and "deut" in head and "trit" in head
        foot = str(screen.query_one("#apart-foot").render())
        assert "! alike with protanopia, deuteranopia" in foot
        assert item.choice.recipe in foot

    play(scene, size=size)


def test_keys_walk_through_all_choices() -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        places = []
        for key in ("down", "j", "up", "k", "end", "pageup", "pagedown", "home"):
            await pilot.press(key)
            places.append(screen.choices.cursor)
            item = screen.choices.item
            assert item is not None
            assert any(row.startswith("▸") for row in rows(screen))
            assert item.choice.recipe in str(screen.query_one("#apart-foot").render())
        assert places[:5] == [1, 2, 1, 0, 8]
        assert 0 < places[5] < 8
        assert places[6:] == [8, 0]

    play(scene, size=(60, 24))


def test_foreign_labels_are_text() -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        assert any("[b]reeds" in row for row in rows(screen))
        assert any("no label" in row for row in rows(screen))
        assert any("…" in row for row in rows(screen))

    play(scene, size=(100, 45))


@pytest.mark.parametrize("key", ["escape"])
def test_leaving(key: str) -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        await pilot.press(key)
        assert pilot.app.screen is not screen

    play(scene)


def test_no_choices_yet() -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        await pilot.press("down", "end", "pageup")
        assert "nothing kept yet" in str(screen.query_one("#apart-head").render())

    play(scene, {})


def test_none_alike() -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        assert "none of 1 recipe becomes alike" in str(screen.query_one("#apart-head").render())

    play(scene, {"sea": "#2a4fd9"})


@pytest.mark.parametrize("width", [36, 48, 60, 72, 80, 100, 160])
def test_recipes_numbers_and_heads_are_whole_at_every_width(width: int) -> None:
    async def scene(pilot: Pilot[None], screen: ApartScreen) -> None:
        await pilot.resize_terminal(width, 30)
        await pilot.pause()
        assert not any("…" in line for line in rows(screen))
        said = [str(screen.query_one(part).render()) for part in ("#apart-head", "#apart-foot")]
        assert not any("…" in part for part in said)
        heads = said[0].split("\n")[2].split()
        assert {"protan", "protanopia", "prot"} & set(heads)
        assert max(map(len, said[1].split("\n"))) <= width - 2

    short = {label: colour for label, colour in COLOURS.items() if len(label) < 12}
    play(scene, short)
