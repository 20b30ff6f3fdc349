"""A list of colours pasted, typed as a file or given to the command: a page of squares."""

from __future__ import annotations

import asyncio
from pathlib import Path

import comic_page
import numpy as np
import pytest
from burst import ESCAPE, played, played_slowly
from match_app import Scene, in_turn, message, paste
from PIL import Image, ImageColor
from screens import press, settled, write
from terminal import Terminal
from textual.events import Paste
from textual.pilot import Pilot

from tuimatch.colour import target
from tuimatch.log import Log
from tuimatch.match import typed_colours
from tuimatch.match.limits import start
from tuimatch.match.typed_colours import Named
from tuimatch.palette import file as palette_file
from tuimatch.planning import page as pages
from tuimatch.recipe import recipes
from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens import page_dots
from tuimatch.tui.screens.page_screen import PageScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.screens.reach_screen import ReachScreen
from tuimatch.tui.widgets.flat_lists import FlatList
from tuimatch.tui.widgets.lines import Lines

LIST = "#d3a37c skin, light\n#b9855f skin, shade\n#4f7a7c sea\n#ffffff\n"
CSV = "colour,label\n#d3a37c,'skin, light'\n#b9855f,skin shade\n\n#4f7a7c,sea\n#ffffff,\n"


def text(screen: PageScreen, selector: str) -> str:
    return screen.query_one(selector, Lines).text


def lines(screen: PageScreen) -> str:
    view = screen.view
    return "\n".join(view.render_line(y).text for y in range(view.size.height))


def labels(screen: PageScreen) -> list[tuple[str, str]]:
    assert screen.state.shown is not None
    return [(c.given.text, c.label) for c in screen.state.shown.page.colours]


async def pasted(pilot: Pilot[None], what: str) -> PageScreen:
    pilot.app.post_message(Paste(what))
    await settled(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, PageScreen)
    return screen


def play_first(path: Path, scene: Scene, palette: str = "newsprint-quarters") -> None:
    """Play on the first screen."""

    async def whole() -> None:
        app = TuimatchApp(
            palette=palette_file.load(palette), colour=None, project="ferrow", log_path=path
        )
        async with app.run_test(size=(100, 30)) as pilot:
            await settled(pilot)
            in_turn(pilot, app)
            assert isinstance(app.screen, ReachScreen)
            match = app.get_default_screen()
            assert isinstance(match, MatchScreen)
            await scene(pilot, match)

    asyncio.run(whole())


@pytest.mark.parametrize("what", [LIST, CSV, LIST.replace("\n", "\r\n")])
def test_a_pasted_list_is_matched_as_the_command_line_does_it(tmp_path: Path, what: str) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await pasted(pilot, what)
        shown = screen.state.shown
        assert shown is not None
        mixed = recipes.mix(palette_file.load("newsprint-quarters"))
        page = pages.of_list(typed_colours.read(what), mixed, None)
        match = pages.solve(page, start(mixed.palette))
        assert list(shown.match.rows) == list(match.rows)
        assert len(shown.page.neighbours) == 6
        head = text(screen, "#page-head").splitlines()
        assert head[0].startswith("pasted colours: 4 colours, on Newsprint")
        assert "pairs still differ" in head[1]
        assert "%" not in text(screen, "#page-facts").splitlines()[0]  # no share of a page

    play_first(tmp_path / "log.sqlite", scene)


@pytest.mark.parametrize("first", [True, False])
def test_all_of_the_page_works_for_a_list(play, tmp_path: Path, first: bool) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        screen = await pasted(pilot, LIST)
        assert "skin, light" in lines(screen)
        assert "#ffffff" in lines(screen)
        # The squares stand in the order of the list.
        assert screen.state.colour.given.text == "#d3a37c"
        await press(pilot, "down", "down", "down")
        assert screen.state.colour.given.text == "#ffffff"
        await press(pilot, "l")
        await write(pilot, "paper")
        await press(pilot, "escape", "up")
        assert "paper" in lines(screen)
        listed = screen.query_one("#page-beside", FlatList)
        beside = "".join(listed.render_line(y).text for y in range(listed.size.height))
        assert all(name in beside for name in ("skin, light", "skin, shade", "sea"))
        # A click, the match, and back with a lock.
        await pilot.click(screen.view, offset=(2, 2))
        await settled(pilot)
        assert screen.state.colour.label == "skin, light"
        await press(pilot, "enter")
        assert pilot.app.screen is match
        await press(pilot, "down", "enter")
        screen = pilot.app.screen
        assert isinstance(screen, PageScreen)
        assert "locked" in text(screen, "#page-facts")
        # One colour left out, and brought back.
        await press(pilot, "down", "x")
        assert [colour for colour, _ in labels(screen)] == ["#d3a37c", "#4f7a7c", "#ffffff"]
        await press(pilot, "B")
        assert len(labels(screen)) == 4
        await press(pilot, "D")
        assert "no picture" in text(screen, "#page-message")
        await press(pilot, "K")
        await write(pilot, "7")
        with Log(tmp_path / "log.sqlite") as log:
            taken = {c.label: c.page for c in log.choices("ferrow")}
        assert taken == dict.fromkeys(("skin, light", "skin, shade", "sea", "paper"), "7")
        await press(pilot, "n")
        assert isinstance(pilot.app.screen, PassesScreen)
        await press(pilot, "escape", "escape")
        # It is offered again.
        await press(pilot, "F", "enter")
        assert pilot.app.screen is not screen
        assert isinstance(pilot.app.screen, PageScreen)
        assert labels(pilot.app.screen)[3] == ("#ffffff", "paper")

    if first:
        play_first(tmp_path / "log.sqlite", scene)
    else:
        play(scene, palette="newsprint-quarters")


