"""The hue wheel through Textual's Pilot."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import cache
from typing import Any

import pytest
import screens
from screens import OPEN
from textual.pilot import Pilot

from tuimatch.match.limits import Mask
from tuimatch.match.wheel import wheel
from tuimatch.palette import file as palette_file
from tuimatch.recipe.laying import steps
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.wheel_screen import COUNTS, HueList, WheelScreen
from tuimatch.tui.widgets.build_up_strip import BuildUpStrip
from tuimatch.tui.widgets.lines import Lines

ZINE, NEWSPRINT = "zine-two-inks", "newsprint-quarters"

Scene = Callable[[Pilot[None], WheelScreen], Coroutine[Any, Any, None]]


@cache
def mixed(palette: str) -> Recipes:
    return mix(palette_file.load(palette))


def play(
    scene: Scene,
    palette: str = NEWSPRINT,
    allowed: Mask | None = None,
    size: tuple[int, int] = (100, 30),
) -> Any:
    return screens.play(WheelScreen(mixed(palette), allowed), scene, size)


def drawn(widget: HueList | BuildUpStrip, y: int) -> list[tuple[str, str | None]]:
    """Sign and ground of each cell of a line."""
    return [
        (sign, s.style.bgcolor.name if s.style and s.style.bgcolor else None)
        for s in widget.render_line(y)
        for sign in s.text
    ]


def text(widget: HueList | BuildUpStrip, y: int) -> str:
    return "".join(sign for sign, _ in drawn(widget, y))


def hexed(rgb: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rgb)


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30)])
@pytest.mark.parametrize("palette", [NEWSPRINT, ZINE])
def test_each_hue_is_shown_with_the_exact_colours_of_its_build_up(
    palette: str, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        found = wheel(mixed(palette))
        for place, hue in enumerate(found):
            line = screen.hues.cursor - screen.hues._first
            grounds = [ground for _, ground in drawn(screen.hues, line) if ground]
            expected = [hexed(step.srgb) for step in hue.steps]
            assert [g for g in dict.fromkeys(grounds) if g in expected] == expected
            said = text(screen.hues, line)
            assert said.startswith(f"▸{hue.angle:4.0f}°")
            assert ("not clean" in said) == (not hue.clean)
            row = hue.nearest if hue.row is None else hue.row
            assert row is not None
            strip = screen.query_one(BuildUpStrip)
            strip_grounds = list(dict.fromkeys(ground for _, ground in drawn(strip, 0)))
            recipes = mixed(palette)
            seen = [(recipes.canvas_rgb(recipes.tints_of(0)), recipes.rgb_of(0))]
            seen += [(step.canvas, step.srgb) for step in steps(recipes, row)]
            # Where the palette has screen colours, the canvas and beside it the print.
            both = [hexed(rgb) for pair in seen for rgb in pair if rgb is not None]
            assert strip_grounds == list(dict.fromkeys(both))
            first = "paper" if recipes.canvas is None else "screen"
            assert first in text(strip, strip.size.height - 1)
            assert screen.hues.cursor == place
            await pilot.press("down")

    play(scene, palette, size=size)


def test_where_there_is_no_clean_hue_it_is_said_with_the_nearest() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        facts, head = (
            screen.query_one("#wheel-facts", Lines),
            screen.query_one("#wheel-head", Lines),
        )
        assert head.text == "6 of 12 hues clean (two inks at most) · Zine, two inks"
        assert facts.text == (
            "coral: ember 80 %, harbour blue: depth 80 %\nhue 0°: 5° off, vividness 22, #7d4d5a"
        )
        await pilot.press("down", "down", "down")
        assert facts.text == (
            "not clean, no recipe comes near it\n"
            "the nearest clean hue is 37° off: coral: blush 20 %"
        )
        await pilot.press("end")
        recipe = "coral: brick 60 %, harbour blue: depth 80 %"
        assert facts.text.startswith(f"{recipe}\nhue 330°: 8° off, vividness ")

    play(scene, ZINE)


def test_a_third_ink_is_said_to_grey() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.press("plus", "plus", *["down"] * 14)  # 24 hues, 210°
        assert "the third ink greys it" in screen.query_one("#wheel-facts", Lines).text

    play(scene)


@pytest.mark.parametrize(("keys", "place"), [((), 0), (("down", "j", "k"), 1), (("end",), 11)])
def test_enter_answers_the_recipe_that_holds_the_hue(keys: tuple[str, ...], place: int) -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.press(*keys, "enter")

    assert play(scene) == wheel(mixed(NEWSPRINT))[place].row


def test_enter_answers_the_nearest_clean_recipe_where_none_holds_the_hue() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.press(*["down"] * 6, "enter")

    hue = wheel(mixed(ZINE))[6]
    assert hue.row is None
    assert play(scene, ZINE) == hue.nearest


@pytest.mark.parametrize("key", ["escape"])
def test_leaving_answers_nothing(key: str) -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.press("down", key)

    assert play(scene) is None


def test_more_and_fewer_hues_keep_the_place() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.press(*["down"] * 6)
        assert screen.hues.hue.angle == 180
        counts = []
        for key in ("plus", "equals_sign", "plus", "plus", "minus", *["minus"] * 6):
            await pilot.press(key)
            counts.append(len(screen.hues._hues))
            assert screen.hues.hue.angle == 180
        assert counts == [18, 24, 36, 36, 24, 18, 12, 8, 6, 6, 6]
        assert set(counts) <= set(COUNTS)

    play(scene)


def test_a_click_chooses_and_another_one_answers() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.click(HueList, offset=(5, 3))
        assert screen.hues.cursor == 3
        assert screen.is_current
        await pilot.click(HueList, offset=(5, 3))

    assert play(scene) == wheel(mixed(NEWSPRINT))[3].row


def test_help_shows_the_keys() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(pilot.app.screen, HelpScreen)
        said = {key.says for key in pilot.app.screen._keys}
        assert {"Look at it in the match", "Smaller steps of hue", "Larger steps of hue"} <= said

    play(scene)


def test_only_allowed_recipes_stand_on_the_wheel() -> None:
    recipes = mixed(NEWSPRINT)
    single = recipes.inks <= 1

    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        rows = [hue.row for hue in screen.hues._hues if hue.row is not None]
        assert rows
        assert all(single[row] for row in rows)

    play(scene, allowed=single)


def test_with_nothing_allowed_there_is_nothing_to_look_at() -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        assert "these inks have no clean hue at all" in screen.query_one("#wheel-facts", Lines).text
        assert "none of 12 hues clean" in screen.query_one("#wheel-head", Lines).text
        await pilot.press("enter", "down", "enter")
        assert screen.is_current

    assert play(scene, allowed=mixed(NEWSPRINT).inks > 9) == OPEN


@pytest.mark.parametrize("width", [36, 46, 60, 63, 72, 80, 92, 100, 160])
@pytest.mark.parametrize("palette", [NEWSPRINT, ZINE])
def test_at_every_width_words_are_whole_and_apart_from_the_colours(
    palette: str, width: int
) -> None:
    async def scene(pilot: Pilot[None], screen: WheelScreen) -> None:
        await pilot.resize_terminal(width, 24)
        await pilot.pause()
        for place in range(12):
            for part in ("#wheel-head", "#wheel-facts"):
                lines = screen.query_one(part, Lines)
                shown = [lines.render_line(y).text for y in range(lines.size.height)]
                if screen.hues.hue.row is not None:
                    assert not any("…" in line for line in shown)
            signs = drawn(screen.hues, place)
            assert "…" not in text(screen.hues, place)
            plain = (" ", signs[0][1])
            assert signs[-1] == plain
            first = next((x for x, (_, ground) in enumerate(signs) if ground != plain[1]), None)
            assert first is None or signs[first - 1] == plain
            await pilot.press("down")

    play(scene, palette, size=(100, 30))
