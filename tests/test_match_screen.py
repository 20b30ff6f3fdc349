"""The match screen through Textual's Pilot."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from tuimatch import palette_file
from tuimatch.log import Log
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.lines import Lines
from tuimatch.tui.match_screen import MatchScreen
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
