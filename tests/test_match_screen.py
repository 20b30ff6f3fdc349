"""The match screen through Textual's Pilot."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Callable, Coroutine
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from textual.pilot import Pilot

from tuimatch import palette_file
from tuimatch.log import Log
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.lines import Lines
from tuimatch.tui.match_screen import MatchScreen
from tuimatch.tui.ranked_list import RankedList
from tuimatch.tui.seam import Seam

Scene = Callable[[Pilot[None], MatchScreen], Coroutine[Any, Any, None]]


@pytest.fixture(autouse=True)
def _no_desktop(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def play(tmp_path: Path) -> Callable[..., None]:
    """Open the interface, wait until the ranking is there, and play a scene."""

    def run(
        scene: Scene,
        colour: str | None = "#d94f2a",
        palette: str = "screen-quarters",
        size: tuple[int, int] = (100, 30),
    ) -> None:
        async def whole() -> None:
            app = TuimatchApp(
                palette=palette_file.load(palette),
                colour=colour,
                project="ferrow",
                log_path=tmp_path / "log.sqlite",
            )
            async with app.run_test(size=size, notifications=True) as pilot:
                await _settled(pilot)
                screen = app.screen
                assert isinstance(screen, MatchScreen)
                await scene(pilot, screen)

        asyncio.run(whole())

    return run


async def _settled(pilot: Pilot[None]) -> None:
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def _paste(pilot: Pilot[None], text: str) -> None:
    from textual.events import Paste

    focused = pilot.app.focused
    assert focused is not None
    focused.post_message(Paste(text))
    await pilot.pause()


def _head(screen: MatchScreen) -> str:
    return screen.query_one("#head", Lines).text


def _message(screen: MatchScreen) -> str:
    return screen.query_one("#message", Lines).text


def _row_of(screen: MatchScreen) -> int:
    candidate = screen.candidates.candidate
    assert candidate is not None
    return candidate.rank


def test_keys_move_the_cursor_and_the_seam_with_it(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        ranks = []
        for key in ("down", "j", "up", "k", "end", "pageup", "pagedown", "home"):
            await pilot.press(key)
            ranks.append(_row_of(screen))
        assert ranks[:5] == [2, 3, 2, 1, 125]
        assert 1 < ranks[5] < 125
        assert ranks[6:] == [125, 1]
        seam = screen.query_one(Seam)
        first = [segment.style for segment in seam.render_line(0)]
        await pilot.press("down")
        second = [segment.style for segment in seam.render_line(0)]
        assert first[0] == second[0]  # the target stays
        assert first[1] != second[1]

    play(scene)


def test_out_of_reach_is_said(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert "out of reach, ΔE 7.0: much more vivid" in screen.query_one("#notice", Lines).text
        await _paste(pilot, "#e58a1f")
        assert "out of reach" not in screen.query_one("#notice", Lines).text

    play(scene)


def test_paste_sets_the_target_even_while_a_question_is_open(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await _paste(pilot, " TOMATO\n")
        assert "TOMATO" in _head(screen)
        await pilot.press("enter")
        await _paste(pilot, "#224466")
        assert "#224466" in _head(screen)
        assert screen.candidates.has_focus  # the question was about the colour before
        await pilot.press("enter")
        await _paste(pilot, "lamp [b]glass")
        assert screen.prompt.value == "lamp [b]glass"
        await pilot.press("enter")
        assert screen.candidates.has_focus

    play(scene)


def test_pasted_nonsense_is_refused_in_words(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for text in ("[/red]", "\x1b[31mred", "x" * 5000, "#12"):
            await _paste(pilot, text)
            assert "colour" in _message(screen)
            assert "\x1b" not in _message(screen)
            assert "#d94f2a" in _head(screen)

    play(scene)


def test_target_is_edited_with_a_key(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("t")
        assert screen.prompt.value == "#d94f2a"
        screen.prompt.value = "nonsense"
        await pilot.press("enter")
        assert "is no colour" in _message(screen)
        assert screen.prompt.has_focus
        screen.prompt.value = "oklch(0.6 0.17 40)"
        await pilot.press("enter")
        assert "oklch(0.6 0.17 40)" in _head(screen)
        await pilot.press("#", *"22aa44", "enter")
        assert "#22aa44" in _head(screen)
        await pilot.press("t", "escape")
        assert screen.candidates.has_focus

    play(scene)


@pytest.mark.parametrize(("key", "rank"), [("enter", 1), *((str(n), n) for n in range(1, 10))])
def test_taking(play: Callable[..., None], tmp_path: Path, key: str, rank: int) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press(key)
        with Log(tmp_path / "log.sqlite") as log:  # on disk before anything else is done
            (choice,) = log.choices("ferrow")
        assert _row_of(screen) == rank
        assert pilot.app.clipboard == choice.recipe
        await pilot.press(*"fog", "enter")
        await _settled(pilot)
        with Log(tmp_path / "log.sqlite") as log:
            assert [c.label for c in log.choices("ferrow")] == ["fog"]

    play(scene)


def test_a_log_that_cannot_be_written_is_said_and_nothing_ends(
    play: Callable[..., None], tmp_path: Path
) -> None:
    (tmp_path / "log.sqlite").write_bytes(b"no database, but long enough to be taken for one" * 40)

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("enter")
        await _settled(pilot)
        assert pilot.app.is_running

    play(scene)


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
@pytest.mark.parametrize("palette", palette_file.shipped_names())
def test_every_size_shows_seam_list_and_recipe(
    play: Callable[..., None], size: tuple[int, int], palette: str
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.seam.size.width >= 30
        assert screen.seam.size.height >= 6
        assert screen.candidates.size.height >= 6
        facts = screen.query_one("#facts", Lines).text
        assert " %" in facts
        widths = [
            sum(s.cell_length for s in screen.candidates.render_line(y))
            for y in range(screen.candidates.size.height)
        ]
        assert set(widths) == {screen.candidates.size.width}

    play(scene, palette=palette, size=size)


def _limits(screen: MatchScreen) -> str:
    return screen.query_one("#limits", Lines).text


def _facts(screen: MatchScreen) -> str:
    return screen.query_one("#facts", Lines).text


def _seam_colours(screen: MatchScreen) -> set[object]:
    """Every colour that the right half of the seam is drawn in."""
    found: set[object] = set()
    for y in range(screen.seam.size.height):
        for segment in list(screen.seam.render_line(y))[1:]:
            assert segment.style is not None
            found |= {segment.style.color, segment.style.bgcolor}
    return found - {None}


def test_dots_zoom_ruling_and_register(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        afar = _seam_colours(screen)
        await pilot.press("d")
        near = _seam_colours(screen)
        assert len(afar) <= 2 < len(near)  # yellow, cyan, both and paper
        assert "85 lines an inch fuse from 1.0 m" in _facts(screen)
        await pilot.press("full_stop")
        assert "100 lines an inch fuse from 0.9 m" in _facts(screen)
        await pilot.press("comma", "comma")
        assert "75 lines an inch" in _facts(screen)
        strips = [screen.seam.render_line(y) for y in range(10)]
        for key in ("plus", "minus", "m", "M"):
            await pilot.press(key)
            changed = [screen.seam.render_line(y) for y in range(10)]
            assert changed != strips, key
            strips = changed
        assert "yellow off by 0.5 dot" in _facts(screen)
        await pilot.press("m", "m", "d")
        assert screen.closeness.shifted is None
        assert _seam_colours(screen) == afar

    play(scene, colour="#6f9f8a")


def test_a_solid_has_no_dots(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("d")
        assert "solids have no dots" in _facts(screen)

    play(scene, colour="#e40000")


def test_hold_cycles_and_the_list_says_so(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        heads = []
        for _ in range(4):
            await pilot.press("h")
            heads.append(screen.candidates.render_line(0).text.split("ΔE")[0].strip())
        assert heads == ["lightness held", "hue held", "chroma held", ""]

    play(scene)


def test_out_of_reach_offers_the_best_of_each_hold(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        rows = [screen.candidates.render_line(y).text for y in range(2, 5)]
        assert any("best for" in row for row in rows)
        await pilot.press("down")
        offered = screen.candidate
        assert offered is not None
        await pilot.press("enter")
        assert screen.keeper.choices[-1].delta_e == offered.delta_e

    play(scene, colour="#6a3fa0", palette="newsprint-quarters", size=(160, 45))


def test_limits_are_seen_and_cleared(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert _limits(screen) == "115 of 125 recipes, coverage at most 240 %"
        for key, says in (
            ("i", "at most 1 ink"),
            ("i", "at most 2 inks"),
            ("x", "without yellow"),
            ("l", "coverage at most 220 %"),
            *[("l", "without yellow")] * 3,  # 200, 150, and no limit
        ):
            await pilot.press(key)
            assert says in _limits(screen)
        assert "coverage" not in _limits(screen)
        await pilot.press("0")
        assert _limits(screen) == "115 of 125 recipes, coverage at most 240 %"
        tints = (
            screen.candidate
            and screen.match
            and screen.match.recipes.tints_of(screen.candidate.row)
        )
        assert tints
        await pilot.press("f", "f")
        assert f"with yellow {tints[0]:g} %, with magenta {tints[1]:g} %" in _limits(screen)
        await pilot.press("f", "f")
        assert "with" not in _limits(screen)
        await pilot.press("u")
        assert _limits(screen).startswith("0 of 125 recipes")
        assert "nothing left: lift" in screen.query_one("#notice", Lines).text
        assert screen.candidate is None
        await pilot.press("down", "enter", "d", "right", "y", "a", "r")  # none of them ends it
        await pilot.press("0", "enter", "escape", "u")
        assert _limits(screen).startswith("1 of 125 recipes")

    play(scene, palette="newsprint-quarters")


@pytest.mark.parametrize(
    ("key", "sign"),
    [("shift+up", 1), ("shift+down", -1), ("shift+right", 1), ("shift+left", -1)],
)
def test_walking_by_the_eye(play: Callable[..., None], key: str, sign: int) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.match is not None
        for place in (3, 20, 40, 60):
            screen.candidates.cursor = place
            before = screen.candidate
            assert before is not None
            await pilot.press(key)
            after = screen.candidate
            assert after is not None
            if after.row == before.row:
                assert "no neighbour is" in _message(screen)
                continue
            lab = screen.match.recipes.lab
            changed = lab[after.row] - lab[before.row]
            chroma = [float((lab[row][1:] ** 2).sum()) for row in (before.row, after.row)]
            moved = changed[0] if key in ("shift+up", "shift+down") else chroma[1] - chroma[0]
            assert moved * sign > 0

    play(scene)


def test_walking_in_hue_there_and_back_changes_the_recipe(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        seen = set()
        for key in ("right", "right", "left"):
            await pilot.press(key)
            assert screen.candidate is not None
            seen.add(screen.candidate.row)
        assert len(seen) >= 2

    play(scene)


def test_wording_is_shown_before_it_is_copied(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        copied = set()
        for _ in range(3):
            await pilot.press("w", "y")
            assert pilot.app.clipboard
            assert pilot.app.clipboard in _facts(screen)
            copied.add(pilot.app.clipboard)
        assert len(copied) == 3
        assert any(text.startswith("device-cmyk(") for text in copied)
        assert any(text.startswith("#") for text in copied)
        assert not screen.keeper.choices

    play(scene)


def test_a_colour_that_comes_back_is_offered_first(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("down", "down", "enter", *"coat", "enter")
        taken = screen.keeper.choices[-1]
        await _paste(pilot, "tomato")
        await _paste(pilot, "#d9502b")
        assert "chosen before: coat" in screen.query_one("#notice", Lines).text
        assert screen.candidate is not None
        assert screen.candidate.delta_e == pytest.approx(taken.delta_e, abs=1)
        assert "= coat" in screen.candidates.render_line(1).text

    play(scene, size=(160, 45))


def test_doors_open_and_close(play: Callable[..., None]) -> None:
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
            await _settled(pilot)
            assert type(pilot.app.screen).__name__ == name
            await pilot.press("escape")
            await pilot.pause()
            assert pilot.app.screen is screen

    play(scene)


def test_taking_from_the_map(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("r")
        await _settled(pilot)
        await pilot.press("down", "enter")
        await _settled(pilot)
        assert pilot.app.screen is screen
        assert screen.candidate is not None
        assert screen.keeper.choices[-1].delta_e == screen.candidate.delta_e

    play(scene)


def test_another_palette_keeps_the_target(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("p")
        await _settled(pilot)
        await pilot.press("down", "enter")
        await _settled(pilot)
        assert screen.palette.stem == "coated-tenths"
        assert "#d94f2a" in _head(screen)
        assert "14,641 recipes" in _limits(screen)

    play(scene)


def test_following_the_clipboard(
    play: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    held = ["#112233"]
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    monkeypatch.setattr("pyperclip.paste", lambda: held[0])
    monkeypatch.setattr("pyperclip.copy", lambda text: held.__setitem__(0, text))

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        held[0] = "tomato"
        await pilot.pause(0.6)
        assert "#d94f2a" in _head(screen)  # off at start
        await pilot.press("o")
        await _settled(pilot)
        await pilot.pause(0.6)
        assert "#d94f2a" in _head(screen)  # what was there before is not news
        held[0] = "#2a8f6d"
        await pilot.pause(0.6)
        assert "#2a8f6d" in _head(screen)
        held[0] = "a sentence about tomatoes"
        await pilot.pause(0.6)
        await pilot.press("w", "w", "y")  # our own copy, a colour as hex or device-cmyk()
        await pilot.pause(0.6)
        assert "#2a8f6d" in _head(screen)
        await pilot.press("o")
        held[0] = "#445566"
        await pilot.pause(0.6)
        assert "#2a8f6d" in _head(screen)

    play(scene)


@pytest.mark.parametrize("size", [(59, 24), (60, 23), (20, 5)])
def test_too_small_is_said(play: Callable[..., None], size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.query_one("#too-small").display
        assert not screen.query_one("#body").display
        await pilot.resize_terminal(60, 24)
        await pilot.pause()
        assert screen.query_one("#body").display

    play(scene, size=size)


def test_a_second_click_on_a_row_takes_it(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for _ in range(2):
            await pilot.click(RankedList, offset=(20, 3))
        assert len(screen.keeper.choices) == 1
        assert screen.candidate is not None
        assert screen.candidate.delta_e == screen.keeper.choices[0].delta_e

    play(scene)


def test_what_is_taken_from_the_passes_is_known_to_the_match(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.match is not None
        best = screen.palette.recipe_text(
            screen.match.recipes.tints_of(int(screen.match.ranking.rows[0]))
        )
        await pilot.press("4", *"coat", "enter", "n")
        await _settled(pilot)
        await pilot.press("e")
        await _settled(pilot)
        await pilot.press("t")
        await _settled(pilot)
        await pilot.press("escape", "escape")
        await _settled(pilot)
        assert pilot.app.screen is screen
        (kept,) = screen.keeper.choices
        assert kept.label == "coat"
        assert kept.recipe == best

    play(scene)


def test_review_brings_back_a_colour_and_its_recipe(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("4", *"coat", "enter")
        taken = screen.keeper.choices[-1]
        await _paste(pilot, "#22aa44")
        await pilot.press("v")
        await _settled(pilot)
        await pilot.press("enter")
        await _settled(pilot)
        assert "#d94f2a" in _head(screen)
        assert screen.candidate is not None
        assert screen.candidate.delta_e == taken.delta_e
        await pilot.press("v")
        await _settled(pilot)
        await pilot.press("t")
        await _settled(pilot)
        await pilot.press(*"scarf", "enter")
        assert [c.label for c in screen.keeper.choices] == ["coat", "scarf"]

    play(scene)


def test_another_project_has_its_own_choices(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", "escape", "P")
        await _settled(pilot)
        await pilot.press("n", *"second", "enter")
        await _settled(pilot)
        assert pilot.app.screen is screen
        assert screen.keeper.project == "second"
        assert not screen.keeper.choices
        assert "second" in _head(screen)

    play(scene)


def test_a_locked_log_is_said_and_the_choice_kept_as_soon_as_it_is_free(
    play: Callable[..., None], tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        with closing(sqlite3.connect(tmp_path / "log.sqlite", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await pilot.press("enter")
            assert "NOT kept, tried again until it is" in _message(screen)
            assert len(screen.keeper.choices) == 1  # it stays in view
            await pilot.press(*"coat", "enter")
            other.execute("ROLLBACK")
        for _ in range(60):
            await pilot.pause(0.1)
            if not screen.keeper.waiting:
                break
        with Log(tmp_path / "log.sqlite") as log:
            assert [choice.label for choice in log.choices("ferrow")] == ["coat"]

    play(scene)


def test_a_choice_that_waits_is_written_when_the_interface_closes(
    play: Callable[..., None], tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        other = sqlite3.connect(tmp_path / "log.sqlite", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        await pilot.press("enter", "escape")
        other.close()

    play(scene)
    with Log(tmp_path / "log.sqlite") as log:
        assert len(log.choices("ferrow")) == 1


def test_a_target_from_a_picture(play: Callable[..., None], tmp_path: Path) -> None:
    Image.new("RGB", (40, 30), "#2f7f9f").save(tmp_path / "quay.png")

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("z")
        screen.prompt.value = str(tmp_path / "quay.png")
        await pilot.press("enter")
        await _settled(pilot)
        await pilot.press("enter")
        await _settled(pilot)
        assert pilot.app.screen is screen
        assert screen.match is not None
        assert screen.match.question.target.srgb == (0x2F, 0x7F, 0x9F)

    play(scene)


def test_making_a_palette_opens_and_leaves(play: Callable[..., None]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("Z")
        await _settled(pilot)
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
                await _settled(pilot)
                screen = app.screen
                assert isinstance(screen, MatchScreen)
                assert screen.palette.stem == expected
                screen.set_palette(palette_file.load("newsprint-quarters"))
                await _settled(pilot)
                await pilot.press("enter", "escape")

    asyncio.run(whole())
