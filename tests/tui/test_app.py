"""What holds for every screen: windows of any size, and the command palette."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from burst import ESCAPE, interface, quiet, send
from textual.events import Resize
from textual.geometry import Size

from tuimatch.log import Log
from tuimatch.tui.widgets.prompt import LONGEST, Prompt

# What opens each screen over the match.
DOORS = ("r", "v", "P", "n", "e", "b", "c", "p", "Z", "a", "?", "\x10")


def play(log: Path, *typed: str, size: tuple[int, int] = (100, 30)) -> None:
    """Type texts or resize, each when all before is done."""

    async def whole() -> None:
        app = interface(log)
        async with app.run_test(size=size):
            for text in typed:
                await quiet(app)
                if "x" in text:
                    width, height = map(int, text.split("x"))
                    app.post_message(Resize(Size(width, height), Size(width, height)))
                else:
                    send(app, text)
            await quiet(app)

    asyncio.run(whole())


@pytest.mark.parametrize("door", DOORS)
def test_a_window_of_any_size_holds_every_screen(path: Path, door: str) -> None:
    sizes = ("160x45", "14x11", "1x1", "400x3", "3x200", "160x45", "36x20")
    play(path, "\rlamp\r", door, *(one for size in sizes for one in (size, "\x1b[B", "\x1b[C")))


def test_turning_pages_in_an_empty_command_list(path: Path) -> None:
    play(path, "\x10", "nothing like it", "\x1b[5~", "\x1b[6~", "\x1b[A", "\x1b[B", "\r")


@pytest.mark.parametrize("door", ["v/", "v\rvl", "\r", "t", "zp", "PN", "Z"])
@pytest.mark.parametrize("much", ["word " * 40_000, "e" + "\u0301" * 400_000])
def test_an_answer_that_is_far_too_long_is_not_taken(path: Path, door: str, much: str) -> None:
    async def whole() -> None:
        app = interface(path)
        async with app.run_test(notifications=True):
            send(app, "\rlamp\r" + door)
            await quiet(app)
            before = app.screen.query_one(Prompt).value
            send(app, f"\x1b[200~{much}\x1b[201~")
            await quiet(app)
            assert app.screen.query_one(Prompt).value == before
            assert any("too many" in one.message for one in app._notifications)

    asyncio.run(whole())


def test_what_is_typed_without_end_stops_at_the_longest_answer(path: Path) -> None:
    async def whole() -> None:
        app = interface(path)
        async with app.run_test():
            send(app, "\r")
            await quiet(app)
            prompt = app.screen.query_one(Prompt)
            prompt.value = "x" * (LONGEST - 2)
            prompt.cursor_position = LONGEST
            send(app, "abcdef")
            await quiet(app)
            assert prompt.value == "x" * (LONGEST - 2) + "ab"

    asyncio.run(whole())


@pytest.mark.parametrize("long", [300, 3_900])
def test_a_file_whose_name_is_too_long_is_refused(path: Path, long: int) -> None:
    play(path, "\rlamp\r", "vG", f"\x1b[200~{'y' * long}.md\x1b[201~", "\r")


@pytest.mark.parametrize("door", ["vT", "vl", "vg", 'v"', "v", "Pr"])
def test_what_another_program_removed_meanwhile_is_missed_in_words(path: Path, door: str) -> None:
    async def whole() -> None:
        app = interface(path)
        async with app.run_test():
            send(app, "\rlamp\r" + door)
            await quiet(app)
            with Log(path) as log:
                log.remove(log.choices("ferrow")[-1].id)
                log.projects.rename("ferrow", "elsewhere")
            send(app, "again\r \r")
            await quiet(app)

    asyncio.run(whole())


def test_leaving_twice_while_a_palette_is_made_leaves_it_once(path: Path) -> None:
    play(path, "Z" + ESCAPE * 2 + "\r" + "lamp\r")
    with Log(path) as log:
        assert [choice.label for choice in log.choices("ferrow")] == ["lamp"]
