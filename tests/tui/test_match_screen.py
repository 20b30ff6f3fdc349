"""The match screen through Textual's Pilot: the keys that stay on it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from match_app import Play, head, limits, message, paste
from screens import settled
from textual.events import Key
from textual.pilot import Pilot

from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.ranked_list import RankedList
from tuimatch.tui.widgets.seam import Seam


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


def test_out_of_reach_is_said(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert "out of reach, ΔE 7.0: much more vivid" in screen.query_one("#notice", Lines).text
        await paste(pilot, "#e58a1f")
        assert "out of reach" not in screen.query_one("#notice", Lines).text

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


def test_pasted_nonsense_is_refused_in_words(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for text in ("[/red]", "\x1b[31mred", "x" * 5000, "#12"):
            await paste(pilot, text)
            assert "colour" in message(screen)
            assert "\x1b" not in message(screen)
            assert "#d94f2a" in head(screen)

    play(scene)


def test_target_is_edited_with_a_key(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("t")
        assert screen.prompt.value == "#d94f2a"
        screen.prompt.value = "nonsense"
        await pilot.press("enter")
        assert "is no colour" in message(screen)
        assert screen.prompt.has_focus
        screen.prompt.value = "oklch(0.6 0.17 40)"
        await pilot.press("enter")
        assert "oklch(0.6 0.17 40)" in head(screen)
        await pilot.press("#", *"22aa44", "enter")
        assert "#22aa44" in head(screen)
        await pilot.press("t", "escape")
        assert screen.candidates.has_focus

    play(scene)


@pytest.mark.parametrize(("key", "rank"), [("enter", 1), *((str(n), n) for n in range(1, 10))])
def test_taking(play: Play, tmp_path: Path, key: str, rank: int) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press(key)
        with Log(tmp_path / "log.sqlite") as log:  # on disk before anything else is done
            (choice,) = log.choices("ferrow")
        assert _row_of(screen) == rank
        assert pilot.app.clipboard == choice.recipe
        await pilot.press(*"fog", "enter")
        await settled(pilot)
        with Log(tmp_path / "log.sqlite") as log:
            assert [c.label for c in log.choices("ferrow")] == ["fog"]

    play(scene)


def test_a_log_that_cannot_be_written_is_said_and_nothing_ends(play: Play, tmp_path: Path) -> None:
    (tmp_path / "log.sqlite").write_bytes(b"no database, but long enough to be taken for one" * 40)

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("enter")
        await settled(pilot)
        assert pilot.app.is_running

    play(scene)


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
@pytest.mark.parametrize("palette", palette_file.shipped_names())
def test_every_size_shows_seam_list_and_recipe(
    play: Play, size: tuple[int, int], palette: str
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.seam.size.width >= 30
        assert screen.seam.size.height >= 6
        assert screen.candidates.size.height >= 6
        facts = screen.query_one("#facts", Lines).text
        assert " %" in facts
        widths = [
            sum(s.cell_length for s in screen.candidates.render_line(y))
            for y in range(screen.candidates.size.height)
        ]
        assert set(widths) == {screen.candidates.size.width}

    play(scene, palette=palette, size=size)


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
        assert "85 lines an inch fuse from 1.0 m" in _facts(screen)
        await pilot.press("full_stop")
        assert "100 lines an inch fuse from 0.9 m" in _facts(screen)
        await pilot.press("comma", "comma")
        assert "75 lines an inch" in _facts(screen)
        strips = [screen.seam.render_line(y) for y in range(10)]
        for key in ("plus", "minus", "m", "M"):
            await pilot.press(key)
            changed = [screen.seam.render_line(y) for y in range(10)]
            assert changed != strips, key
            strips = changed
        assert "yellow off by 0.5 dot" in _facts(screen)
        await pilot.press("m", "m", "d")
        assert screen.closeness.shifted is None
        assert _seam_colours(screen) == afar

    play(scene, colour="#6f9f8a")


def test_a_solid_has_no_dots(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("d")
        assert "solids have no dots" in _facts(screen)

    play(scene, colour="#e40000")


def test_hold_cycles_and_the_list_says_so(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        heads = []
        for _ in range(4):
            await pilot.press("h")
            heads.append(screen.candidates.render_line(0).text.split("ΔE")[0].strip())
        assert heads == ["lightness held", "hue held", "chroma held", ""]

    play(scene)


def test_out_of_reach_offers_the_best_of_each_hold(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        rows = [screen.candidates.render_line(y).text for y in range(2, 5)]
        assert any("best for" in row for row in rows)
        await pilot.press("down")
        offered = screen.candidate
        assert offered is not None
        await pilot.press("enter")
        assert screen.keeper.choices[-1].delta_e == offered.delta_e

    play(scene, colour="#6a3fa0", palette="newsprint-quarters", size=(160, 45))


def test_limits_are_seen_and_cleared(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert limits(screen) == "115 of 125 recipes, coverage at most 240 %"
        for key, says in (
            ("i", "at most 1 ink"),
            ("i", "at most 2 inks"),
            ("x", "without yellow"),
            ("l", "coverage at most 220 %"),
            *[("l", "without yellow")] * 3,  # 200, 150, and no limit
        ):
            await pilot.press(key)
            assert says in limits(screen)
        assert "coverage" not in limits(screen)
        await pilot.press("0")
        assert limits(screen) == "115 of 125 recipes, coverage at most 240 %"
        tints = (
            screen.candidate
            and screen.match
            and screen.match.recipes.tints_of(screen.candidate.row)
        )
        assert tints
        await pilot.press("f", "f")
        assert f"with yellow {tints[0]:g} %, with magenta {tints[1]:g} %" in limits(screen)
        await pilot.press("f", "f")
        assert "with" not in limits(screen)
        await pilot.press("u")
        assert limits(screen).startswith("0 of 125 recipes")
        assert "nothing left: lift" in screen.query_one("#notice", Lines).text
        assert screen.candidate is None
        await pilot.press("down", "enter", "d", "right", "y", "a", "r")  # none of them ends it
        await pilot.press("0", "enter", "escape", "u")
        assert limits(screen).startswith("1 of 125 recipes")

    play(scene, palette="newsprint-quarters")


@pytest.mark.parametrize(
    ("key", "sign"),
    [("shift+up", 1), ("shift+down", -1), ("shift+right", 1), ("shift+left", -1)],
)
def test_walking_by_the_eye(play: Play, key: str, sign: int) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.match is not None
        for place in (3, 20, 40, 60):
            screen.candidates.cursor = place
            before = screen.candidate
            assert before is not None
            await pilot.press(key)
            after = screen.candidate
            assert after is not None
            if after.row == before.row:
                assert "no neighbour is" in message(screen)
                continue
            lab = screen.match.recipes.lab
            changed = lab[after.row] - lab[before.row]
            chroma = [float((lab[row][1:] ** 2).sum()) for row in (before.row, after.row)]
            moved = changed[0] if key in ("shift+up", "shift+down") else chroma[1] - chroma[0]
            assert moved * sign > 0

    play(scene)


def test_walking_in_hue_there_and_back_changes_the_recipe(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        seen = set()
        for key in ("right", "right", "left"):
            await pilot.press(key)
            assert screen.candidate is not None
            seen.add(screen.candidate.row)
        assert len(seen) >= 2

    play(scene)


def test_wording_is_shown_before_it_is_copied(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        copied = set()
        for _ in range(3):
            await pilot.press("w", "y")
            assert pilot.app.clipboard
            assert pilot.app.clipboard in _facts(screen)
            copied.add(pilot.app.clipboard)
        assert len(copied) == 3
        assert any(text.startswith("device-cmyk(") for text in copied)
        assert any(text.startswith("#") for text in copied)
        assert not screen.keeper.choices

    play(scene)


def test_a_colour_that_comes_back_is_offered_first(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("down", "down", "enter", *"coat", "enter")
        taken = screen.keeper.choices[-1]
        await paste(pilot, "tomato")
        await paste(pilot, "#d9502b")
        assert "chosen before: coat" in screen.query_one("#notice", Lines).text
        assert screen.candidate is not None
        assert screen.candidate.delta_e == pytest.approx(taken.delta_e, abs=1)
        assert "= coat" in screen.candidates.render_line(1).text

    play(scene, size=(160, 45))


@pytest.mark.parametrize("size", [(59, 24), (60, 23), (20, 5)])
def test_too_small_is_said(play: Play, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert screen.query_one("#too-small").display
        assert not screen.query_one("#body").display
        await pilot.resize_terminal(60, 24)
        await pilot.pause()
        assert screen.query_one("#body").display

    play(scene, size=size)


def test_a_second_click_on_a_row_takes_it(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for _ in range(2):
            await pilot.click(RankedList, offset=(20, 3))
        assert len(screen.keeper.choices) == 1
        assert screen.candidate is not None
        assert screen.candidate.delta_e == screen.keeper.choices[0].delta_e

    play(scene)


def test_a_locked_log_is_said_and_the_choice_kept_as_soon_as_it_is_free(
    play: Play, tmp_path: Path
) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        with closing(sqlite3.connect(tmp_path / "log.sqlite", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await pilot.press("enter")
            assert "NOT kept, tried again until it is" in message(screen)
            assert len(screen.keeper.choices) == 1  # it stays in view
            await pilot.press(*"coat", "enter")
            other.execute("ROLLBACK")
        for _ in range(60):
            await pilot.pause(0.1)
            if not screen.keeper.waiting:
                break
        with Log(tmp_path / "log.sqlite") as log:
            assert [choice.label for choice in log.choices("ferrow")] == ["coat"]

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
        ranking = screen.match.ranking if screen.match else None
        assert ranking is not None
        for y in range(1, screen.candidates.size.height):
            row = screen.candidates.render_line(y).text.replace("▸", " ")
            rank, _, *tints = row.split()[:5]
            assert set(tints) <= {"·", "22.19", "44.86", "75", "100"}
            assert rank.isdigit()

    for size in ((60, 24), (100, 30), (160, 45)):
        play(scene, palette=str(tmp_path / "mine.toml"), size=size)


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (120, 36)])
def test_why_a_recipe_is_offered_can_be_read(play: Play, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        text = "\n".join(screen.candidates.render_line(y).text for y in range(5))
        assert "best for hue" in text
        assert "best for chroma" in text

    play(scene, colour="#6a3fa0", palette="newsprint-quarters", size=size)


def test_limits_are_not_taken_for_the_reach_of_the_inks(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        assert "within reach, ΔE 1.1" in screen.query_one("#notice", Lines).text
        await pilot.press("i")
        said = screen.query_one("#notice", Lines).text
        assert said == "under these limits ΔE 21.7: much duller; without 1.1"

    play(scene, colour="#6f9b6c", palette="coated-tenths")


def test_the_order_under_a_hold_can_be_checked(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("h", "h")
        rows = [screen.candidates.render_line(y).text for y in range(13)]
        assert "hue held" in rows[0]
        held = [float(row.replace("▸", " ").split()[1]) for row in rows[1:]]
        plain = [float(row.replace("▸", " ").split()[2]) for row in rows[1:]]
        assert held == sorted(held)
        assert plain != sorted(plain)
        assert screen.match is not None
        assert plain[3] == round(screen.match.ranking.candidate(3).delta_e, 2)

    play(scene)


def test_what_is_said_of_a_candidate_fits_its_panel(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for _ in range(12):
            await pilot.press("down")
            facts = screen.query_one("#facts", Lines)
            lines = [facts.render_line(y).text for y in range(facts.size.height)]
            assert "#" in lines[2]
            assert "letters: black" in lines[3]
            assert not any("…" in line for line in lines[1:])

    for colour in ("#d94f2a", "#6a3fa0", "white"):
        play(scene, colour=colour)


def test_a_recipe_shows_its_colour(play: Play) -> None:
    """What the program copied, or what stands in a note, is looked at again."""

    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await paste(pilot, "magenta 50 %, yellow 100 %, cyan 75")
        assert head(screen).startswith("magenta 50 %, yellow 100 %, cyan 75 ")
        assert screen.match is not None and screen.candidate is not None
        assert screen.match.recipes.tints_of(screen.candidate.row) == (100, 50, 75)
        assert screen.candidate.delta_e == 0
        await paste(pilot, "magenta 33")
        assert "magenta has no tint 33" in message(screen)
        await pilot.press("enter", "escape")
        assert screen.keeper.choices[-1].target_text == "magenta 50 %, yellow 100 %, cyan 75"

    play(scene)


def test_choices_are_of_the_page_that_is_drawn(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("1", "escape", "g", *"9", "enter")
        assert head(screen).endswith("ferrow · page 9")
        await pilot.press("2", *"coat", "enter", "g")
        assert screen.prompt.value == "9"
        screen.prompt.value = "9" * 200
        await pilot.press("enter")
        assert "the page has 200 characters" in message(screen)
        screen.prompt.value = ""
        await pilot.press("enter", "3", "escape")
        assert "page" not in head(screen)
        assert [(c.label, c.page) for c in screen.keeper.choices] == [
            ("", ""),
            ("coat", "9"),
            ("", ""),
        ]

    play(scene)


def test_keys_typed_ahead_of_a_question_are_its_answer(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        for key in ("1", *"lamp glass", "enter"):  # all there before the first is acted on
            name = "space" if key == " " else key
            pilot.app.post_message(Key(name, key if len(key) == 1 else None))
        await settled(pilot)
        assert [choice.label for choice in screen.keeper.choices] == ["lamp glass"]
        assert pilot.app.screen is screen
        assert limits(screen) == "all 125 recipes"

    play(scene)


def test_no_key_does_anything_unseen(play: Play) -> None:
    async def scene(pilot: Pilot[None], screen: MatchScreen) -> None:
        await pilot.press("enter", "2", "p", "v")
        await settled(pilot)
        assert not screen.keeper.choices
        assert pilot.app.screen is screen

    play(scene, size=(45, 20))


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
