"""No line of the match screen ends in a cut word, at any width."""

from __future__ import annotations

import re

import pytest
from match_app import Play, paste
from screens import settled

from tuimatch.palette import file as palette_file
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.ranked_list import RankedList

WIDTHS = (36, 38, 41, 45, 50, 55, 60, 66, 72, 80, 95, 96, 100, 110, 125, 139, 140, 160, 200)
TARGETS = ("#6a3fa0", "#d94f2a", "#888888", "#2a5a48")
WORDS = {
    *("lighter", "darker", "duller", "vivid", "redder", "yellower", "greener", "bluer", "magenta"),
    *("lightness", "hue", "vividness"),  # what a recipe is best for
    *("red", "orange", "yellow", "yellow-green", "green", "blue-green", "blue", "purple"),
}


def assert_whole(screen: MatchScreen) -> None:
    """No line of words is cut."""
    for lines in screen.query(Lines):
        if lines.display:
            for y in range(lines.size.height):
                line = lines.render_line(y).text
                assert "…" not in line, (lines.size.width, lines.id, line)


@pytest.mark.parametrize("palette", palette_file.shipped_names())
def test_no_line_ends_in_a_cut_word(play: Play, palette: str) -> None:
    async def scene(pilot, screen):
        for target in TARGETS:
            await paste(pilot, target)
            for width in WIDTHS:
                await pilot.resize_terminal(width, 30)
                await settled(pilot)
                assert_whole(screen)
                listed = screen.query_one(RankedList)
                for y in range(1, min(len(listed) + 1, listed.size.height)):
                    line = listed.render_line(y).text
                    told = line[listed.words_begin :].strip()
                    if told and "=" not in told:
                        assert re.split("[ ,]+", told)[-1] in WORDS, (width, line)

    play(scene, palette=palette)


@pytest.mark.parametrize("palette", ["newsprint-quarters", "zine-two-inks"])
def test_what_keys_say_is_whole_in_a_small_pane(play: Play, palette: str) -> None:
    async def scene(pilot, screen):
        for key in ("h", "h", "h", "0", "d", "m", "m", "d", "w"):
            await pilot.press(key)
            for size in ((36, 24), (50, 24), (36, 12)):
                await pilot.resize_terminal(*size)
                await settled(pilot)
                assert_whole(screen)
                facts = screen.query_one("#facts", Lines).text
                assert facts.count(" out ") <= 1  # of register: told once

    play(scene, palette=palette)


def test_a_colour_that_an_area_without_a_label_has_is_said_whole(play: Play) -> None:
    async def scene(pilot, screen):
        await pilot.press("enter", "escape")
        await paste(pilot, TARGETS[0])
        for width in (36, 45, 60):
            await pilot.resize_terminal(width, 24)
            await settled(pilot)
            notice = screen.query_one("#notice", Lines).text
            assert "an area" in notice and "has this colour" in notice
            assert_whole(screen)

    play(scene, colour=TARGETS[0])


def test_with_four_inks_the_list_tells_two_ways_at_100_columns(play: Play) -> None:
    async def scene(pilot, screen):
        listed = screen.query_one(RankedList)
        assert screen.state.match is not None
        for place in range(20):
            ways = listed.candidate_at(place).differs.split(", ")
            line = listed.render_line(1 + place).text
            for way in ways[: 1 if "magenta" in "".join(ways[:2]) else 2]:
                assert way.removeprefix("slightly ").removeprefix("much ") in line

    play(scene, colour="#2a5a48", palette="coated-tenths")


def test_the_list_says_tints_as_the_artist_does(play: Play) -> None:
    async def scene(pilot, screen):
        listed = screen.query_one(RankedList)
        first = listed.render_line(1).text
        assert "brick" in first and "swell" in first and "60" not in first
        await pilot.resize_terminal(160, 45)
        await settled(pilot)
        assert "brick 60 %" in listed.render_line(1).text
        await pilot.resize_terminal(60, 24)
        await settled(pilot)
        assert "brick" in listed.render_line(1).text

    play(scene, colour="#a07888", palette="zine-two-inks")
