"""What is remembered over a restart: each thing where it belongs, and nothing that is damaged."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kept import LAMP, PALETTE, choice
from match_state import begun, take, use
from screens import another_writes
from terminal import Terminal

from tuimatch.colour.intent import Intent
from tuimatch.log import Log
from tuimatch.log.remembered import Thing
from tuimatch.match import kept_limits
from tuimatch.match.limits import Narrowing, start
from tuimatch.palette import file as palette_file
from tuimatch.recipe.copied_recipe import Wording
from tuimatch.tui.match.state import MatchState

NEWS = palette_file.load("newsprint-quarters")


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path / "log.sqlite"


def set_page(state: MatchState, page: str) -> None:
    state.edit_page()
    state.answer(page)


def intent_of(state: MatchState) -> Intent | None:
    assert state.match is not None
    return state.match.question.intent


def free(state: MatchState) -> bool:
    """Whether no limit is on but the palette's own."""
    assert state.match is not None
    question = state.match.question
    return question.narrowing == start(state.palette) and not question.used_only


def test_the_page_and_the_intent_come_back_in_their_project(path: Path) -> None:
    with begun(path) as state:
        set_page(state, "12")
        state.next_intent()
        intent = intent_of(state)
        assert intent is not None
        state.turn_to("second")
        assert (state.page, intent_of(state)) == ("", None)
        set_page(state, "cover")
        state.turn_to("ferrow")
        assert (state.page, intent_of(state)) == ("12", intent)
    with begun(path) as state:
        assert (state.page, intent_of(state)) == ("12", intent)
        set_page(state, "")
    with begun(path) as state:
        assert state.page == ""
    with begun(path, project="second") as state:
        assert (state.page, intent_of(state)) == ("cover", None)


def test_they_stay_with_a_project_that_is_renamed(path: Path) -> None:
    with begun(path) as state:
        set_page(state, "12")
    with Log(path) as log:
        log.projects.rename("ferrow", "lamps")
    with begun(path, project="lamps") as state:
        assert state.page == "12"


def test_the_wording_comes_back_with_its_palette(path: Path) -> None:
    with begun(path) as state:
        while state.look.wording is not Wording.HEX:
            state.next_wording()
        use(state, NEWS)
        assert state.look.wording is Wording.PERCENTAGES
    with begun(path, project="second") as state:
        assert state.look.wording is Wording.HEX
    with begun(path, palette=NEWS.stem) as state:
        assert state.look.wording is Wording.PERCENTAGES


def test_limits_come_back_only_when_that_was_asked_for(path: Path) -> None:
    with begun(path) as state:
        state.limit_inks()
    with begun(path) as state:
        assert free(state)
        state.limit_inks()
        state.limit_without()
        state.limit_used()
        state.keep_limits()
        assert state.said == "ferrow begins with these limits from now on"
        state.limit_inks()  # for now
    with begun(path) as state:
        assert state.match is not None
        assert state.match.question.narrowing == Narrowing(max_inks=1, without=frozenset({0}))
        assert state.match.question.used_only
        state.turn_to("second")
        assert free(state)
        state.turn_to("ferrow")
        state.keep_limits()  # once more takes them away
        assert state.said == "ferrow begins without limits from now on"
    with begun(path) as state:
        assert free(state)


def test_limits_of_inks_that_another_palette_does_not_have_are_not_taken(path: Path) -> None:
    with begun(path) as state:
        state.limit_without()
        state.keep_limits()
        use(state, palette_file.parse(PALETTE.text.replace("yellow", "straw"), file="", stem="x"))
        assert free(state)


@given(st.data())
def test_limits_are_read_as_they_were_written(data: st.DataObject) -> None:
    inks = range(len(PALETTE.inks))
    without = data.draw(st.frozensets(st.sampled_from(inks)))
    fixed = {
        ink: data.draw(st.sampled_from(PALETTE.inks[ink].steps))
        for ink in data.draw(st.sets(st.sampled_from([*inks])))
        if ink not in without
    }
    narrowing = Narrowing(
        max_inks=data.draw(st.none() | st.integers(0, 4)),
        without=without,
        fixed=frozenset(fixed.items()),
        max_coverage=data.draw(st.none() | st.floats(0, 400)),
    )
    used_only = data.draw(st.booleans())
    text = kept_limits.to_text(PALETTE, narrowing, used_only)
    assert kept_limits.read(PALETTE, text) == (narrowing, used_only)


def test_a_palette_that_was_changed_to_comes_back_until_a_choice_comes(path: Path) -> None:
    def palette_of(project: str) -> str:
        with begun(path, None, project=project) as state:
            found = state.project_palette()
            assert found is not None
            return found.stem

    with begun(path) as state:
        take(state, "coat")
        use(state, NEWS)
    assert palette_of("ferrow") == NEWS.stem
    assert palette_of("second") == PALETTE.stem  # what is in use
    with Log(path) as log:
        log.keep(PALETTE, choice("lamp", LAMP))
    assert palette_of("ferrow") == PALETTE.stem
    with Log(path) as log:
        log.undo("ferrow")
    assert palette_of("ferrow") == NEWS.stem


def test_a_palette_whose_file_is_elsewhere_comes_back_from_the_log(path: Path) -> None:
    own = palette_file.parse(PALETTE.text + "\n# mine", file="", stem="mine")
    with begun(path) as state:
        use(state, own)
    with begun(path) as state:
        found = state.project_palette()
        assert found is not None and (found.stem, found.text) == ("mine", own.text)
        assert state.stored is found


