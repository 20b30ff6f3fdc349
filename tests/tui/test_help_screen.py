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

from tuimatch.tui.all_keys import OWNERS
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.screens.glossary import CAUTIONS, GLOSSARY
from tuimatch.tui.screens.help_screen import HelpScreen, Key, keys_of

LOOKING = Binding.Group("Looking")
OWN = ("pass", "change of brush")  # the words of the table
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
        self.call_after_refresh(lambda: self.push_screen(HelpScreen(keys_of(self.table), OWN)))


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
    more = screen.query_one("#help-more")
    shown = [one for one in scroll.children if one is not more]
    return [
        "".join(s.text for s in line)
        for child in [*shown, *(more.children if more.display else ())]
        for line in child.render_lines(child.size.region)
    ]


def test_the_keys_of_the_calling_screen_stand_by_what_they_do() -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        assert screen._keys == [
            Key("d", "[b]Dots", "Looking"),
            Key("t #", "Type a target"),
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


def words(shown: list[str]) -> str:
    return " ".join(" ".join(shown).split())


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_the_words_of_the_screen_are_told_and_no_others_until_asked(size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        told = words([row[_LEFT:] for row in rows(screen)])
        for word, sentence in GLOSSARY.items():
            assert (sentence in told) == (word in OWN), word
        assert CAUTIONS[0] not in words(rows(screen))
        await pilot.press("question_mark")
        shown = rows(screen)
        assert max(map(len, shown)) <= size[0]
        told = words([row[_LEFT:] for row in shown])
        for word, sentence in GLOSSARY.items():
            assert word in words(shown) or set(word.split()) <= set(words(shown).split())
            assert told.count(sentence) == 1
        for caution in CAUTIONS:
            assert caution in words(shown)
        await pilot.press("question_mark")
        assert CAUTIONS[0] not in words(rows(screen))

    play(scene, size=size)


def test_each_word_is_explained_in_one_sentence_and_stands_on_a_screen() -> None:
    for sentence in GLOSSARY.values():
        assert sentence.endswith(".") and ". " not in sentence
        assert sentence[0].isupper() or sentence[0].isdigit()
    screens = [owner for owner in OWNERS if issubclass(owner, ExplainedScreen)]
    assert {word for screen in screens for word in screen.WORDS} == set(GLOSSARY)
    for screen in screens:  # each has its own, not all of them
        assert len(set(screen.WORDS)) == len(screen.WORDS) < 0.7 * len(GLOSSARY)


def test_it_scrolls_to_the_end_and_back() -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        scroll = screen.query_one(VerticalScroll)
        await pilot.press("question_mark", "home")  # there is something to scroll
        await pilot.wait_for_scheduled_animations()
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


def test_closing() -> None:
    async def scene(pilot: Pilot[None], screen: HelpScreen) -> None:
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, Table)
        assert pilot.app.is_running

    play(scene)
