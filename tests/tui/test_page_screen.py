"""A page looked at, named, locked and taken, through Textual's Pilot."""

from __future__ import annotations

from pathlib import Path

import comic_page
import numpy as np
import pytest
from burst import DOWN, ESCAPE, played, played_slowly
from match_app import message
from PIL import Image, ImageColor
from screens import press, settled, write
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.economy_screen import EconomyScreen
from tuimatch.tui.screens.laying_screen import LayingScreen
from tuimatch.tui.screens.page_screen import PageScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.widgets.flat_lists import FlatList
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines

LIGHT, SHADE, SEA, PAPER = "#d3a37c", "#b9855f", "#4f7a7c", "#ffffff"


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """Paper with a black frame; in it skin in light and shade above the sea."""
    pixels = np.full((300, 200, 3), 255, dtype=np.uint8)
    pixels[40:260, 30:170] = 0
    pixels[44:150, 34:100] = ImageColor.getrgb(LIGHT)
    pixels[44:150, 100:166] = ImageColor.getrgb(SHADE)
    pixels[150:256, 34:166] = ImageColor.getrgb(SEA)
    Image.fromarray(np.ascontiguousarray(pixels)).save(tmp_path / "page.png")
    return tmp_path / "page.png"


async def opened(pilot: Pilot[None], page: Path) -> PageScreen:
    """The page, opened from the match with its line art kept out."""
    await press(pilot, "F")
    await write(pilot, str(page))
    screen = pilot.app.screen
    assert isinstance(screen, PageScreen)
    assert "#000000 looks like line art" in text(screen, "#page-message")
    await press(pilot, "enter")
    return screen


def text(screen: PageScreen, selector: str) -> str:
    return screen.query_one(selector, Lines).text


def beside(screen: PageScreen) -> str:
    listed = screen.query_one("#page-beside", FlatList)
    return "\n".join(listed.render_line(y).text for y in range(listed.size.height))


def cells(screen: PageScreen) -> set[str]:
    """Every colour in the picture of the page."""
    view, found = screen.view, set()
    for y in range(view.size.height):
        for segment in view.render_line(y):
            for colour in (segment.style.color, segment.style.bgcolor) if segment.style else ():
                if colour is not None:
                    found.add(colour.name)
    return found


