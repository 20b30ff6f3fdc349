"""The match screen through Textual's Pilot: the keys that stay on it."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from match_app import Play, head, limits, message, paste
from screens import said, settled
from textual.events import Key
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.tui.match.look import Preview
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.ranked_list import RankedList
from tuimatch.tui.widgets.seam import Seam

SIZES = ((60, 24), (100, 30), (160, 45))


def _row_of(screen: MatchScreen) -> int:
    candidate = screen.candidates.candidate
    assert candidate is not None
    return candidate.rank


def test_keys_move_the_cursor_and_the_seam_with_it(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        ranks = []
        for key in ("down", "j", "up", "k", "end", "pageup", "pagedown", "home"):
            await pilot.press(key)
            ranks.append(_row_of(screen))
        assert ranks[:5] == [2, 3, 2, 1, 125]
        assert 1 < ranks[5] < 125
        assert ranks[6:] == [125, 1]
        seam = screen.query_one(Seam)
        first = [segment.style for segment in seam.render_line(0)]
        await pilot.press("down")
        second = [segment.style for segment in seam.render_line(0)]
        assert first[0] == second[0]  # the target stays
        assert first[1] != second[1]

    play(scene)


def test_paste_sets_the_target_even_while_a_question_is_open(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await paste(pilot, " TOMATO\n")
        assert "TOMATO" in head(screen)
        await pilot.press("enter")
        await paste(pilot, "#224466")
        assert "#224466" in head(screen)
        assert screen.candidates.has_focus  # the question was about the colour before
        await pilot.press("enter")
        await paste(pilot, "lamp [b]glass")
        assert screen.prompt.value == "lamp [b]glass"
        await pilot.press("enter")
        assert screen.candidates.has_focus

    play(scene)


def test_taking(play: Play, tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("3")
        with Log(tmp_path / "log.sqlite") as log:  # on disk before anything else is done
            (choice,) = log.choices("ferrow")
        assert _row_of(screen) == 3
        assert pilot.app.clipboard == choice.recipe
        await pilot.press(*"fog", "enter", "2")
        await settled(pilot)  # the recipe is on the clipboard, and that is said
        await pilot.press(*"fog", "enter")
        assert screen.prompt.placeholder.startswith("Enter replaces it")
        assert message(screen) == f"“fog” is {choice.recipe} already"
        await pilot.press("enter")
        assert screen.candidates.has_focus and "u brings the old one back" in message(screen)
        await settled(pilot)
        with Log(tmp_path / "log.sqlite") as log:
            assert [c.label for c in log.choices("ferrow")] == ["fog"]

    play(scene)


def test_the_target_is_typed(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("t")
        assert screen.prompt.value == "#d94f2a" and screen.prompt.has_focus
        await pilot.press(*"nonsense", "enter")
        assert "nonsense" in message(screen) and screen.prompt.has_focus
        await pilot.press("escape", "#", *"22aa44", "enter")
        assert "#22aa44" in head(screen)
        assert screen.candidates.has_focus

    play(scene)


def test_where_nothing_is_left_the_screen_says_so(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("O")
        assert _limits(screen).startswith("0 of 125 recipes")
        assert "no recipe left" in screen.query_one("#notice", Lines).text
        assert _facts(screen) == ""
        await pilot.press("down", "enter", "d", "right", "y", "a", "r")  # none of them ends it
        assert pilot.app.screen is screen

    play(scene, palette="newsprint-quarters")


def test_every_size_shows_seam_list_and_recipe(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for palette in palette_file.shipped_names():
            screen.set_palette(palette_file.load(palette))
            await settled(pilot)
            for size in SIZES:
                await pilot.resize_terminal(*size)
                await pilot.pause()
                assert screen.seam.size.width >= 30
                assert screen.seam.size.height >= 6
                assert screen.candidates.size.height >= 6
                assert " %" in screen.query_one("#facts", Lines).text
                widths = [
                    sum(s.cell_length for s in screen.candidates.render_line(y))
                    for y in range(screen.candidates.size.height)
                ]
                assert set(widths) == {screen.candidates.size.width}

    play(scene)


def _limits(screen: MatchScreen) -> str:
    return screen.query_one("#limits", Lines).text


def _facts(screen: MatchScreen) -> str:
    return screen.query_one("#facts", Lines).text


def _seam_colours(screen: MatchScreen) -> set[object]:
    """Every colour that the right half of the seam is drawn in."""
    found: set[object] = set()
    for y in range(screen.seam.size.height):
        for segment in list(screen.seam.render_line(y))[1:]:
            assert segment.style is not None
            found |= {segment.style.color, segment.style.bgcolor}
    return found - {None}


def test_dots_zoom_ruling_and_register(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        afar = _seam_colours(screen)
        await pilot.press("d")
        near = _seam_colours(screen)
        assert len(afar) <= 2 < len(near)  # yellow, cyan, both and paper
        assert "85 lines an inch: dots merge from 1.0 m" in _facts(screen)
        await pilot.press("full_stop")
        assert "100 lines an inch: dots merge from 0.9 m" in _facts(screen)
        await pilot.press("comma", "comma")
        assert "75 lines an inch" in _facts(screen)
        strips = [screen.seam.render_line(y) for y in range(10)]
        for key in ("plus", "minus", "m", "M"):
            await pilot.press(key)
            changed = [screen.seam.render_line(y) for y in range(10)]
            assert changed != strips, key
            strips = changed
        assert "yellow out of register by 0.5 dot" in _facts(screen)
        await pilot.press("m", "m", "d")
        assert screen.state.look.shifted is None
        assert _seam_colours(screen) == afar

    play(scene, colour="#6f9f8a")


def test_out_of_reach_offers_the_best_of_each_hold(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        rows = [screen.candidates.render_line(y).text for y in range(2, 5)]
        assert any("best for" in row for row in rows)
        await pilot.press("down")
        offered = screen.state.candidate
        assert offered is not None
        await pilot.press("enter")
        assert screen.state.keeper.choices[-1].delta_e == offered.delta_e

    play(scene, colour="#d29542", palette="newsprint-quarters", size=(160, 45))


def test_walking_moves_the_cursor_of_the_list(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for key in ("shift+up", "shift+down", "shift+right", "shift+left", "right", "left"):
            await pilot.press("home", key)
            assert screen.state.candidate is not None
            assert _row_of(screen) == screen.state.candidate.rank
            assert _row_of(screen) != 1 or "recipe nearby" in message(screen)

    play(scene)


def test_a_colour_that_comes_back_is_offered_first(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("down", "down", "enter", *"coat", "enter")
        taken = screen.state.keeper.choices[-1]
        await paste(pilot, "tomato")
        await paste(pilot, "#d9502b")
        notice = screen.query_one("#notice", Lines).text
        assert "coat has this colour: its recipe is first" in notice
        assert screen.state.candidate is not None
        assert screen.state.candidate.delta_e == pytest.approx(taken.delta_e, abs=1)
        assert "used for coat" in screen.candidates.render_line(1).text
        rows = [screen.candidates.candidate_at(i).row for i in range(len(screen.candidates))]
        assert sorted(rows) == list(range(len(rows)))  # one recipe, one line

    play(scene, size=(160, 45))


def test_too_small_is_said(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for size in ((23, 24), (60, 24), (60, 9), (20, 5), (24, 10)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            roomy = size in ((60, 24), (24, 10))
            assert screen.query_one("#too-small").display != roomy
            assert screen.query_one("#body").display == roomy

    play(scene)


def test_a_second_click_on_a_row_takes_it(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for _ in range(2):
            await pilot.click(RankedList, offset=(20, 3))
        assert len(screen.state.keeper.choices) == 1
        assert screen.state.candidate is not None
        assert screen.state.candidate.delta_e == screen.state.keeper.choices[0].delta_e

    play(scene)


def test_a_choice_that_waits_is_written_when_the_interface_closes(
    play: Play, tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        other = sqlite3.connect(tmp_path / "log.sqlite", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        await pilot.press("enter", "escape")
        other.close()

    play(scene)
    with Log(tmp_path / "log.sqlite") as log:
        assert len(log.choices("ferrow")) == 1


def test_numbers_of_any_length_keep_their_columns(play: Play, tmp_path: Path) -> None:
    text = palette_file.load("screen-quarters").text.replace("[25, 50", "[22.19, 44.86")
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        ranking = screen.state.match.ranking if screen.state.match else None
        assert ranking is not None
        for size in SIZES:
            await pilot.resize_terminal(*size)
            await pilot.pause()
            for y in range(1, screen.candidates.size.height):
                row = screen.candidates.render_line(y).text.replace("▸", " ")
                rank, _, *tints = row.split()[:5]
                assert set(tints) <= {"·", "22.2", "44.9", "75", "100"}
                assert rank.isdigit()

    play(scene, palette=str(tmp_path / "mine.toml"))


def test_why_a_recipe_is_offered_can_be_read(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for size in ((60, 24), (100, 30), (120, 36)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            text = "\n".join(screen.candidates.render_line(y).text for y in range(5))
            assert "best for hue" in text
            assert "best for vividness" in text

    play(scene, colour="#d29542", palette="newsprint-quarters")


def test_the_order_under_a_hold_can_be_checked(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("h", "h")
        rows = [screen.candidates.render_line(y).text for y in range(13)]
        assert "hue first" in rows[0]
        held = [float(row.replace("▸", " ").split()[1]) for row in rows[1:]]
        plain = [float(row.replace("▸", " ").split()[2]) for row in rows[1:]]
        assert held == sorted(held)
        assert plain != sorted(plain)
        assert screen.state.match is not None
        assert plain[3] == round(screen.state.match.ranking.candidate(3).delta_e, 2)

    play(scene)


def test_what_is_said_of_a_candidate_fits_its_panel(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for colour in ("#d94f2a", "#6a3fa0", "white") * 4:
            await paste(pilot, colour)
            await pilot.press(*["down"] * 4)
            facts = screen.query_one("#facts", Lines)
            lines = [facts.render_line(y).text for y in range(facts.size.height)]
            assert "#" in lines[2]
            assert "black letters" in lines[3]
            assert not any("…" in line for line in lines[1:])

    play(scene)


def test_keys_typed_ahead_of_a_question_are_its_answer(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for key in ("1", *"lamp glass", "enter"):  # all there before the first is acted on
            name = "space" if key == " " else key
            pilot.app.post_message(Key(name, key if len(key) == 1 else None))
        await settled(pilot)
        assert [choice.label for choice in screen.state.keeper.choices] == ["lamp glass"]
        assert pilot.app.screen is screen
        assert limits(screen) == "all 125 recipes"

    play(scene)


def test_no_key_does_anything_unseen(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("enter", "2", "p", "v")
        await settled(pilot)
        assert not screen.state.keeper.choices
        assert pilot.app.screen is screen

    play(scene, size=(20, 20))


def test_a_key_after_leaving_opens_nothing(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for key in "qav":
            pilot.app.post_message(Key(key, key))
        await pilot.pause()
        assert len(pilot.app.screen_stack) <= 1

    play(scene)


def test_another_size_sets_everything_anew(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        def shown() -> list[str]:
            first = [screen.candidates.render_line(y).text for y in range(4)]
            return [head(screen), screen.query_one("#facts", Lines).text, *first]

        before = shown()
        for size in ((40, 20), (60, 24), (160, 45)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
        assert shown() == before

    play(scene, size=(160, 45))


def test_six_hex_digits_at_once_are_a_target(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for key in (*"803fd9", "enter"):  # all there before the first is acted on
            pilot.app.post_message(Key(key, key if len(key) == 1 else None))
        await settled(pilot)
        assert head(screen).startswith("#803fd9 ")
        assert not screen.state.keeper.choices
        assert screen.state.look.preview is Preview.FROM_AFAR
        for key in "ddd":  # fewer are keys
            pilot.app.post_message(Key(key, key))
        await settled(pilot)
        assert screen.state.look.preview is Preview.DOTS

    play(scene)


def test_a_key_that_is_not_in_use_says_so_and_changes_nothing(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        before = (screen.state.match, screen.state.candidate, screen.state.look)
        for key in ("s", "slash", "T"):
            await pilot.press(key)
            assert message(screen).endswith("is not in use here; ? lists the keys")
        assert (screen.state.match, screen.state.candidate, screen.state.look) == before
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("s")  # in a question it is text
        assert screen.prompt.value == "s"
        assert "not in use" not in message(screen)
        await pilot.press("escape", "v", "w")
        await settled(pilot)
        assert "w is not in use here" in said(pilot.app.screen)

    play(scene)


@pytest.mark.parametrize("size", [(36, 24), (36, 12), (24, 12), (59, 24), (100, 12)])
@pytest.mark.parametrize("palette", ["screen-quarters", "coated-tenths", "zine-two-inks"])
def test_the_match_works_in_a_small_pane(play: Play, size: tuple[int, int], palette: str) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.seam.size.height >= 2
        assert screen.candidates.size.height >= 2
        for selector in ("#head", "#notice", "#facts", "#message", "RankedList", "Foot", "Seam"):
            region = screen.query_one(selector).region
            assert region.area and region.bottom <= size[1] and region.right <= size[0], selector
        lines = screen.query_one("#facts", Lines).text.split("\n")
        assert lines[0].startswith("ΔE ")
        assert len(lines) >= 2
        notice = screen.query_one("#notice", Lines).text
        if size[0] >= 36:
            assert "…" not in notice + lines[0] + head(screen)
        before = screen.state.candidate
        await pilot.press("down")
        assert screen.state.candidate != before
        await pilot.press("enter", *"lamp glass", "enter")
        assert [choice.label for choice in screen.state.keeper.choices] == ["lamp glass"]

    play(scene, palette=palette, size=size)
