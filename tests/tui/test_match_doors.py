"""The match screen through Textual's Pilot: the keys that open another screen, and following."""

from __future__ import annotations

import asyncio
from functools import partial
from pathlib import Path

import pytest
from match_app import Play, head, limits, message, paste
from PIL import Image
from screens import settled
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match import clipboard_watch
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.widgets.lines import Lines


def test_doors_open_and_close(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for key, name in (
            ("r", "ReachScreen"),
            ("a", "ApartScreen"),
            ("v", "ReviewScreen"),
            ("P", "ProjectScreen"),
            ("n", "PassesScreen"),
            ("e", "EconomyScreen"),
            ("c", "WheelScreen"),
            ("b", "LayingScreen"),
            ("p", "PaletteScreen"),
            ("question_mark", "HelpScreen"),
        ):
            await pilot.press(key)
            await settled(pilot)
            assert type(pilot.app.screen).__name__ == name
            await pilot.press("escape")
            await pilot.pause()
            assert pilot.app.screen is screen

    play(scene)


def test_taking_from_the_map(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("r")
        await settled(pilot)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert screen.state.candidate is not None
        assert screen.state.keeper.choices[-1].delta_e == screen.state.candidate.delta_e

    play(scene)


def test_another_palette_keeps_the_target(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("p")
        await settled(pilot)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert screen.state.palette.stem == "coated-tenths"
        assert "#d94f2a" in head(screen)
        assert "14,641 recipes" in limits(screen)

    play(scene)


class Clipboard:
    """A desktop's clipboard that counts how often it is read."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.held, self.reads = "#112233", 0
        monkeypatch.setattr(clipboard_watch, "_POLL_SECONDS", 0.02)
        monkeypatch.delenv("SSH_CONNECTION", raising=False)
        monkeypatch.setattr("pyperclip.paste", self.paste)
        monkeypatch.setattr("pyperclip.copy", partial(setattr, self, "held"))

    def paste(self) -> str:
        self.reads += 1
        return self.held

    async def looked_at(self, pilot: Pilot[None]) -> None:
        """Until what is held now has been read, and what came of it is shown."""
        before = self.reads
        while self.reads < before + 2:
            await pilot.pause(0.01)
        await pilot.pause(0.01)
        await pilot.pause()


def test_following_the_clipboard(play: Play, monkeypatch: pytest.MonkeyPatch) -> None:
    clipboard = Clipboard(monkeypatch)

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        clipboard.held = "tomato"
        await pilot.pause(0.1)
        assert clipboard.reads == 0  # off at start
        await pilot.press("o")
        await clipboard.looked_at(pilot)
        assert "following the clipboard" in message(screen)
        assert "#d94f2a" in head(screen)  # what was there before is not news
        clipboard.held = "#2a8f6d"
        await clipboard.looked_at(pilot)
        assert "#2a8f6d" in head(screen)
        clipboard.held = "a sentence about tomatoes"
        await clipboard.looked_at(pilot)
        await pilot.press("w", "w", "y")  # our own copy, a colour as hex or device-cmyk()
        await clipboard.looked_at(pilot)
        assert "#2a8f6d" in head(screen)
        await pilot.press("o")
        clipboard.held = "#445566"
        await pilot.pause(0.1)
        assert "#2a8f6d" in head(screen)

    play(scene)


def test_review_brings_back_a_colour_and_its_recipe(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("4", *"coat", "enter")
        taken = screen.state.keeper.choices[-1]
        await paste(pilot, "#22aa44")
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert "#d94f2a" in head(screen)
        assert screen.state.candidate is not None
        assert screen.state.candidate.delta_e == taken.delta_e
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("T", *"scarf", "enter", "escape")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert [c.label for c in screen.state.keeper.choices] == ["coat", "scarf"]

    play(scene)


def test_another_project_has_its_own_choices(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", "escape", "P")
        await settled(pilot)
        await pilot.press("N", *"second", "enter")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert screen.state.keeper.project == "second"
        assert not screen.state.keeper.choices
        assert "second" in head(screen)

    play(scene)


def test_a_target_from_a_picture(play: Play, tmp_path: Path) -> None:
    Image.new("RGB", (40, 30), "#2f7f9f").save(tmp_path / "quay.png")

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("z")
        screen.prompt.value = str(tmp_path / "quay.png")
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert screen.state.match is not None
        assert screen.state.match.question.target.srgb == (0x2F, 0x7F, 0x9F)

    play(scene)


def test_making_a_palette_opens_and_leaves(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("Z")
        await settled(pilot)
        assert type(pilot.app.screen).__name__ == "MakeScreen"
        await pilot.press("escape")
        await pilot.pause()
        assert pilot.app.screen is screen

    play(scene)


def test_a_project_opens_on_the_palette_it_used_last(tmp_path: Path) -> None:
    def opened() -> TuimatchApp:
        return TuimatchApp(
            palette=palette_file.load("screen-quarters"),
            colour="#d9803f",
            project="ferrow",
            log_path=tmp_path / "log.sqlite",
            palette_given=False,
        )

    async def whole() -> None:
        for expected in ("screen-quarters", "newsprint-quarters"):
            app = opened()
            async with app.run_test(size=(100, 30)) as pilot:
                await settled(pilot)
                screen = app.screen
                assert isinstance(screen, MatchScreen)
                assert screen.state.palette.stem == expected
                screen.set_palette(palette_file.load("newsprint-quarters"))
                await settled(pilot)
                await pilot.press("enter", "escape")

    asyncio.run(whole())


def test_what_is_taken_from_the_passes_is_known_to_the_match(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.state.match is not None
        best = screen.state.palette.recipe_text(
            screen.state.match.recipes.tints_of(int(screen.state.match.ranking.rows[0]))
        )
        await pilot.press("4", *"coat", "enter", "n")
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("escape", "escape")
        await settled(pilot)
        assert pilot.app.screen is screen
        (kept,) = screen.state.keeper.choices
        assert kept.label == "coat"
        assert kept.recipe == best

    play(scene)


# What happens while something else goes on.


def test_a_colour_given_while_the_inks_are_mixed_is_the_target(tmp_path: Path) -> None:
    async def whole() -> None:
        app = TuimatchApp(
            palette=palette_file.load("coated-tenths"),
            colour="tomato",
            project="ferrow",
            log_path=tmp_path / "log.sqlite",
        )
        async with app.run_test(size=(100, 30)) as pilot:
            screen = app.screen
            assert isinstance(screen, MatchScreen)
            assert screen.state.set_target("#22aa44")
            await settled(pilot)
            assert "#22aa44" in head(screen)

    asyncio.run(whole())


def test_what_is_laid_stays_what_it_is_while_the_clipboard_is_followed(
    play: Play, monkeypatch: pytest.MonkeyPatch
) -> None:
    clipboard = Clipboard(monkeypatch)

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("o")
        await clipboard.looked_at(pilot)
        await pilot.press("b", "space")
        clipboard.held = "#224466"
        await pilot.pause(0.1)
        await pilot.press("space")
        (choice,) = screen.state.keeper.choices
        assert choice.target_text == "#d94f2a"
        with Log(screen.state.keeper.path) as log:
            assert len(log.ticks.of([choice.id])) == 2
        await pilot.press("escape")
        await clipboard.looked_at(pilot)
        assert "#224466" in head(screen)  # copied meanwhile, it becomes the target now

    play(scene)


@pytest.mark.parametrize(
    ("colour", "said"),
    [
        ("#27445c", "that recipe is for mine; p changes the palette"),
        ("#d94f2a", "for “coat”: Enter takes a recipe for it again"),  # it has no cyan
    ],
)
def test_only_a_recipe_with_the_ink_that_a_palette_has_lost_is_no_recipe_here(
    play: Play, tmp_path: Path, colour: str, said: str
) -> None:
    whole = palette_file.load("screen-quarters").text
    fewer = whole[: whole.index("[[inks]]", whole.index("cyan") - 40)]
    (tmp_path / "mine.toml").write_text(whole, encoding="utf-8")

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", *"coat", "enter")
        (tmp_path / "mine.toml").write_text(fewer, encoding="utf-8")
        screen.set_palette(palette_file.load(str(tmp_path / "mine.toml")))
        await settled(pilot)
        assert len(screen.state.palette.inks) == 2
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert message(screen) == said
        assert colour in head(screen)

    play(scene, colour, palette=str(tmp_path / "mine.toml"))


def test_a_path_is_pasted_into_the_question_for_a_picture(play: Play, tmp_path: Path) -> None:
    Image.new("RGB", (40, 30), "#2f7f9f").save(tmp_path / "the quay.png")

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("z")
        await paste(pilot, f"'{tmp_path / 'the quay.png'}' ")
        await pilot.press("enter")
        await settled(pilot)
        assert type(pilot.app.screen).__name__ == "PickScreen"
        await pilot.press("escape")
        await pilot.press("z")
        await paste(pilot, "~nobody-of-that-name/quay.png")
        await pilot.press("enter")
        await settled(pilot)
        shown = "".join(lines.text for lines in pilot.app.screen.query(Lines))
        assert "~nobody-of-that-name/quay.png: " in shown

    play(scene)


@pytest.mark.parametrize("size", [(36, 24), (100, 30)])
def test_a_recipe_laid_in_a_small_pane_goes_on_to_the_next_area(
    play: Play, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", *"lamp glass", "enter")
        await paste(pilot, "#2a5a48")
        await pilot.press("1", *"sea", "enter", "b", *["space"] * 3)
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        if size[0] >= 60:
            assert pilot.app.screen is screen
            return
        passes = pilot.app.screen
        assert isinstance(passes, PassesScreen)
        line = passes.passes.lines[passes.passes.cursor]
        assert "lamp glass" in [area.name for area in line.one.areas]
        await pilot.press("escape")
        assert pilot.app.screen is screen
        assert screen.query_one("#body").display

    play(scene, size=size)
