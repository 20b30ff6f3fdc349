"""Every action of the match screen, without a terminal."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from kept import COAT, LAMP, PALETTE, choice
from match_state import COLOUR, begun, choices, facts, limits, mixed, notice, take, tints, use
from support import in_fresh_interpreter
from textual.binding import Binding

from tuimatch.colour.intent import Intent
from tuimatch.colour.target import from_lab
from tuimatch.log import Log
from tuimatch.match.hold import HELD, Hold
from tuimatch.match.verdict import wordings
from tuimatch.palette import file as palette_file
from tuimatch.recipe.dots import Press
from tuimatch.tui.match import head, sentences
from tuimatch.tui.match.keys import MATCH_KEYS
from tuimatch.tui.match.look import Preview
from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.match.state import MatchState

NEWS = "newsprint-quarters"


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path / "log.sqlite"


def test_it_needs_no_terminal() -> None:
    run = in_fresh_interpreter(
        "import sys, tuimatch.tui.match.state\n"
        "print({'textual', 'rich', 'numpy'} & {name.split('.')[0] for name in sys.modules})"
    )
    assert (run.returncode, run.stdout) == (0, "set()\n"), run.stderr


def test_every_key_has_its_action() -> None:
    """What a key of the state does is a method of it; the rest are doors of the screen."""
    for binding in MATCH_KEYS:
        assert isinstance(binding, Binding)
        of_state = re.match(r"do\('(\w+)'", binding.action)
        owner, name = (MatchState, of_state[1]) if of_state else (MatchScreen, "")
        door = f"action_{binding.action.removeprefix('app.').split('(')[0]}"
        assert hasattr(owner, name or door) or binding.action == "app.quit", binding.action


# The target.


def test_the_verdict_is_said(path: Path) -> None:
    with begun(path) as state:
        said, more = notice(state).split("\n")
        assert said.startswith("between your tints: the best is ΔE 7.0, much more vivid")
        assert more.startswith("other tints could come to ΔE 0.0: yellow ")
        assert state.match is not None
        could, _ = more.split("; ")
        assert state.match.verdict is not None
        ways = wordings(state.palette, state.match.verdict)[1:]
        known = {words for part in ways for words in part}
        # Where it does not fit, it is said in fewer words, and then not at all.
        for room in (len(more) - 1, len(could) - 1, 40, 30):
            first, *second = sentences.notice(state.match, room).split("\n")
            assert max(map(len, (first, *second))) <= room
            assert first.startswith("between your tints: ") and "…" not in first
            assert all(part in known for line in second for part in line.split("; "))
        assert state.set_target("#6a0dad")
        assert notice(state).startswith("beyond these inks: the best is ΔE ")
        assert state.set_target("#e58a1f")
        assert notice(state).startswith("within reach: ΔE ")


def test_limits_are_not_taken_for_the_reach_of_the_inks(path: Path) -> None:
    with begun(path, "#6f9b6c", "coated-tenths") as state:
        assert notice(state).startswith("within reach: ΔE 0.")
        state.limit_inks()
        said, more = notice(state).split("\n")
        assert said.startswith("the best is ΔE ")  # how far the inks go follows in a moment
        assert more.startswith("without these limits it would be ΔE 0.")
        assert state.match is not None and state.match.verdict is not None
        assert notice(state).startswith("beyond these inks: the best is ΔE ")


def test_a_target_is_taken_as_measured_or_as_on_the_paper(path: Path) -> None:
    with begun(path, "white", NEWS) as state:
        assert state.wanted == "white, fitted to this paper"
        assert tints(state) == (0, 0, 0)
        take(state, "fog")
        kept = state.keeper.choices[-1]
        assert kept.intent == "relative-black"
        assert kept.target_lab[0] == pytest.approx(100)
        assert kept.meant_lab == pytest.approx(kept.lab)
        state.next_intent()
        assert state.wanted == "white, as given"
        assert notice(state).startswith("beyond these inks: the best is ΔE 12.9")
        state.clear_limits()
        assert state.wanted == "white, as given"
        take(state, "ghost")
        assert state.keeper.choices[-1].intent == "absolute"
        assert state.keeper.choices[-1].meant_lab == state.keeper.choices[-1].target_lab
        state.reuse(kept)  # an entry comes back as it was taken
        assert state.wanted == "white, fitted to this paper"
        assert state.match is not None and state.match.meant.lab == kept.meant_lab
        state.set_target("yellow 100, magenta 50")  # which is on the paper already
        assert state.match.intent is Intent.ABSOLUTE
        assert state.candidate is not None and state.candidate.delta_e == 0


def test_on_a_screen_a_target_is_what_it_is(path: Path) -> None:
    with begun(path) as state:
        assert state.wanted == COLOUR
        state.next_intent()
        assert state.wanted == f"{COLOUR}, white fitted to this paper"
        use(state, palette_file.load(NEWS))  # other inks take it as they do
        assert state.wanted == f"{COLOUR}, fitted to this paper"


@pytest.mark.parametrize("text", ["[/red]", "\x1b[31mred", "x" * 5000, "#12"])
def test_nonsense_is_refused_in_words(path: Path, text: str) -> None:
    with begun(path) as state:
        assert state.pasted(text) == ""
        assert "colour" in state.said and "\x1b" not in state.said
        assert state.wanted == "#d94f2a"


def test_the_target_is_typed(path: Path) -> None:
    with begun(path) as state:
        state.edit_target()
        assert state.asked is not None and state.asked.answer == "#d94f2a"
        state.answer("nonsense")
        assert "nonsense" in state.said and state.asked is not None
        state.answer("oklch(0.6 0.17 40)")
        assert state.wanted == "oklch(0.6 0.17 40)" and state.asked is None
        state.edit_target("#")
        assert state.asked.answer == "#" and not state.asked.replace  # type: ignore[union-attr]
        state.leave()
        assert state.asked is None and state.wanted == "oklch(0.6 0.17 40)"


def test_a_recipe_shows_its_colour(path: Path) -> None:
    """What the program copied, or what stands in a note, is looked at again."""
    with begun(path) as state:
        assert state.set_target("magenta 50 %, yellow 100 %, cyan 75")
        assert state.wanted.startswith("magenta 50 %, yellow 100 %, cyan 75")
        assert tints(state) == (100, 50, 75)
        assert state.candidate is not None and state.candidate.delta_e == 0
        assert not state.set_target("magenta 33")
        assert "magenta has no tint 33" in state.said
        take(state)
        assert state.keeper.choices[-1].target_text == "magenta 50 %, yellow 100 %, cyan 75"


def test_what_is_pasted_into_a_question(path: Path) -> None:
    with begun(path) as state:
        state.take()
        assert state.pasted("lamp [b]glass\n") == "lamp [b]glass"
        assert state.pasted(" tomato ") == ""  # the question was about the colour before
        assert state.asked is None and state.wanted == "tomato"
        state.edit_page()
        assert state.pasted("#224466") == "#224466"
        assert state.wanted == "tomato"


def test_a_colour_given_while_the_inks_are_mixed_is_the_target(path: Path) -> None:
    recipes = mixed("screen-quarters")
    with begun(path, None) as other:
        state = MatchState(recipes.palette, other.keeper, colour="tomato")
        assert state.set_target("#22aa44")
        state.mixed(recipes, Press(recipes), from_lab((50.0, 60.0, 40.0), "tomato"))
        assert state.wanted == "#22aa44"


def test_without_a_target_nothing_is_taken(path: Path) -> None:
    with begun(path, None) as state:
        assert state.wanted == "no colour yet"
        for action in (state.take, state.hold, state.misregister):
            state.say("")
            action()
            assert "no colour yet" in state.said
        for action in (state.limit_inks, state.limit_fix, state.limit_used, state.clear_limits):
            action()
        state.walk("LIGHTER")
        state.copy()
        assert state.match is None and not state.keeper.choices


# What narrows and orders.


def test_hold_cycles(path: Path) -> None:
    with begun(path) as state:
        held = []
        for _ in Hold:
            state.hold()
            assert state.match is not None
            held.append(state.match.question.hold)
        assert held == [*HELD, Hold.NOTHING]
        assert state.said == ""


def test_limits_are_set_and_cleared(path: Path) -> None:
    with begun(path, palette=NEWS) as state:
        usual = "115 of 125 recipes: coverage at most 240 % of 300 (all inks added up)"
        assert limits(state) == usual
        for action, says in (
            (state.limit_inks, "at most 1 ink"),
            (state.limit_inks, "at most 2 inks"),
            (state.limit_without, "without yellow"),
            (state.limit_coverage, "coverage at most 220 % of 300"),
            *[(state.limit_coverage, "without yellow")] * 3,  # 200, 150, and no limit
        ):
            action()
            assert says in limits(state)
        assert "coverage" not in limits(state)
        state.clear_limits()
        assert limits(state) == usual
        yellow, magenta, _ = tints(state)
        state.limit_fix()
        state.limit_fix()
        assert f"with yellow {yellow:g} %, with magenta {magenta:g} %" in limits(state)
        state.limit_fix()
        state.limit_fix()
        assert "with" not in limits(state)


def test_where_nothing_is_left_no_key_ends_it(path: Path) -> None:
    with begun(path, palette=NEWS) as state:
        state.limit_used()
        assert limits(state).startswith("0 of 125 recipes")
        assert "no recipe left" in notice(state)
        assert state.candidate is None
        for action in (
            state.take,
            state.misregister,
            state.next_preview,
            state.copy,
            state.limit_fix,
        ):
            action()
        state.walk("HUE_ON")
        assert not state.keeper.choices
        state.clear_limits()
        take(state)
        state.limit_used()
        assert limits(state).startswith("1 of 125 recipes")


@pytest.mark.parametrize(
    ("way", "sign", "in_chroma"),
    [
        ("LIGHTER", 1, False),
        ("DARKER", -1, False),
        ("MORE_VIVID", 1, True),
        ("DULLER", -1, True),
    ],
)
def test_walking_by_the_eye(path: Path, way: str, sign: int, in_chroma: bool) -> None:
    with begun(path) as state:
        assert state.match is not None
        lab, walked = state.match.recipes.lab, 0
        for row in state.match.ranking.rows[:60].tolist():
            state.look_at(row)
            state.walk(way)
            assert state.candidate is not None
            after = state.candidate.row
            if after == row:
                assert state.said.startswith("no ") and state.said.endswith(" recipe nearby")
                continue
            chroma = [float((lab[r][1:] ** 2).sum()) for r in (row, after)]
            lighter = float(lab[after][0] - lab[row][0])
            assert (chroma[1] - chroma[0] if in_chroma else lighter) * sign > 0
            walked += 1
        assert walked > 20


def test_walking_in_hue_there_and_back_changes_the_recipe(path: Path) -> None:
    with begun(path) as state:
        seen = set()
        for way in ("HUE_ON", "HUE_ON", "HUE_BACK"):
            state.walk(way)
            seen.add(tints(state))
        assert len(seen) >= 2


# The look.


def test_dots_zoom_ruling_and_register(path: Path) -> None:
    with begun(path, "#6f9f8a") as state:
        state.next_preview()
        assert (
            state.look.preview is Preview.DOTS
            and "85 lines an inch: dots merge from 1.0 m" in facts(state)
        )
        state.ruling(1)
        assert "100 lines an inch: dots merge from 0.9 m" in facts(state)
        state.ruling(-1)
        state.ruling(-1)
        assert "75 lines an inch" in facts(state)[-1]
        periods = [state.look.period]
        for by in (1, -1):
            state.zoom(by)
            periods.append(state.look.period)
        assert periods == [8, 11, 8]
        state.misregister()
        state.shift_more()
        assert "yellow out of register by 0.5 dot" in facts(state)
        state.misregister()
        state.misregister()
        assert state.look.shifted is None
        state.next_preview()
        assert state.look.preview is Preview.FROM_AFAR


def test_a_solid_has_no_dots(path: Path) -> None:
    with begun(path, "#e40000") as state:
        state.next_preview()
        assert "solids have no dots" in facts(state)


def test_the_wording_is_shown_before_it_is_copied(path: Path) -> None:
    copied: list[str] = []
    with begun(path, copied=copied) as state:
        for _ in range(3):
            state.next_wording()
            state.copy()
            assert copied[-1] in "\n".join(facts(state))
        assert len(set(copied)) == 3
        assert any(text.startswith("device-cmyk(") for text in copied)
        assert any(text.startswith("#") for text in copied)
        assert not state.keeper.choices
        state.copied("on the clipboard")
        assert state.said == "recipe on the clipboard"


# Taking.


@pytest.mark.parametrize("rank", range(10))
def test_taking(path: Path, rank: int) -> None:
    copied: list[str] = []
    with begun(path, copied=copied) as state:
        state.page = "9"
        state.take(rank)
        with Log(path) as log:  # on disk before anything else is done
            (taken,) = log.choices("ferrow")
        assert state.candidate is not None and state.candidate.rank == (rank or 1)
        assert copied == [taken.recipe]
        state.copied("on the clipboard")
        assert state.said == "kept in the log; recipe on the clipboard"
        state.answer("fog")
        assert state.asked is None
    with Log(path) as log:
        assert [c.label for c in log.choices("ferrow")] == ["fog"]


def test_a_label_that_will_not_do_is_asked_again(path: Path) -> None:
    with begun(path) as state:
        take(state, "x" * 61)
        assert "the label has 61 characters; give at most 60" in state.said
        assert state.asked is not None
        state.leave()
        assert choices(state) == [("", "")]


def test_a_colour_that_comes_back_is_offered_first(path: Path) -> None:
    with begun(path) as state:
        take(state, "coat", rank=3)
        taken = state.keeper.choices[-1]
        state.set_target("tomato")
        state.set_target("#d9502b")
        assert "coat has this colour: its recipe is first" in notice(state)
        assert tuple(taken.tints.values()) == tints(state)


def test_choices_are_of_the_page_that_is_set(path: Path) -> None:
    with begun(path) as state:
        take(state, "sea", rank=1)
        state.edit_page()
        state.answer("9")
        take(state, "coat", rank=2)
        state.edit_page()
        assert state.asked is not None and state.asked.answer == "9"
        state.answer("9" * 200)
        assert "the page has 200 characters" in state.said
        state.answer("")
        take(state, "fog", rank=3)
        assert choices(state) == [("sea", ""), ("coat", "9"), ("fog", "")]


def test_what_is_looked_at_stays_while_choices_change(path: Path) -> None:
    with begun(path) as state:
        take(state, "coat", rank=7)
        assert state.candidate is not None and state.candidate.rank == 7


# One area, one recipe.


def test_an_area_taken_again_is_replaced(path: Path) -> None:
    with begun(path) as state:
        take(state, "door", rank=1)
        first = state.keeper.choices[0].recipe
        take(state, " DOOR ", rank=2)
        assert state.asked is not None and state.asked.what == "replace"
        assert state.said == f"“door” is {first} already"
        state.answer("")
        assert state.asked is None and state.said == "replaced; u brings the old one back"
        assert [c.recipe for c in state.keeper.choices] != [first]
        assert [c.label for c in state.keeper.choices] == ["DOOR"]
        state.undo()
        assert [(c.label, c.recipe) for c in state.keeper.choices] == [("door", first)]
        state.redo()
        assert [c.label for c in state.keeper.choices] == ["DOOR"]
        assert [c.recipe for c in state.keeper.choices] != [first]


@pytest.mark.parametrize("again", ["door", " DOOR  "])
def test_the_same_label_once_more_replaces(path: Path, again: str) -> None:
    with begun(path) as state:
        take(state, "door", rank=1)
        first = state.keeper.choices[0].recipe
        take(state, "door", rank=2)
        assert state.asked is not None and state.asked.question.endswith("Esc the old one")
        state.answer(again)
        assert state.asked is None and state.said == "replaced; u brings the old one back"
        (kept,) = state.keeper.choices
        assert kept.recipe != first and kept.label == again.strip()
        state.undo()
        assert [(c.label, c.recipe) for c in state.keeper.choices] == [("door", first)]


def test_a_label_of_its_own_keeps_both(path: Path) -> None:
    with begun(path) as state:
        take(state, "door", rank=1)
        take(state, "door", rank=2)
        state.answer("gate")
        assert state.asked is None
        assert choices(state) == [("door", ""), ("gate", "")]
        take(state, "door", rank=3)
        state.answer("gate")  # which is there as well
        assert state.asked is not None and "“gate”" in state.said


def test_who_leaves_the_question_keeps_the_old_one(path: Path) -> None:
    with begun(path) as state:
        take(state, "door", rank=1)
        first = state.keeper.choices[0]
        take(state, "door", rank=2)
        state.leave()
        assert state.keeper.choices == [first]
        assert state.said == "the old one stays; U brings the new one back"
        # Taking it and leaving it are nothing that was done: u takes back what was before.
        state.redo()
        assert len(state.keeper.choices) == 2
        state.undo()
        assert state.keeper.choices == [first]
        state.undo()
        assert not state.keeper.choices


def test_who_leaves_the_question_keeps_what_another_window_did_meanwhile(path: Path) -> None:
    with begun(path) as state:
        take(state, "door", rank=1)
        take(state, "door", rank=2)
        with Log(path) as other:
            theirs = other.keep(PALETTE, choice("theirs", COAT))
        state.leave()
        assert [c.label for c in state.keeper.choices] == ["door", "theirs"]
        with Log(path) as other:
            other.remove(theirs.id)
        take(state, "door", rank=2)
        assert state.asked is not None
        with Log(path) as other:  # what was changed since is not just taken any more
            other.edit(state.asked.about, note="wet")
        state.leave()
        assert [c.label for c in state.keeper.choices] == ["door"]
        state.undo()
        assert [c.note for c in state.keeper.choices] == ["", "wet"]


def test_a_label_without_a_page_asks_for_the_area_of_that_label_that_has_one(path: Path) -> None:
    with begun(path) as state:
        state.page = "9"
        take(state, "door", rank=1)
        first = state.keeper.choices[0].recipe
        state.page = ""
        take(state, "Door", rank=2)
        assert state.asked is not None and state.asked.what == "replace"
        assert state.said == f"“door” on page 9 is {first} already"
        state.answer("")
        assert choices(state) == [("Door", "9")]
        state.undo()
        assert choices(state) == [("door", "9")]


def test_the_first_recipe_of_a_project_without_a_page_says_how_to_set_it(path: Path) -> None:
    with begun(path) as state:
        take(state, "door")
        assert state.said == "no page set: g sets it"
        state.copied("copied")
        assert state.said == "no page set: g sets it; recipe copied"
        state.set_target("tomato")
        take(state, "gate", rank=3)
        state.copied("copied")
        assert state.said == "recipe copied"  # once is enough
    with begun(path, project="second") as state:
        state.page = "9"
        take(state, "door")
        assert "page" not in state.said


def test_a_recipe_that_another_area_of_the_page_has_is_said(path: Path) -> None:
    with begun(path) as state:
        state.page = "9"
        take(state, "lamp glass", rank=1)
        take(state, "lamp glass", rank=1)  # the same area is asked about
        assert "same recipe" not in state.said
        state.answer("")
        state.set_target("#d94f2b")
        state.look_at(state.candidate.row)  # type: ignore[union-attr]
        take(state, "sash", rank=1)
        assert state.said == "same recipe as lamp glass"
        state.set_target("#d94e2b")
        take(state, "buoy", rank=1)
        assert state.said == "same recipe as sash and 1 more"
        state.page = "10"
        state.set_target("#d94d2b")
        state.say("")
        take(state, "buoy", rank=1)
        assert state.said == ""


def test_what_is_laid_of_a_recipe_that_is_replaced_is_said_and_comes_back(path: Path) -> None:
    with begun(path) as state:
        state.set_target("yellow 100, magenta 50")
        take(state, "lamp")
        laid = state.lay()
        assert laid is not None
        assert laid.tick() == laid.tick() == ""
        assert state.match is not None
        row = state.match.recipes.row_of((100.0, 75.0, 0.0))
        assert row is not None
        state.look_at(row)
        take(state, "lamp")
        state.answer("")
        assert state.said == (
            "replaced, yellow 100 % is still laid, magenta 50 % is not laid any more;"
            " u brings the old one back"
        )
        laid = state.lay()
        assert laid is not None and laid.laying.laid == {"yellow"}
        state.undo()
        (lamp,) = state.keeper.choices
        assert state.keeper.laid(lamp) == {"yellow", "magenta"}


def test_the_same_recipe_for_the_same_colour_on_another_page_is_laid_for_itself(path: Path) -> None:
    with begun(path) as state:
        state.page = "9"
        take(state, "door")
        laid = state.lay()
        assert laid is not None and laid.tick() == ""
        state.page = "10"
        laid = state.lay()
        assert laid is not None and not laid.laying.laid
        laid.tick()
        assert choices(state) == [("door", "9"), ("", "10")]


def test_the_same_label_on_another_page_is_another_area(path: Path) -> None:
    with begun(path) as state:
        take(state, "door", rank=1)
        state.page = "9"
        take(state, "door", rank=2)
        assert choices(state) == [("door", ""), ("door", "9")]


def test_an_unlabelled_colour_taken_again_is_replaced(path: Path) -> None:
    with begun(path) as state:
        take(state, rank=1)
        take(state, rank=2)  # the question is whether it is replaced; Enter
        assert len(state.keeper.choices) == 1
        second = state.keeper.choices[0].recipe
        take(state, "door", rank=3)
        assert choices(state) == [("", ""), ("door", "")]
        assert state.keeper.choices[0].recipe == second
        state.set_target("tomato")
        take(state, rank=1)  # another colour is another area
        assert len(state.keeper.choices) == 3


def test_an_entry_taken_again_brings_label_and_page(path: Path) -> None:
    """Enter Enter in the review; then the question is whether it is replaced."""
    with begun(path) as state:
        state.page = "9"
        take(state, "door", rank=4)
        (entry,) = state.keeper.choices
        state.page = "12"
        state.set_target("tomato")
        state.reuse(entry)
        assert state.said == "for “door”, page 9: Enter takes a recipe for it again"
        state.take()
        assert choices(state)[-1] == ("door", "9")
        state.answer("")
        (again,) = state.keeper.choices
        assert (again.label, again.page, again.recipe) == ("door", "9", entry.recipe)
        take(state, "quay")  # what comes after is of the page that is set
        assert choices(state)[-1] == ("quay", "12")


def test_an_entry_whose_colour_is_left_brings_nothing(path: Path) -> None:
    with begun(path) as state:
        take(state, "door")
        state.reuse(state.keeper.choices[0])
        state.set_target("tomato")
        take(state, None)
        assert choices(state) == [("door", ""), ("", "")]


# Undoing, and two windows.


def test_undo_and_redo(path: Path) -> None:
    with begun(path) as state:
        state.undo()
        assert state.said == "nothing to undo"
        take(state, "coat")
        state.undo()  # the label with its choice, as it was one thing to do
        assert not state.keeper.choices
        assert state.said.startswith("undone: took ") and state.said.endswith(" for coat")
        state.redo()
        assert choices(state) == [("coat", "")]
        assert state.match is not None and state.match.held.used  # the list knows it too


def test_a_label_goes_to_the_choice_it_was_asked_for(path: Path) -> None:
    with begun(path) as state:
        state.take(1)
        mine = state.keeper.choices[-1].identity
        with Log(path) as other:
            other.keep(PALETTE, choice("theirs", COAT))
        state.answer("mine")
        with Log(path) as log:
            found = {c.identity == mine: c.label for c in log.choices("ferrow")}
        assert found == {True: "mine", False: "theirs"}


def test_a_label_whose_choice_was_undone_elsewhere_goes_nowhere(path: Path) -> None:
    with begun(path) as state:
        state.take(1)
        with Log(path) as other:
            other.undo("ferrow")
            other.keep(PALETTE, choice("theirs", COAT))
        state.answer("mine")
        assert "undone or removed meanwhile" in state.said
        with Log(path) as log:
            assert [c.label for c in log.choices("ferrow")] == ["theirs"]


def test_a_label_outlives_a_renaming_elsewhere(path: Path) -> None:
    with begun(path) as state:
        state.take(1)
        with Log(path) as other:
            other.projects.rename("ferrow", "Nine Lamps")
        state.answer("mine")
    with Log(path) as log:
        assert [c.label for c in log.choices("Nine Lamps")] == ["mine"]


def test_what_another_window_changes_is_known_here(path: Path) -> None:
    with begun(path) as state:
        take(state, "coat", rank=5)
        state.edit_target()
        with Log(path) as other:
            other.edit(state.keeper.choices[0].id, label="sail")
        state.look_again()
        assert choices(state) == [("sail", "")]
        assert state.asked is not None  # what was being typed goes on
        assert state.candidate is not None and state.candidate.rank == 5


def test_what_cannot_be_written_is_said_and_written_later(path: Path) -> None:
    with begun(path) as state:
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            state.take(1)
            assert state.said.startswith("not saved yet, retrying") and state.alarm
            assert len(state.keeper.choices) == 1  # it stays in view
            state.answer("coat")
            assert state.said.startswith("not saved yet, retrying")  # and not a path cut off
            state.undo()
            assert "not saved yet" in state.said
            state.look_again()
            assert state.keeper.waiting
            other.execute("ROLLBACK")
        state.look_again()
        assert state.said == "kept in the log" and not state.keeper.waiting
    with Log(path) as log:
        assert [c.label for c in log.choices("ferrow")] == ["coat"]


def test_a_log_that_cannot_be_read_takes_all_the_same(path: Path) -> None:
    with Log(path) as log:
        log.keep(PALETTE, choice("before"))
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE meta SET value = value")
        with begun(path) as state:
            take(state, "coat", rank=1)
            take(state, "sail", rank=2)
            assert choices(state) == [("coat", ""), ("sail", "")]
            other.execute("COMMIT")
            other.close()
            state.look_again()
    with Log(path) as log:
        assert [c.label for c in log.choices("ferrow")] == ["before", "coat", "sail"]


# The inks.


def test_until_other_inks_are_mixed_everything_stays_as_it_is(path: Path) -> None:
    with begun(path) as state:
        news = mixed(NEWS)
        state.change_palette(mixed("zine-two-inks").palette)
        state.hold()
        take(state, "coat")
        state.change_palette(news.palette)
        late = mixed("zine-two-inks")
        state.mixed(late, Press(late))  # no longer wanted
        assert state.palette.stem == "screen-quarters"
        assert state.keeper.choices[-1].palette == "screen-quarters"
        state.mixed(news, Press(news))
        assert state.match is not None and state.match.recipes.palette is state.palette
        assert state.palette.stem == NEWS and state.wanted.startswith("#d94f2a")
        assert state.match.question.hold is Hold.LIGHTNESS


def test_a_target_whose_text_is_no_colour_outlives_other_inks(path: Path) -> None:
    with begun(path) as state:
        dusk = from_lab((30.0, 5.5, -20.25), "the harbour at dusk")
        state.want(dusk)
        use(state, palette_file.load(NEWS))
        assert state.match is not None and state.match.question.target == dusk


def test_a_project_brings_its_inks(path: Path) -> None:
    with begun(path) as state:
        take(state)
        state.read_anew("second")
        assert choices(state) == []
        assert state.project_palette() is state.palette  # it has none of its own yet
        use(state, palette_file.load(NEWS))
        take(state)
        for project, stem in (("ferrow", "screen-quarters"), ("second", NEWS)):
            state.read_anew(project)
            found = state.project_palette()
            assert found is not None and found.stem == stem


def own_inks(folder: Path, **changed: str) -> Path:
    """A palette file of one's own."""
    text = palette_file.load("screen-quarters").text.replace("Screen, quarter tints", "Own inks")
    for old, new in changed.items():
        text = text.replace(old, new)
    (folder / "mine.toml").write_text(text, encoding="utf-8")
    return folder / "mine.toml"


