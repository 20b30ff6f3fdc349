"""Every action of the review, without a terminal."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kept import COAT, PALETTE, choice, fill
from review import four_choices, in_log
from screens import another_writes
from support import costly, in_fresh_interpreter
from textual.binding import Binding

from tuimatch.log import Log
from tuimatch.planning import consistency
from tuimatch.tui.screens.review_keys import REVIEW_KEYS
from tuimatch.tui.screens.review_screen import ReviewScreen
from tuimatch.tui.screens.review_state import ReviewState


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return four_choices(tmp_path / "log.sqlite")


@pytest.fixture
def state(path: Path) -> Iterator[ReviewState]:
    """The review of ferrow: oda's coat (cover), lamp (10), Oda's coat (9)."""
    opened = ReviewState(path, "ferrow")
    opened.look_up()
    yield opened
    opened.access.close()


def all_of(state: ReviewState, what: str = "label") -> list[str]:
    return [getattr(choice, what) for choice in state.fetch(state.numbers)]


def here(state: ReviewState) -> str:
    assert state.choice is not None
    return state.choice.label


def check(state: ReviewState) -> None:
    """What the screen finds out in a thread."""
    with Log(state.access.path) as log:
        found = consistency.check(log.choices(state.whose), consistency.palette_finder())
    state.checked(state.whose, found)


def find(state: ReviewState, text: str) -> None:
    state.find()
    state.filter_by(text)
    state.answer(text)


def test_it_needs_no_terminal() -> None:
    run = in_fresh_interpreter(
        "import sys, tuimatch.tui.screens.review_state\n"
        "print({'textual', 'rich', 'numpy'} & {name.split('.')[0] for name in sys.modules})"
    )
    assert (run.returncode, run.stdout) == (0, "set()\n"), run.stderr


def test_every_key_has_its_action() -> None:
    for binding in REVIEW_KEYS:
        assert isinstance(binding, Binding)
        of_state = re.match(r"(?:do|change)\('(\w+)'", binding.action)
        if of_state:
            assert hasattr(ReviewState, of_state[1]), binding.action
        else:
            door = f"action_{binding.action}"
            assert hasattr(ReviewScreen, door) or binding.action == "app.quit", binding.action


# Finding.


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("brightest", ["lamp"]),
        ("COVER", ["oda's coat"]),
        ('"magenta 100"', ["Oda's coat"]),
        ("#ffe800", ["oda's coat", "lamp", "Oda's coat"]),
        ("page 10", ["lamp"]),
        ("no page", []),
        ("nothing of the kind", []),
    ],
)
def test_it_looks_in_everything(state: ReviewState, typed: str, found: list[str]) -> None:
    find(state, typed)
    assert all_of(state) == found
    assert state.asked is None


def test_back_takes_the_filter_off_and_then_leaves(state: ReviewState) -> None:
    find(state, "lamp")
    assert not state.back()
    assert len(state.numbers) == 3
    assert state.back()


def test_a_filter_that_is_left_is_taken_off(state: ReviewState) -> None:
    state.find()
    state.filter_by("lamp")
    state.leave()
    assert (len(state.numbers), state.filter, state.asked) == (3, "", None)


@pytest.mark.parametrize("leave", [ReviewState.leave, ReviewState.back])
def test_after_a_search_that_found_nothing_the_cursor_is_where_it_was(
    state: ReviewState, leave: Callable[[ReviewState], object]
) -> None:
    state.move_to(1)
    state.find()
    for typed in ("o", "od", "odx"):  # from an entry that the first letters leave out, to nothing
        state.filter_by(typed)
    assert state.numbers == []
    leave(state)
    assert here(state) == "lamp"


def test_a_key_goes_through_the_orders(state: ReviewState) -> None:
    orders = {}
    for _ in range(5):
        orders[state.order] = all_of(state, "page")
        state.sort()
    assert orders == {
        "newest": ["cover", "10", "9"],
        "oldest": ["9", "10", "cover"],
        "label": ["10", "9", "cover"],
        "page": ["cover", "9", "10"],
        "delta_e": ["cover", "9", "10"],
    }
    assert state.order == "newest"


def test_all_projects_and_back(state: ReviewState) -> None:
    state.show_everyone()
    assert all_of(state)[0] == "hull"
    assert here(state) == "oda's coat"  # the cursor stays with its entry
    state.show_everyone()
    assert len(state.numbers) == 3


# The cursor.


def test_the_cursor_stays_with_its_entry_through_filter_edit_and_undo(state: ReviewState) -> None:
    find(state, "lamp")
    state.edit("label")
    state.answer("beacon")
    assert all_of(state) == []  # it no longer holds what was looked for
    state.back()
    assert here(state) == "beacon"
    state.sort()
    assert here(state) == "beacon"
    state.remove()
    assert state.said == "removed beacon; u undoes it"
    assert here(state) != "beacon"
    state.undo()
    assert here(state) == "beacon"
    state.undo()
    assert here(state) == "lamp"


def test_what_takes_the_place_of_an_edited_entry_is_what_is_removed(state: ReviewState) -> None:
    find(state, "coat")
    assert here(state) == "oda's coat"
    state.edit("label")
    state.answer("cape")
    assert here(state) == "Oda's coat"  # the only one left, and seen
    state.remove()
    assert state.said.startswith("removed Oda's coat")
    state.back()
    assert all_of(state) == ["cape", "lamp"]


def test_removing_the_last_ones_leaves_the_cursor_in_the_list(state: ReviewState) -> None:
    state.move_to(2)
    state.remove()
    assert here(state) == "lamp"
    state.remove()
    state.remove()
    state.remove()
    assert state.numbers == [] and state.here is None
    assert state.said == "removed oda's coat; u undoes it"
    assert state.facts() == ["no recipes"]


def test_the_cursor_stays_in_a_list_that_is_found_in_two_parts(path: Path) -> None:
    with Log(path) as log:
        fill(log, 400)
    state = ReviewState(path, "ferrow")

    def rest() -> None:
        text, whose, order = state.question
        with Log(path) as log:
            state.found(state.question, log.numbers(text, whose, order=order))

    state.look_up()
    assert state.more and len(state.numbers) == 200
    rest()
    state.move_to(350)
    number = state.here
    for change in (state.sort, state.sort, lambda: state.filter_by("a")):
        change()
        if state.more:
            rest()
        assert state.here == number
        assert state.numbers[state.place] == number
    state.found(("something else", None, "newest"), [1])
    assert state.here == number
    state.access.close()


@costly
@given(
    st.lists(
        st.sampled_from(
            ["find", "sort", "edit", "remove", "undo", "redo", "down", "up", "back", "tick", "all"]
        )
    )
)
def test_what_is_removed_is_what_is_seen(tmp_path_factory: pytest.TempPathFactory, keys) -> None:
    """Whatever is done before, and the cursor is in the list all the time."""
    path = four_choices(tmp_path_factory.mktemp("review") / "log.sqlite")
    state = ReviewState(path, "ferrow")
    state.look_up()
    actions = {
        "find": lambda: find(state, "coat"),
        "sort": state.sort,
        "down": lambda: state.move_to(state.place + 1),
        "up": lambda: state.move_to(state.place - 1),
        "back": state.back,
        "tick": state.tick,
        "all": state.show_everyone,
        "undo": state.undo,
        "redo": state.redo,
    }
    for key in keys:
        seen = state.choice
        if key == "edit":
            state.edit("label")
            state.answer("coat" if seen and seen.label == "cape" else "cape")
            assert seen is None or " is called " in state.said
        elif key == "remove":
            state.remove()
            assert seen is None or state.said == f"removed {seen.name}; u undoes it"
        else:
            actions[key]()
        assert (state.here is None) == (not state.numbers)
        assert state.here is None or state.numbers[state.place] == state.here
        if key in ("sort", "tick") and seen is not None:
            assert state.here == seen.id
    state.access.close()


# Changing.


@pytest.mark.parametrize("what", ["label", "page", "note"])
def test_an_entry_is_changed(state: ReviewState, path: Path, what: str) -> None:
    state.move_to(1)
    state.edit(what)
    assert state.asked is not None
    assert state.asked.answer == {"label": "lamp", "page": "10", "note": "brightest [b]thing"}[what]
    state.answer("x" * 501)
    assert f"the {what} has 501 characters" in state.said and state.asked is not None
    state.answer("")
    said = "lamp has no label now" if what == "label" else f"the {what} of lamp is changed"
    assert state.said == said and state.asked is None
    with Log(path) as log:
        assert getattr(log.choices("ferrow")[1], what) == ""


def test_an_edit_goes_to_the_entry_it_was_asked_for(state: ReviewState, path: Path) -> None:
    state.move_to(1)
    state.edit("label")
    with Log(path) as other:
        other.remove(other.choices("ferrow")[1].id)
    state.answer("lantern")
    assert "undone or removed meanwhile" in state.said
    assert in_log(path) == ["Oda's coat", "oda's coat"]


def test_what_another_program_removed_is_said(state: ReviewState, path: Path) -> None:
    state.move_to(1)
    with Log(path) as log:
        log.remove(log.choices("ferrow")[1].id)
    state.remove()
    assert "undone or removed" in state.said
    assert all_of(state) == ["oda's coat", "Oda's coat"]


def test_undoing_in_one_project_leaves_the_others(state: ReviewState) -> None:
    for _ in range(4):
        state.undo()
    assert state.said == "nothing to undo"
    state.show_everyone()
    state.undo()
    assert state.said == "undone: took yellow 100 % for hull"


def test_undoing_a_renaming_follows_the_project(path: Path) -> None:
    with Log(path) as log:
        log.projects.rename("ferrow", "Nine Lamps")
    state = ReviewState(path, "Nine Lamps")
    state.undo()
    assert state.said == "undone: renamed project ferrow to Nine Lamps"
    assert state.project == "ferrow" and len(state.numbers) == 3
    state.access.close()


def test_a_locked_log_is_said_and_tried_again(state: ReviewState, path: Path) -> None:
    with another_writes(path):
        for action in (state.remove, state.undo, state.redo):
            action()
            assert "another program is writing to it" in state.said
        state.edit("label")
        state.answer("new")
        assert "another program is writing to it" in state.said and state.asked is not None
        assert len(state.numbers) == 3  # reading goes on
    state.answer("new")
    assert state.said.endswith(" is called new now")
    assert in_log(path) == ["Oda's coat", "lamp", "new"]


# Taking again.


def test_a_choice_is_taken_again_under_another_label(path: Path) -> None:
    """Its page comes along, its note does not."""
    copied: list[str] = []
    state = ReviewState(path, "ferrow", copy=copied.append)
    state.look_up()
    state.move_to(1)
    state.take()
    assert state.asked is not None and state.asked.answer == "lamp"
    state.answer("lantern")
    assert state.said == "taken again as lantern; u undoes it"
    assert here(state) == "lamp"
    with Log(path) as log:
        old, new = log.choices("ferrow")[1], log.choices("ferrow")[-1]
    assert (new.label, new.page, new.note) == ("lantern", "10", "")
    kept = ("target_text", "target_lab", "tints", "lab", "palette_digest", "delta_e")
    assert all(getattr(new, name) == getattr(old, name) for name in kept)
    assert copied == [old.recipe]
    state.access.close()


@pytest.mark.parametrize("answer", ["", "lantern", " LANTERN "])
def test_an_area_taken_again_is_replaced_or_left(
    state: ReviewState, path: Path, answer: str
) -> None:
    with Log(path) as log:
        log.keep(PALETTE, choice("lantern", COAT, page="10"))
    state.look_up()
    state.move_to(2)
    assert here(state) == "lamp"
    state.take()
    state.answer("lantern")
    assert state.asked is not None and state.asked.what == "replace"
    assert state.said.startswith("lantern on page 10 is yellow 75 %, magenta 100 %, cyan 50 % alr")
    state.leave()
    assert len(in_log(path)) == 4
    state.take()
    state.answer("lantern")
    state.answer(answer)
    label = answer.strip() or "lantern"
    assert state.said == f"taken again as {label}; u undoes it" and state.asked is None
    with Log(path) as log:
        found = [c for c in log.choices("ferrow") if c.label.casefold() == "lantern"]
    assert [(c.label, c.recipe) for c in found] == [(label, "yellow 100 %")]
    state.undo()
    with Log(path) as log:
        recipes = [c.recipe for c in log.choices("ferrow") if c.label == "lantern"]
    assert recipes == ["yellow 75 %, magenta 100 %, cyan 50 %"]


def test_a_choice_is_taken_for_another_project(path: Path) -> None:
    state = ReviewState(path, "harbour")
    state.show_everyone()
    state.take()
    state.answer("hull")
    assert in_log(path, "harbour") == ["hull"]
    state.access.close()


# What conflicts, what is ticked, the guide.


def test_what_conflicts_is_gone_through(state: ReviewState) -> None:
    state.next_finding()
    assert state.said == "no conflicts"
    check(state)
    assert state.conflicts == 1
    state.next_finding()
    assert here(state) == "Oda's coat"
    assert "! Oda's coat is elsewhere " in "\n".join(state.facts())
    state.next_finding()
    assert state.place == 0


def test_what_is_ticked_stays_so(state: ReviewState) -> None:
    assert state.meant() is None and state.said.startswith("nothing is ticked yet")
    state.tick()
    state.move_to(1)
    state.tick()
    find(state, "lamp")
    state.back()
    state.sort()
    assert len(state.ticked) == 2
    assert state.meant() == ("ferrow", sorted(state.ticked))
    state.remove()  # lamp
    assert len(state.ticked) == 1
    state.undo()
    assert len(state.ticked) == 1
    state.show_everyone()
    state.move_to([c.label for c in state.fetch(state.numbers)].index("hull"))
    state.tick()
    assert state.meant() is None
    assert state.said == "you ticked recipes of ferrow, second: plan one project at a time"
    state.clear()
    assert not state.ticked


def test_the_page_of_what_is_ticked_is_one_step(state: ReviewState) -> None:
    state.tick()
    state.move_to(2)
    state.tick()
    state.move_to(1)  # not ticked
    state.edit_page()
    assert state.said == "the page of 2 recipes of ferrow that are ticked"
    assert state.asked is not None and state.asked.answer == ""  # they are on different ones
    state.answer("x" * 501)
    assert state.asked is not None and "has 501 characters" in state.said
    state.answer(" 11 ")
    assert state.said == "put 2 recipes on page 11; u undoes it" and state.asked is None
    assert all_of(state, "page") == ["11", "10", "11"]
    state.edit_page()
    assert state.asked is not None and state.asked.answer == "11"
    state.answer("")
    assert state.said == "took the page off 2 recipes; u undoes it"
    assert all_of(state, "page") == ["", "10", ""]
    state.undo()
    state.undo()
    assert state.said == "undone: put 2 recipes on page 11"
    assert all_of(state, "page") == ["cover", "10", "9"]
    state.redo()
    assert all_of(state, "page") == ["11", "10", "11"]


def test_a_page_is_refused_whole_where_one_of_the_ticked_is_gone(
    state: ReviewState, path: Path
) -> None:
    state.tick()
    state.move_to(1)
    state.tick()
    state.edit_page()
    with Log(path) as log:
        log.remove(log.choices("ferrow")[1].id)
    state.answer("11")
    assert "undone or removed meanwhile" in state.said
    assert all_of(state, "page") == ["cover", "9"]


def test_the_guide_is_asked_for(path: Path, tmp_path: Path) -> None:
    asked: list[tuple[str, Path]] = []
    with Log(path) as log:
        log.projects.rename("ferrow", "Ferrow: 1/2?")
    state = ReviewState(
        path, "Ferrow: 1/2?", write_guide=lambda project, file: asked.append((project, file))
    )
    state.look_up()
    state.guide()
    assert state.asked is not None and state.asked.answer == "Ferrow- 1-2.html"
    for answer, refusal in (
        ("ferrow.pdf", "ferrow.pdf: no guide has this extension; give one of .html"),
        (" ", "no guide has this extension"),
    ):
        state.answer(answer)
        assert refusal in state.said and state.asked is not None
    (tmp_path / "ferrow.html").write_text("mine")
    state.answer("ferrow.html")
    assert state.said == "ferrow.html is there already: press Enter again to replace it"
    assert not asked
    state.answer("ferrow.html")
    assert [(project, file.name) for project, file in asked] == [("Ferrow: 1/2?", "ferrow.html")]
    state.access.close()


def test_the_recipe_is_copied(path: Path) -> None:
    copied: list[str] = []
    state = ReviewState(path, "ferrow", copy=copied.append)
    state.copy()
    state.look_up()
    state.copy()
    assert copied == ["yellow 25 %, magenta 75 %, cyan 100 %"]
    state.access.close()
