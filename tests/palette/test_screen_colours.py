"""The screen colours of a palette of print, and the canvas they make."""

from __future__ import annotations

import pytest

from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file


def test_the_canvas_has_the_same_ladders_in_the_screen_colours() -> None:
    palette = palette_file.load("coated-tenths")
    canvas = palette.canvas
    assert canvas is not None
    assert canvas.kind == "screen"
    assert canvas.paper == (255, 255, 255)
    assert [ink.solid for ink in canvas.inks] == [ink.screen for ink in palette.inks]
    assert [ink.steps for ink in canvas.inks] == [ink.steps for ink in palette.inks]
    assert palette_file.load("screen-quarters").canvas is None


def test_the_file_keeps_them_and_takes_all_or_none() -> None:
    palette = palette_file.load("newsprint-quarters")
    text = palette_file.to_toml(palette)
    again = palette_file.parse(text, file="a.toml", stem="a")
    assert again.paper_screen == (255, 255, 255)
    assert [ink.screen for ink in again.inks] == [ink.screen for ink in palette.inks]
    for line in ('screen = "#ffffff"\n', 'screen = "#009ee0"\n'):
        with pytest.raises(PaletteError, match="screen: give one to the paper and to every ink"):
            palette_file.parse(text.replace(line, ""), file="a.toml", stem="a")
    with pytest.raises(PaletteError, match=r"inks\[3\]\.screen: 'cyan' is not an sRGB colour"):
        palette_file.parse(text.replace('"#009ee0"', '"cyan"'), file="a.toml", stem="a")
    screen = palette_file.to_toml(palette_file.load("screen-quarters"))
    with pytest.raises(PaletteError, match='screen: does not go with kind = "screen"'):
        palette_file.parse(
            screen.replace("angle = 0.0", 'screen = "#ffe800"', 1), file="a.toml", stem="a"
        )
