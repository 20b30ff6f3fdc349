"""Making a palette step by step in the interface, through Textual's Pilot."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest
import screens
from PIL import Image
from rendered import PAPER, tint
from screens import OPEN, settled
from textual.events import Paste
from textual.pilot import Pilot
from textual.widgets import Static

from tuimatch.own_palette.questions import Steps
from tuimatch.palette import file as palette_file
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.make_screen import MakeScreen

Scene = Callable[[Pilot[None], MakeScreen], Coroutine[Any, Any, None]]


@pytest.fixture
def play(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Plays a scene in a folder of its own; what the screen answered."""
    monkeypatch.chdir(tmp_path)

    def play(scene: Scene, size: tuple[int, int] = (100, 30)) -> Any:
        return screens.play(MakeScreen(), scene, size)

    return play


async def answer(pilot: Pilot[None], *texts: str) -> None:
    for text in texts:
        screen = pilot.app.screen
        assert isinstance(screen, MakeScreen)
        screen.prompt.value = text
        await pilot.press("enter")
        await settled(pilot)


def text(screen: MakeScreen, identity: str) -> str:
    return str(screen.query_one(identity, Static).render())


def swatches(screen: MakeScreen) -> list[tuple[str, str]]:
    """The colour and the words of each swatch in view."""
    found = []
    for y in range(0, screen.swatches.size.height, 2):
        segments = list(screen.swatches.render_line(y))
        if len(segments) > 2:
            style = segments[1].style
            assert style is not None and style.bgcolor is not None
            found.append((style.bgcolor.name, segments[3].text.strip()))
    return found


TO_THE_FILE = (
    *("#fffdf5", "magenta", "#e4007c", "brush.png", "fine dots", "51", "", ""),
    *("blue", "#0078c8", "", ""),
)


