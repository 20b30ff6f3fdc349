"""Help through Textual's Pilot."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any, ClassVar

import pytest
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Static

from tuimatch.tui.screens.help_screen import CAUTIONS, NUMBERS, HelpScreen, Key, keys_of

LOOKING = Binding.Group("Looking")
_LEFT = 18  # where the sentences begin
Scene = Callable[[Pilot[None], HelpScreen], Coroutine[Any, Any, None]]


class Table(Screen[None]):
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "up", "Lighter", show=False, id="table.up"),
        Binding("t,number_sign", "target", "Target", tooltip="Type a target", id="table.target"),
        Binding("d", "dots", "[b]Dots", id="table.dots", group=LOOKING),
        *(
            Binding(str(n), f"take({n})", f"Take rank {n}", show=False, id=f"table.take_{n}")
            for n in range(1, 10)
        ),
        Binding("x", "nothing", "", id="table.silent"),
    ]

    def compose(self) -> ComposeResult:
        yield Static()


class Host(App[None]):
    BINDINGS: ClassVar[list[BindingType]] = [Binding("q", "quit", "Quit", id="app.quit")]
    table = Table()

    def on_mount(self) -> None:
        self.push_screen(self.table)
        self.call_after_refresh(lambda: self.push_screen(HelpScreen(keys_of(self.table))))


def play(scene: Scene, size: tuple[int, int] = (100, 30), keymap: Any = None) -> None:
    host = Host()
    host.table = Table()
    host.set_keymap(keymap or {})

    async def whole() -> None:
        async with host.run_test(size=size) as pilot:
            await pilot.pause()
            await pilot.pause()
            assert isinstance(host.screen, HelpScreen)
            await scene(pilot, host.screen)

    asyncio.run(whole())


def rows(screen: HelpScreen) -> list[str]:
    scroll = screen.query_one(VerticalScroll)
    return [
        "".join(s.text for s in line)
        for child in scroll.children
        for line in child.render_lines(child.size.region)
    ]


def test_the_keys_of_the_calling_screen_stand_by_what_they_do() -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        assert screen._keys == [
            Key("t #", "Type a target"),
            Key("d", "[b]Dots", "Looking"),
            Key("q", "Quit"),
            Key("↑ k", "Lighter"),
            Key("1…9", "Take rank 1…9"),
        ]
        shown = "\n".join(rows(screen))
        assert "[b]Dots" in shown and "Looking" in shown

    play(scene)


def test_remapped_keys_are_shown_as_they_are_now() -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        assert Key("x", "Type a target") in screen._keys

    play(scene, keymap={"table.target": "x", "table.silent": "y"})


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_every_number_and_caution_is_told_whole(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        shown = rows(screen)
        assert max(map(len, shown)) <= size[0]
        words = " ".join(" ".join(shown).split())
        told = " ".join(" ".join(row[_LEFT:] for row in shown).split())
        for name, sentence in NUMBERS:
            assert name in words
            assert sentence in told
        for caution in CAUTIONS:
            assert caution in words

    play(scene, size=size)


def test_each_number_is_one_sentence() -> None:
    for _, sentence in NUMBERS:
        assert sentence.endswith(".") and ". " not in sentence
        assert sentence[0].isupper()


def test_it_scrolls_to_the_end_and_back() -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        scroll = screen.query_one(VerticalScroll)
        places = []
        for key in ("down", "j", "up", "k", "pagedown", "pageup"):
            await pilot.press(key)
            await pilot.wait_for_scheduled_animations()
            places.append(scroll.scroll_offset.y)
        assert places[:4] == [1, 2, 1, 0]
        assert places[4] > 2 and places[5] == 0
        await pilot.press("end")
        await pilot.wait_for_scheduled_animations()
        assert scroll.scroll_offset.y == scroll.max_scroll_y > 0
        await pilot.press("home")
        await pilot.wait_for_scheduled_animations()
        assert scroll.scroll_offset.y == 0

    play(scene, size=(60, 24))


@pytest.mark.parametrize("key", ["escape", "question_mark"])
def test_closing(key: str) -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        await pilot.press(key)
        assert isinstance(pilot.app.screen, Table)
        assert pilot.app.is_running

    play(scene)
