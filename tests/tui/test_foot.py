"""The keys at the foot: none is cut, help and quit are always there, a larger window shows more."""

from __future__ import annotations

from match_app import Play
from rich.cells import cell_len
from screens import settled
from textual.widgets._footer import FooterKey

from tuimatch.tui.widgets.foot import Foot


def shown(screen) -> list[str]:
    foot = screen.query_one(Foot)
    keys = list(foot.query(FooterKey))
    whole = sum(cell_len(key.key_display) + cell_len(key.description) + 2 for key in keys)
    assert whole - 1 <= foot.size.width
    assert all(key.region.right <= foot.size.width for key in keys)
    return [key.description for key in keys]


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