@pytest.fixture
def brush(tmp_path: Path) -> None:
    pixels = tint(coverage=0.25, period=11.3, edge="encoded")
    Image.fromarray(pixels).save(tmp_path / "brush.png")


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
@pytest.mark.usefixtures("brush")
def test_the_answers_make_a_palette_file(
    play: Callable[..., Any], tmp_path: Path, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        assert text(screen, "#make-question").startswith("paper:")
        await answer(pilot, *TO_THE_FILE[:4])
        assert text(screen, "#make-question").startswith("what you call magenta 2")
        await answer(pilot, *TO_THE_FILE[4:])
        found = swatches(screen)
        assert [colour for colour, _ in found[:2]] == ["#fffdf5", "#e4007c"]
        assert [words for _, words in found][:2] == ["paper  #fffdf5", "magenta solid  #e4007c"]
        assert found[2][1].startswith("magenta 2") and found[2][1].endswith("%  fine dots")
        assert found[4] == ("#0078c8", "blue solid  #0078c8")
        assert text(screen, "#make-question").startswith("file to write")
        await answer(pilot, "own.toml")

    assert play(scene, size) == Path("own.toml")
    palette = palette_file.read(tmp_path / "own.toml")
    assert (palette.name, palette.paper) == ("own", PAPER)
    assert palette.inks[0].tints == pytest.approx([25, 51, 100], abs=0.5)
    assert palette.inks[0].labels == ("fine dots", "51 %", "solid")
    assert palette.inks[1].tints == (100,)


@pytest.mark.usefixtures("brush")
def test_refusals_are_words_and_the_answer_stays_to_be_mended(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        for given, said in (
            ("[/b]burple", "is not a colour"),
            ("lost.png", "lost.png: cannot be read"),
            ("brush.png", "is not one flat colour"),
        ):
            await answer(pilot, given)
            assert said in text(screen, "#make-said")
            assert screen.prompt.value == given
            assert text(screen, "#make-question").startswith("paper:")
        await answer(pilot, "white")
        assert text(screen, "#make-said") == ""
        await answer(pilot, "[b]ink", "red", "#00ff00")
        assert "is not a mixture of #ffffff and #ff0000" in text(screen, "#make-said")
        assert "[b]ink, a tint" in text(screen, "#make-question")

    assert play(scene) == OPEN


def test_nothing_is_written_over(play: Callable[..., Any], tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text("precious", encoding="utf-8")

    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        await answer(pilot, "white", "red", "red", "", "")
        for given, said in (
            ("own.toml", "own.toml: already exists; give another name"),
            ("", "no name: give the name of a .toml file"),
            ("own.txt", "own.txt: give the name of a .toml file"),
            ("no/where.toml", "no/where.toml: cannot be written"),
            ("\x1b[2J.toml", "give the name of a .toml file"),
        ):
            await answer(pilot, given)
            assert said in text(screen, "#make-said")
        await answer(pilot, "other.toml")

    assert play(scene) == Path("other.toml")
    assert (tmp_path / "own.toml").read_text(encoding="utf-8") == "precious"
    assert palette_file.read(tmp_path / "other.toml").recipe_count == 2


def test_undo_asks_again_what_was_answered_last(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        questions = [text(screen, "#make-question")]
        for given in ("white", "red", "red", "50", "half", "", ""):
            await answer(pilot, given)
            questions.append(text(screen, "#make-question"))
        for question in reversed(questions[:-1]):
            await pilot.press("ctrl+z")
            assert text(screen, "#make-question") == question
        assert swatches(screen) == []
        await pilot.press("ctrl+z")
        assert text(screen, "#make-question") == questions[0]
        await answer(pilot, "black")
        assert swatches(screen) == [("#000000", "paper  #000000")]

    play(scene)


def test_an_answer_still_being_read_is_dropped_by_undo(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        await answer(pilot, "white")
        late = screen.Answered(Steps().answered("black"), "", screen._stamp)
        await pilot.press("ctrl+z")
        screen.post_message(late)
        await settled(pilot)
        assert text(screen, "#make-question").startswith("paper:")
        assert swatches(screen) == []

    play(scene)


def test_many_swatches_keep_the_newest_in_view(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        await answer(pilot, "white", "red", "red")
        for share in range(5, 65, 5):
            await answer(pilot, str(share), "")
        assert swatches(screen)[-1][1] == "red 60 %"
        assert len(swatches(screen)) < 14

    play(scene, size=(60, 24))


def test_pasting_goes_into_the_answer(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        screen.prompt.post_message(Paste(" #fffdf5\nmore"))
        await settled(pilot)
        assert screen.prompt.value == "#fffdf5"

    play(scene)


@pytest.mark.parametrize(
    ("pasted", "stands"),
    [
        ("#fffdf5\rmore", "#fffdf5"),
        ("\r\n #fffdf5\u2028more", "#fffdf5"),
        ("\x1b]0;pwned\x07red", r"\x1b]0;pwned\x07red"),
        ("a\u202eb", r"a\u202eb"),
        ("", ""),
        (" \n ", ""),
    ],
)
def test_what_is_pasted_is_one_line_that_steers_no_terminal(
    play: Callable[..., Any], pasted: str, stands: str
) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        screen.prompt.post_message(Paste(pasted))
        await settled(pilot)
        assert screen.prompt.value == stands
        shown = "".join(segment.text for segment in screen.prompt.render_line(0))
        assert shown.isprintable()

    play(scene)


def test_undo_and_enter_before_the_first_question(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        begun, screen._taken, screen._busy = screen._taken, [], True
        late = screen.Answered(begun[0], "", screen._stamp)
        await pilot.press("ctrl+z", "enter")
        screen.post_message(late)
        await settled(pilot)
        assert text(screen, "#make-question").startswith("paper:")
        await answer(pilot, "white")
        assert swatches(screen) == [("#ffffff", "paper  #ffffff")]

    play(scene)


def test_a_file_name_that_no_file_can_have_is_refused(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        for name in ("a\0b.png", "~nobody-of-this-name/a.png", "x" * 5000 + ".png"):
            await answer(pilot, name)
            assert "cannot be read" in text(screen, "#make-said")

    play(scene)


def test_escape_writes_nothing_and_help_explains_the_keys(
    play: Callable[..., Any], tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        await answer(pilot, "white")
        await pilot.press("f1")
        assert isinstance(pilot.app.screen, HelpScreen)
        assert "Take back the last answer" in {key.says for key in pilot.app.screen._keys}
        await pilot.press("escape", "escape")

    assert play(scene) is None
    assert list(tmp_path.iterdir()) == []


def test_in_a_small_pane_the_question_and_the_answer_are_in_sight(play: Callable[..., Any]) -> None:
    async def scene(pilot: Pilot[None], screen: MakeScreen) -> None:
        await settled(pilot)
        for widget in (screen.query_one("#make-question"), screen.prompt):
            assert widget.size.height
            assert screen.region.contains_region(widget.region)
        assert not screen.show_vertical_scrollbar

    play(scene, size=(36, 12))