def test_inks_whose_file_is_not_here_come_from_the_log(path: Path, tmp_path: Path) -> None:
    (tmp_path / "art").mkdir()
    mine = palette_file.load(str(own_inks(tmp_path / "art")))
    with begun(path) as state:
        use(state, mine)
        take(state, "coat")
    with begun(path, None) as state:
        stored = state.project_palette()
        assert stored is not None and stored.text == mine.text
        use(state, stored)
        assert "mine.toml is not here" in state.said
        line = head.line(state, 100, lambda identity: identity[6].upper())
        assert "from the log: Own inks · ferrow (P) · no page (P)" in line
        assert len(line) == 100
        # The file that lies here again, with a remark added, is the palette.
        own_inks(tmp_path, quarter="fourth")
        here = state.project_palette()
        assert here is not None and here is not state.stored
        # A file of that name with other inks is not.
        own_inks(tmp_path, cyan="harbour")
        again = state.project_palette()
        assert again is not None and again.text == mine.text


def test_inks_that_are_lost_are_said_and_no_others_offered(path: Path) -> None:
    with begun(path) as state:
        use(state, palette_file.parse(PALETTE.text, file="mine", stem="mine"))
        take(state, "coat")
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE palette SET text = ''")
        db.commit()
    with begun(path) as state:
        assert state.project_palette() is None
        assert "the inks of this project, mine, cannot be read" in state.said and state.alarm


