"""An area has one recipe: a label on a page of a project, without a label a colour as given."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from kept import COAT, PALETTE, SEA, choice, keep, labels, whole

from tuimatch.errors import LogError
from tuimatch.log import Choice, Log
from tuimatch.log.area import all_pages


@pytest.fixture
def log(tmp_path: Path):
    with Log(tmp_path / "log.sqlite") as log:
        yield log
    assert whole(tmp_path / "log.sqlite")


def put(log: Log, **given) -> Choice:
    return log.keep(PALETTE, choice(**given))


@pytest.mark.parametrize(
    ("given", "same"),
    [
        ({"label": "door", "page": "9"}, True),
        ({"label": " DOOR ", "page": "9", "target": "#123456"}, True),
        ({"label": "door", "page": "9, 10"}, True),
        ({"label": "door", "page": "9", "project": "FERROW"}, True),
        ({"label": "door", "page": "10"}, False),
        ({"label": "door", "page": ""}, False),
        ({"label": "door", "page": "9", "project": "other"}, False),
        ({"label": "doors", "page": "9"}, False),
        ({"label": "", "page": "9"}, False),
    ],
)
def test_an_area_is_a_label_on_a_page_of_a_project(log, given, same):
    kept = put(log, label="door", page="9")
    assert log.same_area(choice(**given)) == ([kept] if same else [])


def test_without_a_label_it_is_the_colour_as_given(log):
    first, second = put(log, label="", target="#f3e3a1"), put(log, label="", target="paler")
    other = replace(choice(""), target_lab=(40.0, 0.0, 0.0))
    assert log.same_area(choice("")) == [second, first]
    assert log.same_area(first) == [second]
    assert log.same_area(other) == []
    assert log.same_area(other, "door") == []
    put(log, label="door")
    assert labels(log.same_area(other, "Door")) == ["door"]
    log.remove(second.id)
    assert log.same_area(choice("")) == [first]


def test_what_is_replaced_stays_in_the_history_and_one_undo_brings_it_back(log):
    put(log, label="quay", page="9")
    door = put(log, label="door", page="9, 10", note="wet")
    new = choice("door", COAT, page="9")
    kept = log.keep(PALETTE, new, replacing=[c.identity for c in log.same_area(new)])
    assert [(c.label, c.page, c.recipe) for c in log.choices()] == [
        ("quay", "9", choice().recipe),
        ("door", "9, 10", new.recipe),
    ]
    assert not kept.doubtful
    # Tried again after a failure, it is the same choice and replaces nothing more.
    again = put(log, label="door", page="9, 10")
    assert log.keep(PALETTE, new, replacing=[again.identity]) == kept
    log.undo()
    said = f"undone: replaced {door.recipe} by {new.recipe} for door"
    assert log.undo() == said
    assert [replace(c, changed_at="") for c in log.same_area(new)] == [replace(door, changed_at="")]
    assert log.redo() is not None
    assert [c.identity for c in log.choices()][1:] == [new.identity]


def test_several_may_be_replaced_and_one_that_is_gone_does_not_matter(log):
    first, second = put(log, page="9"), put(log, page="10", tints=SEA)
    log.remove(first.id)
    new = choice(tints=COAT, page="11")
    log.keep(PALETTE, new, replacing=[first.identity, second.identity])
    assert [(c.recipe, c.page) for c in log.choices()] == [(new.recipe, "11, 10")]
    log.undo()
    assert [c.identity for c in log.choices()] == [second.identity]


def test_a_choice_is_known_by_its_identity(log):
    lamp, coat = keep(log, "lamp", "coat")
    assert log.known(lamp.identity) == lamp
    log.remove(coat.id)
    with pytest.raises(LogError, match="undone or removed meanwhile"):
        log.known(coat.identity)
    log.undo()
    assert log.known(coat.identity).label == "coat"


def test_the_pages_of_all():
    some = [choice(page=page) for page in ("9", "", "10, 9", "Cover", "cover")]
    assert all_pages(some) == "9, 10, Cover"
    assert all_pages([choice(), choice()]) == ""
