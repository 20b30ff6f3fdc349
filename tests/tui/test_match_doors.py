"""The match screen through Textual's Pilot: the keys that open another screen, and following."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from match_app import Play, head, limits, message, paste
from PIL import Image
from screens import rows, settled
from textual.pilot import Pilot

from tuimatch.colour.target import from_lab
from tuimatch.log import Log
from tuimatch.match.ranking import Hold
from tuimatch.palette import file as palette_file
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.project_screen import ProjectScreen
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
        assert screen.candidate is not None
        assert screen.keeper.choices[-1].delta_e == screen.candidate.delta_e

    play(scene)


def test_another_palette_keeps_the_target(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("p")
        await settled(pilot)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert screen.palette.stem == "coated-tenths"
        assert "#d94f2a" in head(screen)
        assert "14,641 recipes" in limits(screen)

    play(scene)


def test_following_the_clipboard(play: Play, monkeypatch: pytest.MonkeyPatch) -> None:
    held = ["#112233"]
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    monkeypatch.setattr("pyperclip.paste", lambda: held[0])
    monkeypatch.setattr("pyperclip.copy", lambda text: held.__setitem__(0, text))

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        held[0] = "tomato"
        await pilot.pause(0.6)
        assert "#d94f2a" in head(screen)  # off at start
        await pilot.press("o")
        await settled(pilot)
        await pilot.pause(0.6)
        assert "#d94f2a" in head(screen)  # what was there before is not news
        held[0] = "#2a8f6d"
        await pilot.pause(0.6)
        assert "#2a8f6d" in head(screen)
        held[0] = "a sentence about tomatoes"
        await pilot.pause(0.6)
        await pilot.press("w", "w", "y")  # our own copy, a colour as hex or device-cmyk()
        await pilot.pause(0.6)
        assert "#2a8f6d" in head(screen)
        await pilot.press("o")
        held[0] = "#445566"
        await pilot.pause(0.6)
        assert "#2a8f6d" in head(screen)

    play(scene)


def test_review_brings_back_a_colour_and_its_recipe(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("4", *"coat", "enter")
        taken = screen.keeper.choices[-1]
        await paste(pilot, "#22aa44")
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert "#d94f2a" in head(screen)
        assert screen.candidate is not None
        assert screen.candidate.delta_e == taken.delta_e
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("t", *"scarf", "enter", "escape")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert [c.label for c in screen.keeper.choices] == ["coat", "scarf"]

    play(scene)


def test_a_project_brings_its_palette(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", "escape", "P")
        await settled(pilot)
        await pilot.press("n", *"second", "enter")
        await settled(pilot)
        screen.set_palette(palette_file.load("newsprint-quarters"))
        await settled(pilot)
        await pilot.press("1", "escape")
        for project, palette in (("ferrow", "screen-quarters"), ("second", "newsprint-quarters")):
            await pilot.press("P")
            await settled(pilot)
            projects = pilot.app.screen
            assert isinstance(projects, ProjectScreen)
            await pilot.press("home" if project == "ferrow" else "end")
            await settled(pilot)
            assert f"▸ {project}" in "".join(rows(projects))
            await pilot.press("enter")
            await settled(pilot)
            assert screen.keeper.project == project
            assert screen.palette.stem == palette

    play(scene)


def test_another_project_has_its_own_choices(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", "escape", "P")
        await settled(pilot)
        await pilot.press("n", *"second", "enter")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert screen.keeper.project == "second"
        assert not screen.keeper.choices
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
        assert screen.match is not None
        assert screen.match.question.target.srgb == (0x2F, 0x7F, 0x9F)

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
                assert screen.palette.stem == expected
                screen.set_palette(palette_file.load("newsprint-quarters"))
                await settled(pilot)
                await pilot.press("enter", "escape")

    asyncio.run(whole())


def test_what_is_taken_from_the_passes_is_known_to_the_match(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.match is not None
        best = screen.palette.recipe_text(
            screen.match.recipes.tints_of(int(screen.match.ranking.rows[0]))
        )
        await pilot.press("4", *"coat", "enter", "n")
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        await pilot.press("t")
        await settled(pilot)
        await pilot.press("escape", "escape")
        await settled(pilot)
        assert pilot.app.screen is screen
        (kept,) = screen.keeper.choices
        assert kept.label == "coat"
        assert kept.recipe == best

    play(scene)


# What happens while something else goes on.


def test_until_another_palette_is_mixed_everything_stays_as_it_is(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        screen.set_palette(palette_file.load("coated-tenths"))
        screen.action_hold()  # nothing is awaited: the new recipes cannot be there yet
        screen.action_dots()
        screen.action_next_wording()
        screen.action_take()
        screen.set_palette(palette_file.load("newsprint-quarters"))
        screen.action_take()
        await settled(pilot)
        assert [c.palette for c in screen.keeper.choices] == ["screen-quarters", "screen-quarters"]
        assert screen.match is not None
        assert screen.match.recipes.palette.stem == screen.palette.stem == "newsprint-quarters"
        assert screen.match.question.hold is Hold.LIGHTNESS

    play(scene)


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
            assert screen.set_target("#22aa44")
            await settled(pilot)
            assert "#22aa44" in head(screen)

    asyncio.run(whole())


def test_a_target_whose_text_is_no_colour_outlives_another_palette(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        dusk = from_lab((30.0, 5.5, -20.25), "the harbour at dusk")
        screen.want(dusk)
        screen.set_palette(palette_file.load("newsprint-quarters"))
        await settled(pilot)
        assert screen.match is not None
        assert screen.match.question.target == dusk
        assert screen.match.recipes.palette.stem == "newsprint-quarters"

    play(scene)


def test_what_another_window_takes_is_known_here(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", *"coat", "enter")
        await paste(pilot, "tomato")
        with Log(screen.keeper.path) as log:
            log.edit(screen.keeper.choices[0].id, label="sail")
        for _ in range(60):
            await pilot.pause(0.1)
            if screen.keeper.choices[0].label == "sail":
                break
        assert screen.keeper.choices[0].label == "sail"
        assert head(screen).startswith("tomato")

    play(scene)


def test_what_is_laid_stays_what_it_is_while_the_clipboard_is_followed(
    play: Play, monkeypatch: pytest.MonkeyPatch
) -> None:
    held = ["#112233"]
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    monkeypatch.setattr("pyperclip.paste", lambda: held[0])

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("o")
        await settled(pilot)
        await pilot.press("b", "space")
        held[0] = "#224466"
        await pilot.pause(0.6)
        await pilot.press("space")
        (choice,) = screen.keeper.choices
        assert choice.target_text == "#d94f2a"
        with Log(screen.keeper.path) as log:
            assert len(log.ticks.of("laying", [choice.id])) == 2
        await pilot.press("escape")
        await pilot.pause(0.6)
        assert "#224466" in head(screen)  # copied meanwhile, it becomes the target now

    play(scene)


def test_a_choice_of_a_palette_that_has_lost_an_ink_is_no_recipe_here(
    play: Play, tmp_path: Path
) -> None:
    whole = palette_file.load("screen-quarters").text
    fewer = whole[: whole.index("[[inks]]", whole.index("cyan") - 40)]
    (tmp_path / "mine.toml").write_text(whole, encoding="utf-8")

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", *"coat", "enter")
        (tmp_path / "mine.toml").write_text(fewer, encoding="utf-8")
        screen.set_palette(palette_file.load(str(tmp_path / "mine.toml")))
        await settled(pilot)
        assert len(screen.palette.inks) == 2
        await pilot.press("v")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert message(screen) == "that recipe is of mine; p changes the palette"
        assert "#d94f2a" in head(screen)

    play(scene, palette=str(tmp_path / "mine.toml"))


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