HOSTILE = (
    "\x1b[31mred\x07",
    "page\nof two lines",
    "x" * 100,
    "x" * 100_000,
    "[" * 3_000,
    "{}",
    "null",
    '{"used_only": true, "max_inks": 1e999}',
    '{"used_only": true, "without": 7, "fixed": null, "max_inks": null, "max_coverage": null}',
    '{"name": "../../etc/passwd", "digest": "", "inks": ["\\ud800"], "after": []}',
    b"\xff\xfe",
    7,
    3.5,
    "ΔE\udcff",
)


@pytest.mark.parametrize("value", HOSTILE, ids=[str(n) for n in range(len(HOSTILE))])
def test_a_damaged_or_hostile_value_is_ignored(path: Path, value: object) -> None:
    with begun(path) as state:
        take(state, "coat")
        set_page(state, "12")
        state.next_intent()
        state.limit_inks()
        state.keep_limits()
        state.next_wording()
        use(state, NEWS)
    with closing(sqlite3.connect(path)) as db:
        if isinstance(value, str) and "\udcff" in value:
            db.execute(
                "UPDATE meta SET value = CAST(? AS TEXT) WHERE key LIKE '%:%'",
                (value.encode(errors="surrogateescape"),),
            )
        else:
            db.execute("UPDATE meta SET value = ? WHERE key LIKE '%:%'", (value,))
        assert db.execute("SELECT changes()").fetchone()[0] >= len(Thing)
        db.commit()
    with begun(path) as state:
        assert state.page in ("", str(value), "ΔE")
        assert state.page.isprintable() and len(state.page) <= 60
        assert free(state) and intent_of(state) is None
        assert state.look.wording is Wording.PERCENTAGES
        found = state.project_palette()
        assert found is not None and found.stem == PALETTE.stem
        assert not state.keeper.notice and not state.keeper.problem
        assert [c.label for c in state.keeper.choices] == ["coat"]


@given(st.text())
def test_no_text_of_limits_is_more_than_ignored(text: str) -> None:
    assert kept_limits.read(PALETTE, text) == (start(PALETTE), False)


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(max_size=5),
        lambda some: (
            st.lists(some, max_size=3)
            | st.dictionaries(
                st.sampled_from(["used_only", "without", "fixed", "max_inks", "max_coverage"]), some
            )
        ),
        max_leaves=8,
    )
)
def test_no_json_of_limits_is_more_than_ignored(value: object) -> None:
    narrowing, _ = kept_limits.read(PALETTE, json.dumps(value))
    assert narrowing.without <= set(range(len(PALETTE.inks)))


def test_what_is_said_on_the_command_line_wins(path: Path) -> None:
    with begun(path) as state:
        use(state, NEWS)
    with Terminal("tomato", "--log", str(path), "--project", "ferrow") as terminal:
        terminal.until(NEWS.name)
        terminal.press("q")
        terminal.wait()
    with Terminal(
        "tomato", "--log", str(path), "--project", "ferrow", "--palette", PALETTE.stem
    ) as terminal:
        terminal.until(PALETTE.name)
        terminal.until("ΔE")
        assert NEWS.name not in terminal.text
        terminal.press("q")
        terminal.wait()


def test_a_restart_goes_on_where_it_was_left(path: Path) -> None:
    """In a real terminal: project, palette, page, wording, intent and limits, all by their keys."""
    with Terminal("tomato", "--log", str(path), "--project", "ferrow", size=(160, 45)) as terminal:
        terminal.until("ΔE")
        terminal.press("enter")
        terminal.until("kept in the log")
        terminal.press("coat", "enter", "g")
        terminal.until("page of what you take next")
        terminal.press("14", "enter")
        terminal.until("page 14")
        terminal.press("p", "down", "enter")
        terminal.until("all 14,641 recipes")
        terminal.press("I")
        terminal.until("taken as given")
        terminal.press("i", "S")
        terminal.until("begins with these limits")
        terminal.press("w")
        terminal.until("now copied as")
        terminal.press("q")
        assert terminal.wait() == 0
    with begun(path, None, project=None) as state:
        kept = {thing: state.keeper.recall(thing) for thing in Thing if thing is not Thing.WORDING}
        palette = state.project_palette()
        assert palette is not None and palette.stem != PALETTE.stem
        wording = state.keeper.recall(Thing.WORDING, palette.stem)
        assert all(kept.values()) and wording
    with Terminal("tomato", "--log", str(path), size=(160, 45)) as terminal:
        terminal.until("at most 1 ink")
        for text in (
            "ferrow",
            palette.name,
            "page 14",
            Intent(kept[Thing.INTENT].split()[0]).words,
        ):
            terminal.until(text)


def test_two_interfaces_on_one_log_keep_their_own_page_until_the_next_start(path: Path) -> None:
    with begun(path) as one, begun(path) as other:
        set_page(one, "3")
        set_page(other, "4")
        one.look_again()
        other.look_again()
        assert (one.page, other.page) == ("3", "4")
        take(one, "coat")
        other.look_again()
        assert [c.page for c in other.keeper.choices] == ["3"]
    with begun(path) as state:
        assert state.page == "4"  # what was said last


def test_what_cannot_be_written_now_is_remembered_later(path: Path) -> None:
    with begun(path) as state, another_writes(path):
        set_page(state, "5")
        assert state.page == "5" and state.keeper.recall(Thing.PAGE) == "5"
    with begun(path) as state:
        assert state.page == "5"


def test_an_open_log_is_not_needed_to_begin(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder", encoding="utf-8")
    with begun(blocked / "log.sqlite") as state:
        set_page(state, "5")
        state.next_intent()
        assert state.page == "5" and state.match is not None
