"""What every screen says of itself."""

from __future__ import annotations

import pytest
from screens import play, text
from textual.pilot import Pilot

from tuimatch.palette import file as palette_file
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.palette_screen import PaletteScreen


@pytest.mark.parametrize("size", [(60, 24), (100, 30)])
def test_false_colours_are_said_on_every_screen(
    size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    async def warned(pilot: Pilot[None], screen: PaletteScreen) -> None:
        assert "colours approximate, numbers exact" in text(screen, "#false-colours")

    async def silent(pilot: Pilot[None], screen: PaletteScreen) -> None:
        assert not screen.query("#false-colours")

    palette = palette_file.load("screen-quarters")
    play(PaletteScreen(palette), silent, size)
    monkeypatch.setenv("COLORTERM", "")
    play(PaletteScreen(palette), warned, size)


def test_the_question_mark_explains() -> None:
    async def scene(pilot: Pilot[None], screen: PaletteScreen) -> None:
        await pilot.press("question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)

    play(PaletteScreen(palette_file.load("screen-quarters")), scene)