def test_the_last_colour_of_a_list_stays(play) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await pasted(pilot, "#d3a37c\n#4f7a7c")
        await press(pilot, "x", "x")
        assert len(labels(screen)) == 1
        assert "it stays" in text(screen, "#page-message")

    play(scene)


def test_one_colour_with_two_names_keeps_both(play, tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await pasted(pilot, "#d3a37c skin\n#d3a37c sand\n#4f7a7c")
        await press(pilot, "down", "l")
        await write(pilot, "dry sand")
        await write(pilot, "sea")
        await press(pilot, "escape", "K")
        await write(pilot, "")
        with Log(tmp_path / "log.sqlite") as log:
            assert {c.label for c in log.choices("ferrow")} == {"skin", "dry sand", "sea"}
        assert labels(screen)[0] == ("#d3a37c", "skin")

    play(scene)


def test_a_list_pasted_while_something_is_asked(play) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        # A label is a text, a list is not; but where a path or a page is asked, all is text.
        await press(pilot, "enter")
        await paste(pilot, "two lines\nof a label")
        assert match.state.asked is not None and match.state.asked.what == "label"
        await paste(pilot, LIST)
        assert isinstance(pilot.app.screen, PageScreen)
        await press(pilot, "escape", "g")
        assert match.state.asked is not None
        await paste(pilot, LIST)
        assert pilot.app.screen is match
        assert match.state.asked is not None and match.state.asked.what == "page"

    play(scene)


def test_one_colour_pasted_is_a_target_as_before(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        assert isinstance(pilot.app.screen, ReachScreen)
        for what in ("#d3a37c\n", "colour,label\n#4f7a7c,sea\n", "rgb(217\n79 42)"):
            pilot.app.post_message(Paste(what))
            await settled(pilot)
            assert pilot.app.screen is match
        assert match.state.match is not None
        assert match.state.match.question.target.text == "rgb(217 79 42)"

    play_first(tmp_path / "log.sqlite", scene)


# Names by a list.


@pytest.fixture
def page(tmp_path: Path) -> Path:
    pixels = np.full((300, 200, 3), 255, dtype=np.uint8)
    pixels[40:150, 30:170] = ImageColor.getrgb("#d3a37c")
    pixels[150:260, 30:170] = ImageColor.getrgb("#4f7a7c")
    Image.fromarray(pixels).save(tmp_path / "page.png")
    return tmp_path / "page.png"


def test_a_list_pasted_on_a_page_names_its_flats(play, page: Path, tmp_path: Path) -> None:
    (tmp_path / "names.txt").write_text("#4f7a7c deep sea\n#fff paper\n", encoding="utf-8")

    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        await press(pilot, "F")
        await write(pilot, str(page))
        screen = await pasted(pilot, LIST)
        assert dict(labels(screen)) == {"#d3a37c": "skin, light", "#4f7a7c": "sea", "#ffffff": ""}
        assert text(screen, "#page-message") == ("2 flats named; 1 of the colours not on this page")
        # In the question for a name a list does the same, and the name of a file is read.
        await press(pilot, "l")
        await paste(pilot, "#ffffff paper\n#4f7a7c sea, far")
        assert dict(labels(screen))["#4f7a7c"] == "sea, far"
        await press(pilot, "l")
        await write(pilot, str(tmp_path / "names.txt"))
        assert dict(labels(screen))["#4f7a7c"] == "deep sea"
        # So is a file that is dropped on the window; one that cannot be read is named.
        await pasted(pilot, f"'{tmp_path}/none.csv' ")
        assert "cannot be read" in text(screen, "#page-message")
        # One colour is gone to, with its name it is named.
        await pasted(pilot, "#D3A37C")
        assert screen.state.colour.given.text == "#d3a37c"
        await pasted(pilot, "#4f7a7c sea")
        assert dict(labels(screen))["#4f7a7c"] == "sea"
        await pasted(pilot, "#123456")
        assert text(screen, "#page-message") == ("nothing named; 1 of the colours not on this page")

    play(scene, palette="newsprint-quarters")


def test_the_file_of_a_list_opens_as_a_page(play, tmp_path: Path) -> None:
    path = tmp_path / "colours.txt"
    path.write_text(LIST, encoding="utf-8")
    (tmp_path / "bad.csv").write_text("#fff\nroof\n", encoding="utf-8")

    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "F")
        await write(pilot, str(tmp_path / "bad.csv"))
        assert "line 2" in message(match)
        await press(pilot, "F")
        await write(pilot, str(path))
        screen = pilot.app.screen
        assert isinstance(screen, PageScreen)
        assert text(screen, "#page-head").startswith("colours.txt: 4 colours")

    play(scene)


# Hostile and large.


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("#ffffff x\n" * 100_000, "holds 100,000 colours; give at most 240"),
        ("#ffffff " + "x" * 1_000_000 + "\n#000000", "line 1: is far too long"),
        ('"' + "x" * 200_000 + '","y\n"#000000"', "line 1: is far too long"),
        ("[b]roof[/b]\n#000000", "line 1: is not a colour"),
        ("\x1b[31m#ff0000\x1b[0m\n#000000", "line 1: is not a colour"),
        ("\x00\n\x00", "line 1: is not a colour"),
    ],
)
def test_a_hostile_paste_is_refused_in_a_line(play, what: str, said: str) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        pilot.app.post_message(Paste(what))
        await settled(pilot)
        assert pilot.app.screen is match
        assert said in message(match)
        assert "\x1b" not in message(match)
        screen = await pasted(pilot, LIST)
        pilot.app.post_message(Paste(what))
        await settled(pilot)
        assert said in text(screen, "#page-message")
        assert dict(labels(screen))["#4f7a7c"] == "sea"

    play(scene)


