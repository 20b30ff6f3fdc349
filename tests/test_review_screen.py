"""The review through Textual's Pilot."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from kept import COAT, PALETTE, SEA, choice, fill, keep, labels
from screens import OPEN, another_writes, play, press, rows, said, settled, text, write
from textual.pilot import Pilot

from tuimatch import palette_file
from tuimatch.colorimetry import displayed, lab_to_xyz
from tuimatch.log import Log
from tuimatch.tui.economy_screen import EconomyScreen
from tuimatch.tui.help_screen import HelpScreen, keys_of
from tuimatch.tui.passes_screen import PassesScreen
from tuimatch.tui.review_keys import REVIEW_KEYS
from tuimatch.tui.review_screen import ReviewScreen

FAR = (40.0, 60.0, 30.0)


@pytest.fixture(autouse=True)
def _no_desktop(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Four choices: three of ferrow, two of them with one label and two recipes; one elsewhere."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "log.sqlite"
    with Log(path) as log:
        log.keep(PALETTE, choice("Oda's coat", COAT, page="9", lab=(40.0, 50.0, 20.0), delta_e=2))
        log.keep(PALETTE, choice("lamp", page="10", note="brightest [b]thing", delta_e=3.25))
        log.keep(PALETTE, choice("oda's coat", SEA, page="cover", lab=FAR, delta_e=1))
        log.keep(PALETTE, choice("hull", project="second", lab=(10.0, 0.0, 0.0)))
        log.projects.use("ferrow")
    return path


def in_log(path: Path, project: str | None = "ferrow") -> list[str]:
    with Log(path) as log:
        return labels(log.choices(project))


def here(screen: ReviewScreen) -> str:
    assert screen.choices.choice is not None
    return screen.choices.choice.label


def all_of(screen: ReviewScreen, what: str = "label") -> list[str]:
    """Labels, or pages, of the whole list, in order."""
    found = []
    for place in range(len(screen.choices)):
        screen.choices.cursor = place
        assert screen.choices.choice is not None
        found.append(getattr(screen.choices.choice, what))
    screen.choices.cursor = 0
    return found


# What is shown.


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_each_choice_with_seam_and_everything_about_it(path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        lines = rows(screen)
        assert {len(line) for line in lines} == {screen.choices.size.width}
        assert lines[0].startswith("▸!") and lines[2].startswith("  ")
        with Log(path) as log:
            day = log.choices()[0].chosen_at[:10]
        for part in ("lamp", " 10 ", " 3.25 ", day):
            assert part in lines[2]
        assert "yellow 100 %" in lines[3] and "screen-quarters" in lines[3]
        assert "second" not in "".join(lines)
        head = text(screen, "#review-head")
        assert "ferrow · newest first" in head and "3 choices, 2 to mend" in head
        for word, value in (("label", "lamp"), ("page", "10 ")):
            # The heading's line begins one cell further right than the list.
            assert text(screen, "#review-columns").index(word) + 1 == lines[2].index(value)

    assert play(ReviewScreen(path, "ferrow"), scene, size) == OPEN


@pytest.mark.parametrize("size", [(1, 1), (20, 8), (36, 12)])
def test_a_pane_that_is_made_small_ends_nothing(path: Path, size: tuple[int, int]) -> None:
    """A small pane is for the passes that are opened from here."""

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "space", "N")
        await pilot.resize_terminal(*size)
        await press(pilot, "escape")
        assert pilot.app.screen is screen
        if size[0] == 36:
            assert text(screen, "#review-columns").split() == ["seam", "label", "page", "ΔE"]
            assert " ✓  oda'" in rows(screen)[0]
            assert rows(screen)[0].endswith(" 1.00  ")

    play(ReviewScreen(path, "ferrow"), scene)


def test_the_seam_is_target_and_recipe_in_exact_colours(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        target = "#{:02x}{:02x}{:02x}".format(*displayed(lab_to_xyz((88, -1.5, 34))).srgb.tolist())
        upper = [s.style.bgcolor for s in screen.choices.render_line(2) if s.text == " " * 8]
        lower = [s.style.color for s in screen.choices.render_line(3) if s.text == "▀" * 8]
        for colours in (upper, lower):
            assert [c.get_truecolor().hex for c in colours if c] == [target, "#ffe800"]

    play(ReviewScreen(path, "ferrow"), scene)


def test_foreign_text_is_neither_markup_nor_cut_in_the_foot(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down")
        assert text(screen, "#review-foot").splitlines() == [
            "yellow 100 %  #ffe800  for #f3e3a1",
            "brightest [b]thing",
        ]

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_log_without_choices_says_so(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert text(screen, "#review-foot") == "no choices"
        assert "0 choices" in text(screen, "#review-head")
        await press(
            pilot, "enter", "t", "y", "l", "x", "m", "space", "c", "N", "e", "down", "end", "u"
        )
        assert said(screen) == "nothing to undo"
        await press(pilot, "r")
        assert said(screen) == "nothing to do again"

    assert play(ReviewScreen(tmp_path / "log.sqlite", "ferrow"), scene) == OPEN


# Finding.


def test_each_key_of_a_filter_narrows_the_list(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "slash")
        counts = []
        for key in ("o", "d", "a"):
            await press(pilot, key)
            counts.append(len(screen.choices))
        assert counts == [3, 2, 2]  # all have a yellow
        assert "“oda” in ferrow" in text(screen, "#review-head")
        await press(pilot, "enter", "down")
        assert here(screen) == "Oda's coat"
        assert not screen.has_class("-asking")
        await press(pilot, "slash", "space", "9", "9")
        assert text(screen, "#review-foot") == "no choices with 'oda 99'"
        await press(pilot, "escape")
        assert len(screen.choices) == 3
        assert "“" not in text(screen, "#review-head")

    play(ReviewScreen(path, "ferrow"), scene)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("brightest", ["lamp"]),
        ("COVER", ["oda's coat"]),
        ('"magenta 100"', ["Oda's coat"]),
        ("#ffe800", ["oda's coat", "lamp", "Oda's coat"]),
    ],
)
def test_it_looks_in_everything(path: Path, typed: str, found: list[str]) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "slash")
        await write(pilot, typed)
        assert all_of(screen) == found

    play(ReviewScreen(path, "ferrow"), scene)


def test_escape_takes_the_filter_off_and_then_leaves(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "slash")
        await write(pilot, "lamp")
        await press(pilot, "escape")
        assert len(screen.choices) == 3
        assert pilot.app.screen is screen
        await press(pilot, "escape")

    assert play(ReviewScreen(path, "ferrow"), scene) is None


def test_a_key_goes_through_the_orders(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        orders = {}
        for _ in range(5):
            order = text(screen, "#review-head").split(" · ")[1].split("  ")[0]
            orders[order] = all_of(screen, "page")
            await press(pilot, "s")
        assert orders == {
            "newest first": ["cover", "10", "9"],
            "oldest first": ["9", "10", "cover"],
            "by label": ["10", "9", "cover"],
            "by page": ["cover", "9", "10"],
            "by ΔE": ["cover", "9", "10"],
        }
        assert "newest first" in text(screen, "#review-head")

    play(ReviewScreen(path, "ferrow"), scene)


def test_all_projects_and_back(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "a")
        assert "all projects" in text(screen, "#review-head")
        assert "4 choices, 2 to mend" in text(screen, "#review-head")
        assert here(screen) == "hull"
        assert "second · screen-quarters" in rows(screen)[1]
        await press(pilot, "a")
        assert "3 choices" in text(screen, "#review-head")
        assert "ferrow ·" not in "".join(rows(screen))

    play(ReviewScreen(path, "ferrow"), scene)


def test_keys_jump(path: Path) -> None:
    with Log(path) as log:
        keep(log, *(f"thing {n}" for n in range(40)))

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        async def to(key: str) -> str:
            await press(pilot, key)
            assert any(row.startswith("▸") and here(screen) in row for row in rows(screen))
            return here(screen)

        assert await to("end") == "Oda's coat"
        assert await to("home") == "thing 39"
        assert await to("pagedown") not in ("thing 39", "thing 38")
        assert await to("pageup") == "thing 39"
        assert [await to(key) for key in ("down", "j", "k", "up")] == [
            *("thing 38", "thing 37", "thing 38", "thing 39")
        ]

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_long_list_is_whole_and_only_what_is_in_view_is_fetched(path: Path) -> None:
    with Log(path) as log:
        fill(log, 1_000)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "1,003 choices" in text(screen, "#review-head")
        await press(pilot, "end")
        assert here(screen) == "Oda's coat"
        assert screen.choices.cursor == 1_002
        await press(pilot, "up", "pageup", "home")
        assert len(screen.choices._choices) < 100
        await press(pilot, "s", "s", "s")
        await press(pilot, "end")
        assert screen.choices.cursor == 1_002
        assert screen.choices.choice is not None and screen.choices.choice.page == "47"
        await press(pilot, "l")
        await write(pilot, "something else")  # the cursor stays with what was edited
        assert here(screen) == "something else"
        await press(pilot, "s", "slash")
        await write(pilot, "lamp ledger")
        assert len(screen.choices) == 20
        await press(pilot, "x")
        assert len(screen.choices) == 19

    play(ReviewScreen(path, "ferrow"), scene)


# Using again.


def test_the_target_of_a_choice_is_wanted_again(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "enter")

    answer: Any = play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert answer == log.choices("ferrow")[1]


def test_a_choice_is_taken_again_under_another_label(path: Path) -> None:
    """Whatever its palette is, and also for another project."""

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "t")
        await write(pilot, "lantern")
        assert said(screen).startswith(("taken again as lantern", "recipe "))

    assert play(ReviewScreen(path, "ferrow"), scene) == OPEN

    async def elsewhere(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "a", "t", "enter")

    play(ReviewScreen(path, "harbour"), elsewhere)
    with Log(path) as log:
        old, new = log.choices("ferrow")[1], log.choices("ferrow")[-1]
        assert (new.label, new.page, new.note) == ("lantern", "", "")
        kept = ("target_text", "target_lab", "tints", "lab", "palette_digest", "delta_e")
        assert all(getattr(new, name) == getattr(old, name) for name in kept)
        (other,) = log.choices("harbour")
        assert other.tints == new.tints
        assert log.undo("ferrow")
        assert log.choices("ferrow")[-1].label != "lantern"


def test_a_second_click_makes_it_the_target(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await pilot.click(screen.choices, offset=(30, 3))
        assert here(screen) == "lamp"
        await pilot.click(screen.choices, offset=(30, 2))

    answer: Any = play(ReviewScreen(path, "ferrow"), scene)
    assert answer.label == "lamp"


def test_the_recipe_is_copied(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "y")
        assert pilot.app.copied == ["yellow 100 %"]  # type: ignore[attr-defined]
        assert said(screen) == "recipe sent to the terminal's clipboard"

    play(ReviewScreen(path, "ferrow"), scene)


@pytest.mark.parametrize("key", ["escape", "q"])
def test_leaving_answers_nothing(path: Path, key: str) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, key)

    assert play(ReviewScreen(path, "ferrow"), scene) is None


# Changing.


@pytest.mark.parametrize(("key", "what", "old"), [("l", "label", "lamp"), ("p", "page", "10")])
def test_label_and_page_are_changed(path: Path, key: str, what: str, old: str) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", key)
        assert said(screen) == f"the {what} of lamp"
        assert screen.prompt.value == old
        await write(pilot, "new 7")
        assert said(screen) == f"the {what} of yellow 100 % is changed"
        assert "new 7" in rows(screen)[2]
        assert screen.choices.cursor == 1

    play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert getattr(log.choices("ferrow")[1], what) == "new 7"


def test_a_note_is_changed_and_taken_away(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "n")
        await write(pilot, "dim\x1b[2J")
        assert "dim\\x1b[2J" in text(screen, "#review-foot")
        await press(pilot, "n", "backspace", "enter")
        assert "dim" not in text(screen, "#review-foot")

    play(ReviewScreen(path, "ferrow"), scene)
    with Log(path) as log:
        assert log.choices("ferrow")[1].note == ""


def test_an_edit_can_be_left_or_refused(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "l", "z", "escape")
        assert said(screen) == ""
        await press(pilot, "l")
        await write(pilot, "x" * 61)
        assert "the label has 61 characters; give at most 60" in said(screen)
        assert screen.has_class("-asking")
        await press(pilot, "escape")

    before = in_log(path)
    play(ReviewScreen(path, "ferrow"), scene)
    assert in_log(path) == before


@pytest.mark.parametrize("key", ["x", "delete"])
def test_removing_is_undone_and_done_again_after_a_restart(path: Path, key: str) -> None:
    async def remove(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", key)
        assert said(screen) == "removed lamp; u undoes it"
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    async def undo(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "u")
        assert said(screen) == "undone: removed yellow 100 % for lamp"
        assert all_of(screen) == ["oda's coat", "lamp", "Oda's coat"]

    async def redo(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "r")
        assert said(screen) == "done again: removed yellow 100 % for lamp"
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    for scene in (remove, undo, redo):
        play(ReviewScreen(path, "ferrow"), scene)
    assert in_log(path) == ["Oda's coat", "oda's coat"]
    assert in_log(path, "second") == ["hull"]


def test_removing_the_last_ones_leaves_the_cursor_in_the_list(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "end", "x")
        assert here(screen) == "lamp"
        await press(pilot, "x", "x", "x")
        assert len(screen.choices) == 0
        assert said(screen) == "removed oda's coat; u undoes it"

    play(ReviewScreen(path, "ferrow"), scene)


def test_undoing_in_one_project_leaves_the_others(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        for _ in range(4):
            await press(pilot, "u")
        assert said(screen) == "nothing to undo"
        await press(pilot, "a", "u")
        assert said(screen) == "undone: took yellow 100 % for hull"

    play(ReviewScreen(path, "ferrow"), scene)


def test_undoing_a_renaming_follows_the_project(path: Path) -> None:
    with Log(path) as log:
        log.projects.rename("ferrow", "Nine Lamps")

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "u")
        assert said(screen) == "undone: renamed project ferrow to Nine Lamps"
        assert screen.project == "ferrow"
        assert "ferrow · newest first" in text(screen, "#review-head")
        assert len(screen.choices) == 3

    play(ReviewScreen(path, "Nine Lamps"), scene)


def test_what_another_program_removed_is_said(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down")
        with Log(path) as log:
            log.remove(log.choices("ferrow")[1].id)
        await press(pilot, "x")
        assert "no choice 2" in said(screen)
        assert all_of(screen) == ["oda's coat", "Oda's coat"]

    play(ReviewScreen(path, "ferrow"), scene)


# What disagrees.


def test_what_disagrees_is_marked_and_how_to_mend_it_said(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert [row[1] for row in rows(screen)[:6:2]] == ["!", " ", "!"]
        await press(pilot, "m")
        assert here(screen) == "Oda's coat"
        foot = text(screen, "#review-foot")
        assert "! Oda's coat has 2 recipes" in foot
        assert "→ remove what is not meant" in foot
        await press(pilot, "m")
        assert screen.choices.cursor == 0
        await press(pilot, "x")
        assert "to mend" not in text(screen, "#review-head")
        assert "!" not in text(screen, "#review-foot")
        await press(pilot, "m")
        assert said(screen) == "nothing here disagrees"
        await press(pilot, "u")
        assert "2 to mend" in text(screen, "#review-head")

    play(ReviewScreen(path, "ferrow"), scene)


def test_a_palette_that_has_changed_is_found_by_the_one_in_use(path: Path, tmp_path: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    mine = folder / "screen-quarters.toml"
    mine.write_text(PALETTE.text.replace("#ffe800", "#ffd800"))

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "3 choices, 3 to mend" in text(screen, "#review-head")
        assert "palette screen-quarters has changed" in text(screen, "#review-foot")

    play(ReviewScreen(path, "ferrow", palette_file.load(str(mine))), scene)


# The guide.


def test_the_guide_is_written_where_it_was_asked_for(path: Path, tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "g")
        assert said(screen).startswith("the guide of ferrow: a file to write, .html to print")
        assert screen.prompt.value == "ferrow.html"
        await press(pilot, "enter")
        assert said(screen) == f"{tmp_path / 'ferrow.html'}: 3 colours"
        await press(pilot, "a", "g")
        assert screen.prompt.value == "second.html"
        await write(pilot, "second.json")
        assert said(screen) == f"{tmp_path / 'second.json'}: 1 colour"

    play(ReviewScreen(path, "ferrow"), scene)
    assert "brightest [b]thing" in (tmp_path / "ferrow.html").read_text()
    assert "hull" in json.dumps(json.loads((tmp_path / "second.json").read_text()))


def test_a_file_that_is_there_is_written_over_only_when_told_so(path: Path, tmp_path: Path) -> None:
    (tmp_path / "ferrow.html").write_text("mine")

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "g", "enter")
        assert said(screen) == "ferrow.html is there already: Enter again writes over it"
        assert (tmp_path / "ferrow.html").read_text() == "mine"
        await press(pilot, "enter")
        assert "3 colours" in said(screen)

    play(ReviewScreen(path, "ferrow"), scene)
    assert (tmp_path / "ferrow.html").read_text() != "mine"


@pytest.mark.parametrize(
    ("answer", "refusal"),
    [
        ("ferrow.pdf", "ferrow.pdf: no guide has this extension; give one of .html"),
        (" ", "no guide has this extension"),
        ("no/such/folder.html", "no/such/folder.html: cannot be written"),
        ("~nobody-here/x.csv", "~nobody-here/x.csv: cannot be written"),
    ],
)
def test_a_guide_that_cannot_be_written_is_refused(path: Path, answer: str, refusal: str) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "g")
        await write(pilot, answer)
        assert refusal in said(screen)

    assert play(ReviewScreen(path, "ferrow"), scene) == OPEN


def test_the_name_proposed_is_one_that_a_folder_takes(path: Path) -> None:
    with Log(path) as log:
        log.projects.rename("ferrow", "Ferrow: 1/2?")

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "g")
        assert screen.prompt.value == "Ferrow- 1-2.html"

    play(ReviewScreen(path, "Ferrow: 1/2?"), scene)


# What goes wrong.


def test_a_locked_log_is_said_and_tried_again(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        with another_writes(path):
            for key in ("x", "u", "r"):
                await press(pilot, key)
                assert "another program is writing to it" in said(screen)
            await press(pilot, "l")
            await write(pilot, "new")
            assert "another program is writing to it" in said(screen)
            assert screen.prompt.value == "new"
            assert len(screen.choices) == 3  # reading goes on
        await press(pilot, "enter")
        assert said(screen).endswith("is changed")

    assert play(ReviewScreen(path, "ferrow"), scene) == OPEN
    assert in_log(path) == ["Oda's coat", "lamp", "new"]


def test_what_is_no_log_is_said_with_each_key(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Oda, " * 200)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert "letter.txt: the log cannot be opened" in said(screen)
        assert "choices" not in text(screen, "#review-head") + text(screen, "#review-foot")
        keys = ("s", "a", "m", "x", "u", "r", "y", "l", "enter", "t", "slash", "z", "enter", "g")
        for key in keys:
            await press(pilot, key)
            assert pilot.app.screen is screen
        await press(pilot, "enter", "escape", "u")
        assert "letter.txt: the log cannot be opened" in said(screen)

    play(ReviewScreen(letter, "ferrow"), scene)
    assert letter.read_text() == "Dear Oda, " * 200


def test_a_damaged_log_is_recovered_and_both_files_named(path: Path) -> None:
    with Log(path) as log:
        fill(log, 400)
    with closing(sqlite3.connect(path)) as db:
        ((page,),) = db.execute(
            "SELECT pageno FROM dbstat WHERE name = 'choice' AND pagetype = 'leaf'"
            " ORDER BY pageno DESC LIMIT 1"
        )
    with path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\xa5" * 4096)

    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        notice = text(screen, ".log-notice")
        assert f"{path}: was damaged; it is kept as {path.parent / 'log-damaged'}" in notice
        assert "choices were recovered into a new log" in notice
        await press(pilot, "s")
        assert text(screen, ".log-notice") == notice
        assert screen.query_one(".log-notice").display
        assert 380 < len(screen.choices) < 403

    play(ReviewScreen(path, "ferrow"), scene)


# Keys.


def test_help_explains_every_key(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        said = {key.says for key in keys_of(screen)}
        assert {b.tooltip for b in REVIEW_KEYS} <= said  # type: ignore[union-attr]
        await press(pilot, "question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)
        await press(pilot, "escape")
        await settled(pilot)
        assert pilot.app.screen is screen

    play(ReviewScreen(path, "ferrow"), scene)


# Ticking.


def ticked_lines(screen: ReviewScreen) -> list[str]:
    return [line for line in rows(screen) if " ✓ " in line]


@pytest.mark.parametrize("size", [(60, 24), (100, 30), (160, 45)])
def test_what_is_ticked_is_seen_and_counted_and_stays_so_while_filtered(
    path: Path, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        assert not ticked_lines(screen)
        assert "ticked" not in text(screen, "#review-head")
        await press(pilot, "space", "down", "space")
        assert [" ✓  oda's coat " in line for line in ticked_lines(screen)] == [True, False]
        assert " ✓  lamp " in ticked_lines(screen)[1]
        assert {len(line) for line in rows(screen)} == {screen.choices.size.width}
        assert text(screen, "#review-head").endswith("3 choices, 2 to mend, 2 ticked")
        assert "N plans" in said(screen)
        await press(pilot, "slash", *"lamp")
        assert text(screen, "#review-head").endswith("1 choice, 2 ticked")
        assert len(ticked_lines(screen)) == 1
        await press(pilot, "escape", "s", "s")
        assert len(ticked_lines(screen)) == 2
        await press(pilot, "home", "space")
        assert len(ticked_lines(screen)) != 2
        await press(pilot, "c")
        assert not ticked_lines(screen)
        assert text(screen, "#review-head").endswith("2 to mend")
        assert said(screen) == ""

    play(ReviewScreen(path, "ferrow"), scene, size)


@pytest.mark.parametrize(
    ("key", "opened", "head"),
    [("N", PassesScreen, "#passes-head"), ("e", EconomyScreen, "#economy-head")],
)
def test_planning_just_what_is_ticked(
    path: Path, key: str, opened: type[PassesScreen] | type[EconomyScreen], head: str
) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, key)
        assert pilot.app.screen is screen
        assert said(screen).startswith("nothing is ticked yet")
        await press(pilot, "space", "down", "down", "space", key)
        planned = pilot.app.screen
        assert isinstance(planned, opened)
        assert "2 areas" in text(planned, head)
        assert "ticked" in text(planned, head)
        await press(pilot, "escape")
        assert pilot.app.screen is screen
        assert len(ticked_lines(screen)) == 2
        # Those of several projects are refused; those of another one alone are not.
        await press(pilot, "a", "home", "space", key)
        assert pilot.app.screen is screen
        assert said(screen) == "ticked are choices of ferrow, second: plan one project at a time"
        await press(pilot, "c", "space", key)
        assert isinstance(pilot.app.screen, opened)
        assert "1 area" in text(pilot.app.screen, head)
        await press(pilot, "escape")

    play(ReviewScreen(path, "ferrow"), scene)


def test_what_the_economy_took_is_seen_at_once(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "down", "space", "N", "e", "t", "escape", "escape")
        assert pilot.app.screen is screen
        assert here(screen) == "lamp"
        assert screen.choices.choice is not None
        with Log(path) as log:
            now = log.choice(screen.choices.choice.id).recipe
        assert now != "yellow 100 %"
        assert now in rows(screen)[3]

    play(ReviewScreen(path, "ferrow"), scene)


def test_what_is_removed_is_no_longer_ticked(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: ReviewScreen) -> None:
        await press(pilot, "space", "down", "space", "x")
        assert text(screen, "#review-head").endswith("2 to mend, 1 ticked")
        await press(pilot, "u")
        assert text(screen, "#review-head").endswith("2 to mend, 1 ticked")

    play(ReviewScreen(path, "ferrow"), scene)