def test_a_recipe_of_inks_that_are_gone_is_said(path: Path) -> None:
    with begun(path) as state:
        entry = choice("lamp", LAMP)
        use(state, palette_file.load(NEWS))
        state.reuse(entry)
        assert state.said == "that recipe is for screen-quarters; p changes the palette"
        assert state.wanted == entry.target_text


# Laying.


def test_what_is_laid_is_kept_once(path: Path) -> None:
    with begun(path, palette=NEWS) as state:
        laid = state.lay()
        assert laid is not None
        assert laid.clear() == "no ink is laid yet" and not state.keeper.choices
        assert laid.tick() == "kept in the log, because you are laying it"
        assert laid.tick() == ""
        (kept,) = state.keeper.choices
        first, second, *_ = (ink for ink, tint in kept.tints.items() if tint)
        assert laid.undo().startswith(f"undone: ticked {second} ")
        assert state.keeper.laid(kept) == {first} == laid.laying.laid
        # The first tick and what it kept are one step.
        assert laid.undo().startswith(f"undone: ticked {first} ")
        assert not state.keeper.choices and not laid.laying.laid
        assert laid.undo() == "nothing to undo"
        assert laid.redo().startswith("redone: ") and laid.redo().startswith("redone: ")
        assert laid.laying.laid == {first, second}
        assert laid.clear() == "" and not laid.laying.laid


# The head.


@pytest.mark.parametrize("width", [58, 98, 158])
def test_the_head_names_project_and_page_and_their_keys(path: Path, width: int) -> None:
    def key(identity: str) -> str:
        return {"match.project": "P", "match.page": "g"}[identity]

    with begun(path, palette="newsprint-sixty-four") as state:
        assert head.line(state, width, key).endswith("ferrow (P) · no page (g)")
        state.page = "9, 10"
        state.set_target("color(display-p3 0.8 0.5 0.3)")
        said = head.line(state, width, key)
        assert said.endswith("ferrow (P) · page 9, 10 (g)")
        assert len(said) <= width