def printed(screen: PageScreen) -> dict[str, str]:
    """The recipe's colour on screen, by the flat's."""
    assert screen.state.shown is not None
    page, match = screen.state.shown.page, screen.state.shown.match
    return {
        c.given.text: "#{:02x}{:02x}{:02x}".format(*page.recipes.rgb_of(row))
        for c, row in zip(page.colours, match.rows, strict=True)
    }


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_the_page_as_printed_as_given_and_split(play, page: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        head = text(screen, "#page-head").splitlines()
        line_art = "" if size[0] == 60 else ", line art kept out"
        assert head[0].startswith(f"page.png: 4 flats{line_art}, on Newsprint")
        assert max(map(len, head)) <= size[0] - 2  # nothing is cut
        assert "proved" in text(screen, "#page-head")
        will_be = set(printed(screen).values())
        given = {LIGHT, SHADE, SEA, PAPER}
        assert will_be <= cells(screen)
        await press(pilot, "d")
        assert cells(screen) & given
        assert cells(screen) & will_be
        await press(pilot, *["right"] * 10)
        assert given <= cells(screen)
        await press(pilot, *["left"] * 20)
        assert will_be <= cells(screen)
        await press(pilot, "d")
        assert given <= cells(screen)

    play(scene, palette="newsprint-quarters", size=size)


def test_in_a_small_pane_the_words_on_a_flat_are_whole(play, page: Path) -> None:
    async def scene(pilot, _):
        screen = await opened(pilot, page)
        for size in ((36, 12), (50, 24), (60, 24)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            for _ in range(4):
                facts = screen.query_one("#page-facts", Lines)
                shown = [facts.render_line(y).text for y in range(facts.size.height)]
                assert not any("…" in line or line.startswith("%") for line in shown)
                await press(pilot, "j")

    play(scene, palette="newsprint-quarters")


def test_the_cursor_goes_from_flat_to_flat(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        screen = await opened(pilot, page)
        seen = []
        for _ in range(5):
            seen.append(screen.state.colour.given.text)
            await press(pilot, "down")
        assert sorted(seen[:4]) == sorted([PAPER, LIGHT, SHADE, SEA])
        assert seen[4] == seen[0]
        reading = seen[seen.index(PAPER) : 4] + seen[: seen.index(PAPER)]
        assert reading == [PAPER, LIGHT, SHADE, SEA]
        await press(pilot, "s", "down", "down", "down", "down")
        while screen.state.colour.given.text != SEA:
            await press(pilot, "down")
        await press(pilot, "down")
        assert screen.state.colour.given.text == LIGHT
        # The mouse: where the sea is drawn.
        rows, columns = screen._dots.places.shape
        await pilot.click(screen.view, offset=(columns // 2, round(rows * 0.4)))
        await settled(pilot)
        assert screen.state.colour.given.text == SEA
        assert SEA in text(screen, "#page-facts")
        await pilot.resize_terminal(160, 45)  # with room for all of their names
        await settled(pilot)
        assert f"orange {LIGHT}" in beside(screen)
        assert f"orange {SHADE}" in beside(screen)
        assert f"white {PAPER}" in beside(screen)  # only a thin line is between
        await pilot.resize_terminal(100, 30)
        await settled(pilot)
        # A click on it again opens it in the match.
        await pilot.click(screen.view, offset=(columns // 2, round(rows * 0.4)))
        await settled(pilot)
        assert pilot.app.screen is match
        assert match.state.match is not None
        assert match.state.match.question.target.text == SEA

    play(scene, palette="newsprint-quarters")


def test_a_flat_is_opened_in_the_match_and_comes_back_locked(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != LIGHT:
            await press(pilot, "down")
        await press(pilot, "enter")
        assert pilot.app.screen is match
        assert match.state.match is not None
        assert match.state.match.question.target.text == LIGHT
        assert "Enter takes a recipe back to the page" in message(match)
        listed = "\n".join(
            match.candidates.render_line(y).text for y in range(match.candidates.size.height)
        )
        assert f"beside: {SHADE}" in listed
        await press(pilot, "down", "down")
        candidate = match.state.candidate
        assert candidate is not None
        await press(pilot, "enter")
        back = pilot.app.screen
        assert isinstance(back, PageScreen)
        assert back.state.colour.given.text == LIGHT
        assert back.state.row == candidate.row
        assert "locked" in text(back, "#page-facts")
        assert not match.state.keeper.choices  # it went to the page, not to the log
        await press(pilot, "space")
        assert "locked" not in text(back, "#page-facts")
        # Back without a recipe; the next take is for the log again.
        await press(pilot, "enter", "F")
        assert isinstance(pilot.app.screen, PageScreen)
        await press(pilot, "escape")
        assert pilot.app.screen is match
        await press(pilot, "F")
        assert match.state.asked is not None
        assert match.state.asked.answer == str(page)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, PageScreen)

    play(scene, palette="newsprint-quarters")


def test_a_colour_pasted_into_the_match_is_not_for_the_page(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await opened(pilot, page)
        await press(pilot, "enter")
        match.action_do("pasted", "tomato")
        await press(pilot, "enter", "escape")
        assert pilot.app.screen is match
        assert [choice.target_text for choice in match.state.keeper.choices] == ["tomato"]

    play(scene, palette="newsprint-quarters")


def test_names_one_after_another_and_all_taken_in_one_step(
    play, page: Path, tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != PAPER:
            await press(pilot, "down")
        await press(pilot, "l")
        for name in ("paper", "skin, light", "skin, shade", "sea"):
            await write(pilot, name)
        await press(pilot, "escape")
        assert "paper" in text(screen, "#page-facts")
        await press(pilot, "n")
        assert "first keep the page" in text(screen, "#page-message")
        await press(pilot, "b")
        assert pilot.app.screen is screen
        await press(pilot, "K")
        await write(pilot, "12")
        assert text(screen, "#page-message") == "took 4 recipes of page 12; u undoes it"
        with Log(tmp_path / "log.sqlite") as log:
            taken = {c.target_text: (c.label, c.page, c.srgb) for c in log.choices("ferrow")}
        assert {colour: label for colour, (label, _, _) in taken.items()} == {
            PAPER: "paper",
            LIGHT: "skin, light",
            SHADE: "skin, shade",
            SEA: "sea",
        }
        assert {page for _, page, _ in taken.values()} == {"12"}
        assert {colour: srgb for colour, (_, _, srgb) in taken.items()} == printed(screen)
        for key, kind in (("n", PassesScreen), ("e", EconomyScreen)):
            await press(pilot, key)
            assert isinstance(pilot.app.screen, kind)
            await press(pilot, "escape")
        await press(pilot, "u")
        assert "undone: took 4 recipes" in text(screen, "#page-message")
        with Log(tmp_path / "log.sqlite") as log:
            assert log.choices("ferrow") == []
        await press(pilot, "K")
        await write(pilot, "12")
        # The match knows of it, and a page read again knows the names.
        await press(pilot, "escape")
        assert len(match.state.keeper.choices) == 4
        match._page = None
        again = await opened(pilot, page)
        assert {c.label for c in again.state.shown.page.colours} == {
            *("paper", "skin, light", "skin, shade", "sea")
        }

    play(scene, palette="newsprint-quarters")


def test_a_flat_is_laid_from_the_page_and_what_is_ticked_stays(
    play, page: Path, tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != SEA:
            await press(pilot, "down")
        await press(pilot, "K")
        await write(pilot, "12")
        await press(pilot, "b")
        assert isinstance(pilot.app.screen, LayingScreen)
        await press(pilot, "space", "escape")
        assert pilot.app.screen is screen
        # Kept again as it is, the ticks stay with it.
        await press(pilot, "K")
        await write(pilot, "12")
        with Log(tmp_path / "log.sqlite") as log:
            kept = log.choices("ferrow")
            assert len(kept) == 4
            (tick,) = log.ticks.of()
            assert {c.id: c.target_text for c in kept}[tick.choice] == SEA
        await press(pilot, "b")
        laying = pilot.app.screen
        assert isinstance(laying, LayingScreen)
        assert len(laying.picture.laying.laid) == 1
        await press(pilot, "escape")
        # What is shown is not what the log has: nothing is laid of the wrong recipe.
        screen.state.lock(screen.state.place, 0)
        screen._begin()
        await settled(pilot)
        await press(pilot, "b")
        assert pilot.app.screen is screen
        assert "the log has another recipe" in text(screen, "#page-message")

    play(scene, palette="newsprint-quarters")


def test_keeping_the_page_again_leaves_a_flat_that_is_laid_its_recipe(
    play, page: Path, tmp_path: Path
) -> None:
    def recipes() -> dict[str, str]:
        with Log(tmp_path / "log.sqlite") as log:
            return {c.target_text: c.recipe for c in log.choices("ferrow")}

    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != SEA:
            await press(pilot, "down")
        screen.state.label("sea")
        await press(pilot, "K")
        await write(pilot, "12")
        await press(pilot, "b", "space", "escape")
        before = recipes()
        # Two flats get another recipe, one of which is laid in part.
        skin = screen.state.order[0 if screen.state.order[0] != screen.state.place else 1]
        shown = screen.state.shown
        assert shown is not None
        other = shown.page.recipes.row_of((25.0, 25.0, 25.0))
        assert other is not None and other not in shown.match.rows
        screen.state.lock(screen.state.place, other)
        screen.state.lock(skin, other)
        screen._begin()
        await settled(pilot)
        await press(pilot, "K")
        await write(pilot, "12")
        assert "; laid already, so kept: sea; u undoes it" in text(screen, "#page-message")
        after = recipes()
        assert after[SEA] == before[SEA]
        colour = shown.page.colours[skin].given.text
        assert after[colour] == "yellow 25 %, magenta 25 %, cyan 25 %" != before[colour]
        # The page shows what is kept, and one u takes it all back but the tick.
        state = screen.state
        assert state.shown is not None
        assert (
            state.shown.page.recipes.palette.recipe_text(
                state.shown.page.recipes.tints_of(state.row)
            )
            == after[SEA]
        )
        await press(pilot, "u")
        assert recipes() == before
        with Log(tmp_path / "log.sqlite") as log:
            assert len(log.ticks.of()) == 1

    play(scene, palette="newsprint-quarters")


def test_the_page_shows_what_the_economy_took_and_what_undoing_brought_back(
    play, page: Path, tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        before = printed(screen)
        await press(pilot, "K")
        await write(pilot, "12")
        await press(pilot, "e", *["+"] * 12, "enter", "escape")
        assert pilot.app.screen is screen
        with Log(tmp_path / "log.sqlite") as log:
            taken = {c.target_text: c.srgb for c in log.choices("ferrow")}
        changed = {colour for colour, srgb in taken.items() if srgb != before[colour]}
        assert changed
        assert printed(screen) == taken
        assert "another recipe in the log" in text(screen, "#page-message")
        await press(pilot, "u")
        assert printed(screen) == before

    play(scene, palette="newsprint-quarters")


def test_a_flat_smaller_than_a_dot_is_pointed_at(play, page: Path, tmp_path: Path) -> None:
    with Image.open(page) as drawn:
        pixels = np.array(drawn.resize((2000, 3000), Image.Resampling.NEAREST))
    pixels[1203:1223, 1203:1223] = (255, 200, 0)
    Image.fromarray(pixels).save(tmp_path / "large.png")

    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, tmp_path / "large.png")
        while screen.state.colour.given.text != "#ffc800":
            await press(pilot, "down")
        rows, columns = screen._dots.places.shape
        y, x = np.argwhere(screen._dots.places == screen.state.place)[0]
        assert (y, x) == (1203 * rows // 3000, 1203 * columns // 2000)
        # Around it there is an outline.
        assert {"#000000", "#ffffff"} <= cells(screen)

    play(scene, palette="newsprint-quarters", size=(60, 24))


def test_bare_paper_is_not_laid(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != PAPER:
            await press(pilot, "down")
        await press(pilot, "K")
        await write(pilot, "12")
        await press(pilot, "b")
        assert pilot.app.screen is screen
        assert text(screen, "#page-message").startswith("bare paper: there is nothing to lay")
        await press(pilot, "down", "b")
        assert isinstance(pilot.app.screen, LayingScreen)

    play(scene, palette="newsprint-quarters")


def test_what_looks_like_line_art_is_asked_about_once(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "F")
        await write(pilot, str(page))
        screen = pilot.app.screen
        assert isinstance(screen, PageScreen)
        # The cursor is on it while it is asked about.
        assert text(screen, "#page-message").startswith("#000000 looks like line art")
        assert screen.state.colour.given.text == "#000000"
        assert screen.prompt.placeholder == "Enter: it is, so it stays out; Esc: it is a flat"
        await press(pilot, "escape")
        assert len(screen.state.shown.page.colours) == 5
        await press(pilot, "down", "space")  # matched again, not asked again
        assert not screen.prompt.has_class("-open")
        await press(pilot, "escape", "F", "enter")
        again = pilot.app.screen
        assert isinstance(again, PageScreen)
        assert not again.prompt.has_class("-open")
        # Another page is asked about; the answer is yes.
        await press(pilot, "escape")
        match._page = None
        screen = await opened(pilot, page)
        assert {c.given.text for c in screen.state.shown.page.colours} == {LIGHT, SHADE, SEA, PAPER}
        assert not screen.prompt.has_class("-open")

    play(scene)


def test_the_worst_come_first_and_the_page_is_judged(play, tmp_path: Path) -> None:
    comic_page.draw(line=3).save(tmp_path / "page.png")

    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, tmp_path / "page.png")
        shown = screen.state.shown
        assert shown is not None
        off = sorted((e for e in shown.match.delta_e if e > 5), reverse=True)
        head = text(screen, "#page-head").splitlines()[2]
        assert head.startswith(f"{len(off)} of {len(shown.page.colours)} far off (over ΔE 5): ")
        await press(pilot, "s", "s")
        assert text(screen, "#page-message") == "the worst first"
        while screen.state.at:
            await press(pilot, "up")
        walked = []
        for _ in off:
            walked.append(shown.match.delta_e[screen.state.place])
            await press(pilot, "down")
        assert walked == off
        # The list beside the page has the same order, and a click in it points.
        listed = screen.query_one("#page-flats", FlatList)
        assert any(listed.render_line(y).text.startswith("▸") for y in range(listed.size.height))
        while screen.state.at:
            await press(pilot, "up")
        assert listed.render_line(1).text.startswith("▸")
        assert f"{off[0]:.1f}" in listed.render_line(1).text
        await pilot.click(listed, offset=(3, 3))
        await settled(pilot)
        assert screen.state.at == 2
        assert listed.render_line(3).text.startswith("▸")
        beside = screen.query_one("#page-beside", FlatList)
        first = screen.state.beside()[0].place
        await pilot.click(beside, offset=(3, 1))
        await settled(pilot)
        assert screen.state.place == first
        for size in ((60, 24), (36, 12), (160, 45), (100, 18)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            for one in (listed, beside):
                lines = {one.render_line(y).cell_length for y in range(one.size.height)}
                assert lines <= {one.size.width}

    play(scene, palette="newsprint-quarters")


def test_line_art_kept_out_and_brought_back(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        assert screen.state.shown is not None
        assert len(screen.state.shown.page.colours) == 4
        await press(pilot, "B")
        assert len(screen.state.shown.page.colours) == 5
        await press(pilot, "B")
        assert "no line art" in text(screen, "#page-message")

    play(scene)


def test_what_is_no_page_is_refused_and_leaves_the_way_back(play, tmp_path: Path) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (60, 60, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "noise.png")

    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "F")
        await write(pilot, str(tmp_path / "none.png"))
        assert "cannot be read" in message(match)
        await press(pilot, "F")
        await write(pilot, str(tmp_path / "noise.png"))
        screen = pilot.app.screen
        assert isinstance(screen, PageScreen)
        assert "does not consist of flats" in text(screen, "#page-message")
        await press(pilot, "K", "down", "enter", "l", "space", "n")
        assert pilot.app.screen is screen
        await press(pilot, "escape")
        assert pilot.app.screen is match

    play(scene)


def test_the_page_of_the_comic_in_every_window(play, tmp_path: Path) -> None:
    comic_page.draw(line=3).save(tmp_path / "page.png")

    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, tmp_path / "page.png")
        assert screen.state.shown is not None
        assert not screen.state.shown.match.why_not
        for size in ((60, 24), (36, 12), (160, 45), (30, 10), (100, 30)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            if size == (36, 12):  # in as few lines as the panel beside the page needs
                facts = screen.query_one("#page-facts", Lines)
                longest = max(map(len, facts.text.splitlines()))
                assert longest > 0.7 * facts.size.width
            view = screen.view
            assert {len(view.render_line(y).text) for y in range(view.size.height)} == {
                view.size.width
            }

    play(scene, palette="newsprint-quarters")


def test_esc_in_the_match_goes_back_to_the_page_without_a_change(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], match: MatchScreen) -> None:
        await press(pilot, "escape")
        assert "not in use here" in message(match)  # no page waits for a recipe
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != SEA:
            await press(pilot, "down")
        before, asked = printed(screen), screen.state.asked
        await press(pilot, "enter", "down")
        assert any(key.action == "to_page" for key in match.query_one(Foot).shown)
        # Keys of the page say what they are there for.
        await press(pilot, "K")
        assert message(match).startswith("K is for the page (Keep all recipes")
        await press(pilot, "x")
        assert message(match).startswith("x is for the page (Take this colour for line art")
        await press(pilot, "ctrl+t")
        assert "not in use here" in message(match)
        await press(pilot, "escape")
        back = pilot.app.screen
        assert isinstance(back, PageScreen)
        assert back.state.colour.given.text == SEA
        assert back.state.asked is asked
        assert printed(back) == before
        await press(pilot, "escape", "escape")
        assert pilot.app.screen is match
        assert "not in use here" in message(match)
        assert not any(key.action == "to_page" for key in match.query_one(Foot).shown)

    play(scene, palette="newsprint-quarters")


def test_to_the_match_and_back_in_one_burst(tmp_path: Path, page: Path) -> None:
    """Whether the keys come at once or one by one, the page is kept as it was matched."""
    keys = f"F{page}\r\r" + DOWN * 2 + "\r" + ESCAPE + "\r" + DOWN + ESCAPE + "K12\r" + ESCAPE
    slow, at_once = tmp_path / "slow.sqlite", tmp_path / "at_once.sqlite"
    left = played_slowly(slow, keys)
    assert len([row for row in left if row[0] == "choice"]) == 4
    assert played(at_once, [(keys, 0)]) == left


def test_a_page_opened_again_is_as_the_log_has_it(play, page: Path, tmp_path: Path) -> None:
    def kept() -> dict[str, tuple[str, str]]:
        with Log(tmp_path / "log.sqlite") as log:
            return {c.target_text: (c.label, c.recipe) for c in log.choices("ferrow")}

    async def first(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        while screen.state.colour.given.text != SEA:
            await press(pilot, "down")
        shown = screen.state.shown
        assert shown is not None
        other = shown.page.recipes.row_of((25.0, 25.0, 25.0))
        assert other is not None
        screen.state.lock(screen.state.place, other)
        screen._begin()
        await settled(pilot)
        await press(pilot, "K")
        await write(pilot, "12")

    async def again(pilot: Pilot[None], _: MatchScreen) -> None:
        before = kept()
        assert before[SEA] == ("", "yellow 25 %, magenta 25 %, cyan 25 %")
        screen = await opened(pilot, page)
        assert screen.state.number == "12"
        while screen.state.colour.given.text != SEA:
            await press(pilot, "down")
        await press(pilot, "b")
        assert isinstance(pilot.app.screen, LayingScreen)
        await press(pilot, "space", "escape", "K")
        await write(pilot, "12")
        assert "the log has just these already" in text(screen, "#page-message")
        assert kept() == before
        # A name given now goes to the area that is there, and what is laid of it stays.
        screen.state.label("sea")
        await press(pilot, "K")
        await write(pilot, "12")
        assert kept() == {**before, SEA: ("sea", before[SEA][1])}
        with Log(tmp_path / "log.sqlite") as log:
            (sea,) = [c for c in log.choices("ferrow") if c.label == "sea"]
            assert len(log.choices("ferrow")) == len(before)
            assert sea.id in log.ticks.laid([sea])

    play(first, palette="newsprint-quarters")
    play(again, palette="newsprint-quarters")


def test_quitting_says_first_that_names_are_not_kept(play, page: Path) -> None:
    async def scene(pilot: Pilot[None], _: MatchScreen) -> None:
        screen = await opened(pilot, page)
        screen.state.label("lamp")
        await press(pilot, "q")
        assert pilot.app.return_code is None
        assert "are not kept: K keeps them" in text(screen, "#page-message")
        await press(pilot, "K")
        await write(pilot, "3")
        assert not screen.state.warns()
        screen.state.label("lamp glass")
        await press(pilot, "q", "q")
        assert pilot.app.return_code == 0

    play(scene)