def test_labels_that_steer_a_terminal_are_shown_as_text(play, tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await pasted(
            pilot, "#d3a37c [red]\x1b[2J\n#4f7a7c [/]漢漢漢漢漢漢漢漢漢漢漢\n#fff \u202e"
        )
        seen = lines(screen) + text(screen, "#page-facts")
        assert "[red]" in seen
        assert "\x1b" not in seen and "\u202e" not in seen
        for size in ((60, 24), (36, 12), (30, 10), (160, 45)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            view = screen.view
            widths = {view.render_line(y).cell_length for y in range(view.size.height)}
            assert widths == {view.size.width}
        await press(pilot, "K")
        await write(pilot, "")
        assert "not taken" in text(screen, "#page-message")
        with Log(tmp_path / "log.sqlite") as log:
            assert not log.choices("ferrow")

    play(scene)


def test_every_square_of_a_long_list_is_seen(tmp_path: Path) -> None:
    mixed = recipes.mix(palette_file.load("screen-quarters"))
    for count in (1, 2, 3, 7, 24, 41, 100, 240):
        named = [Named(target.parse(f"#{i:02x}8040"), "lamp glass") for i in range(count)]
        page = pages.of_list(named, mixed, None)
        for columns, rows in ((70, 48), (30, 40), (130, 82), (18, 16)):
            dots = page_dots.of_list(page.colours, [(0, 0, 0)] * count, columns, rows)
            assert dots.places.shape == (rows, columns)
            assert set(range(count)) <= set(dots.places.reshape(-1).tolist())
            for name in dots.names:
                assert name.line < rows // 2 and name.left + name.room <= columns


def test_a_long_name_is_wrapped_on_its_square() -> None:
    mixed = recipes.mix(palette_file.load("screen-quarters"))
    named = [Named(target.parse("#d3a37c"), "Oda's skin where the lamp shines on it")] * 40
    page = pages.of_list(named, mixed, None)
    names = page_dots.of_list(page.colours, [(0, 0, 0)] * 40, 70, 48).names
    assert [name.text for name in names[:2]] == ["Oda's", "skin…"]
    assert max(len(name.text) for name in names) <= names[0].room


def test_a_list_in_one_burst(tmp_path: Path) -> None:
    keys = (
        f"\x1b[200~{LIST}\x1b[201~ l\x1b[200~{CSV}\x1b[201~x" + "K7\r" + ESCAPE + "g8\r\r" + ESCAPE
    )
    slow, at_once = tmp_path / "slow.sqlite", tmp_path / "at_once.sqlite"
    left = played_slowly(slow, keys)
    assert len([row for row in left if row[0] == "choice"]) == 4
    assert played(at_once, [(keys, 0)]) == left


def test_a_list_of_a_megabyte_and_a_real_one_in_a_real_terminal(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    with Terminal("--log", str(log), folder=tmp_path) as terminal:
        terminal.until("paste a colour")
        terminal.paste("#d9803f lamp glass\n" * 60_000)
        terminal.until("at most 240")
        terminal.paste("".join(f"{colour} {name}\n" for name, colour, _ in comic_page.SHAPES))
        terminal.until("pairs still differ")
        terminal.until("sky, high")
        terminal.press("q")
        assert terminal.wait() == 0


def test_the_command_opens_a_list_on_a_terminal(tmp_path: Path) -> None:
    (tmp_path / "colours.txt").write_text(LIST, encoding="utf-8")
    arguments = ("page", "colours.txt", "--log", str(tmp_path / "log.sqlite"))
    with Terminal(*arguments, folder=tmp_path) as terminal:
        terminal.until("colours.txt: 4 colours")
        terminal.until("skin, light")
        terminal.press("q")
        assert terminal.wait() == 0
