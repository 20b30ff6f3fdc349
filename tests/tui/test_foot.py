"""The keys at the foot: none is cut, help and quit are always there, a larger window shows more."""

from __future__ import annotations

import pytest
from match_app import Play
from screens import settled
from terminal import Terminal

from tuimatch.tui.widgets.foot import Foot, Shown, fitting


def shown(screen) -> list[str]:
    foot = screen.query_one(Foot)
    line = foot.render_line(0).text
    assert len(line) == foot.size.width
    grounds = {segment.style.bgcolor for segment in foot.render_line(0) if segment.style}
    assert len(grounds) == 1 and all(segment.style for segment in foot.render_line(0))
    words = [word for word in line.split(" ") if word not in ("", "·")]
    assert words == " ".join(f"{key.sign} {key.name}" for key in foot.shown).split(" ")
    return [key.name for key in foot.shown]


def test_more_keys_where_there_is_room_and_none_is_cut(play: Play) -> None:
    async def scene(pilot, screen):
        small = shown(screen)
        assert small[0] == "Take"
        assert {"Help", "Quit"} <= set(small)
        await pilot.resize_terminal(160, 45)
        await settled(pilot)
        large = shown(screen)
        assert len(large) > len(small)
        await pilot.resize_terminal(60, 24)
        await settled(pilot)
        assert shown(screen) == small

    play(scene, size=(60, 24))


@pytest.mark.parametrize(("width", "between"), [(70, "  "), (100, " · ")])
def test_groups_of_keys_stand_apart(play: Play, width: int, between: str) -> None:
    async def scene(pilot, screen):
        line = screen.query_one(Foot).render_line(0).text
        assert f"d Dots u Undo{between}g Page" in line
        assert f"{between}? Help q Quit" in line

    play(scene, size=(width, 30))


def test_gaps_are_counted_where_there_is_little_room() -> None:
    keys = [_key("Take"), _key("Dots")._replace(group="two"), _key("Help", "help")]
    assert [key.name for key in fitting(keys, 22, 1)] == ["Take", "Dots", "Help"]
    assert [key.name for key in fitting(keys, 21, 1)] == ["Take", "Help"]


def _key(name: str, group: str = "own") -> Shown:
    return Shown(name[0], name[0], name, "", name.lower(), True, group)


@pytest.mark.parametrize(
    ("width", "names"),
    [
        (13, ["Help", "Quit"]),  # they stay, even where the last of them is cut
        (19, ["Help", "Quit"]),
        (20, ["Take", "Help", "Quit"]),
        (28, ["Take", "Help", "Quit"]),
        (29, ["Take", "Target", "Help", "Quit"]),
        (36, ["Take", "Target", "Dots", "Help", "Quit"]),
    ],
)
def test_the_first_of_them_that_fit(width: int, names: list[str]) -> None:
    keys = [_key("Take"), _key("Help", "help"), _key("Target"), _key("Quit", "quit"), _key("Dots")]
    assert [key.name for key in fitting(keys, width)] == names


def test_a_key_that_is_clicked_is_pressed(play: Play) -> None:
    async def scene(pilot, screen):
        foot = screen.query_one(Foot)
        line = foot.render_line(0).text
        assert screen.state.asked is None
        await pilot.click(Foot, offset=(line.index("Page"), 0))  # beyond a gap
        await settled(pilot)
        assert screen.state.asked is not None and screen.state.asked.what == "page"

    play(scene)


def test_after_a_resize_a_real_terminal_shows_more_at_once(tmp_path) -> None:
    with Terminal("#d94f2a", "--log", str(tmp_path / "log.sqlite"), size=(60, 24)) as terminal:
        terminal.until("Quit")
        few = terminal.text.splitlines()[-1]
        terminal.resize(160, 45)
        terminal.until("Palette")
        assert len(terminal.text.splitlines()[-1].split()) > len(few.split())
