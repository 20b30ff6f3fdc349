"""`tuimatch take` and `tuimatch rematch`: many recipes into the log in one step."""

from __future__ import annotations

import json

import comic
import pytest
from kept import tick

from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e
from tuimatch.log import Log, Tick

ON = ("--palette", "newsprint-quarters")


# take.


def test_a_match_is_taken_as_the_interface_takes_it(cli):
    found = cli("match", "#d9803f", "tomato", *ON, "--intent", "absolute", "--json", "--top", "3")
    said = cli("take", "--project", "ferrow", "--page", "3", stdin=found)
    assert said.startswith("taken into project 'ferrow': 2 recipes; `tuimatch log undo")
    with Log(cli.log) as log:
        first, second = log.choices("ferrow")
    answers = [json.loads(line) for line in found.splitlines()]
    for choice, answer in zip((first, second), answers, strict=True):
        best = answer["candidates"][0]
        assert choice.target_text == answer["target"]["text"]
        assert choice.tints == best["tints"]
        assert choice.delta_e == pytest.approx(best["delta_e"])
        assert (choice.page, choice.intent, choice.palette) == ("3", "absolute", ON[1])
    cli("log", "undo", "--project", "ferrow")
    with Log(cli.log) as log:
        assert log.choices("ferrow") == []


def test_a_page_is_taken_with_its_labels_and_its_number(cli):
    text = "#b9855f skin\n#c48f30 scarf\n"
    found = cli("page", "-", *ON, "--page", "12", "--json", stdin=text)
    cli("take", "--project", "ferrow", stdin=found)
    with Log(cli.log) as log:
        assert [(c.label, c.page) for c in log.choices("ferrow")] == [
            ("skin", "12"),
            ("scarf", "12"),
        ]
    # Once more: the same areas, so nothing is there twice.
    assert "already has these" in cli("take", "--project", "ferrow", stdin=found)
    with Log(cli.log) as log:
        assert len(log.choices("ferrow")) == 2


def test_one_match_with_a_label(cli):
    found = cli("match", "yellow 100, magenta 50", *ON, "--json", "--top", "1")
    cli("take", "--label", "lamp glass", "--project", "ferrow", stdin=found)
    with Log(cli.log) as log:
        (choice,) = log.choices("ferrow")
    assert (choice.label, choice.recipe) == ("lamp glass", "yellow 100 %, magenta 50 %")
    assert choice.delta_e == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("tomato", "is not JSON, object 1"),
        ("[" * 100_000, "is not JSON, object 1"),
        ("[1]", "JSON object 1"),
        ('{"intent": "absolute"}', "JSON object 1"),
        ('{"intent": "x", "flats": []}', "JSON object 1"),
        (
            '{"intent": "absolute", "palette": 5, "flats": '
            '[{"colour": "red", "label": "", "recipe": "cyan 25 %"}]}',
            "a text in it is not text",
        ),
        (
            '{"intent": "absolute", "palette": "mine", "flats": '
            '[{"colour": "red", "label": "", "recipe": "cyan 25 %"}]}',
            "give its file with --palette",
        ),
        (
            '{"intent": "absolute", "palette": "screen-quarters", "flats": '
            '[{"colour": "red", "label": "", "recipe": "gold 25 %"}]}',
            "is not a recipe of these inks",
        ),
        (
            '{"intent": "absolute", "palette": "screen-quarters", "flats": '
            '[{"colour": "red\\u001b", "label": "", "recipe": "cyan 25 %"}]}',
            "is not a colour",
        ),
        (
            '{"intent": "absolute", "palette": "screen-quarters", "flats": ['
            '{"colour": "red", "label": "roof", "recipe": "cyan 25 %"}, '
            '{"colour": "blue", "label": "Roof", "recipe": "cyan 25 %"}]}',
            "are both called 'roof'",
        ),
    ],
)
def test_what_is_wrong_is_refused_and_nothing_is_kept(cli, text, said):
    assert said in cli.refuses("take", stdin=text)
    if cli.log.exists():
        with Log(cli.log) as log:
            assert log.choices() == []


# rematch.


@pytest.fixture
def drawn(cli):
    """The log of the whole comic."""
    with Log(cli.log) as log:
        comic.make(log)
    return ("--project", comic.PROJECT)


def test_a_page_on_another_palette_old_beside_new(cli, drawn):
    (said,) = cli.lines("rematch", *drawn, "--page", "7", "--palette", "screen-quarters", "--json")
    assert [area["old"]["label"] for area in said["areas"]] == [
        *("morning sea", "morning fog", "market awning", "mackerel", "oranges"),
    ]
    assert (said["proved"], said["not_kept"], said["taken"]) == (True, [], 0)
    given = [target.parse(area["old"]["target"]["text"]).lab for area in said["areas"]]
    for i, one in enumerate(said["areas"]):
        for j, other in enumerate(said["areas"][:i]):
            if delta_e(given[i], given[j]) >= 5:
                assert delta_e(one["new"]["lab"], other["new"]["lab"]) >= 5
    table = cli("rematch", *drawn, "--page", "7", "--palette", "screen-quarters")
    assert "5 areas, now on Screen, quarter tints" in table
    for area in said["areas"]:
        (line,) = (line for line in table.splitlines() if area["old"]["label"] in line)
        assert line.index(area["old"]["recipe"]) < line.rindex(area["new"]["recipe"])


def test_all_is_taken_in_one_step_and_undone_in_one(cli, drawn):
    with Log(cli.log) as log:
        before = log.choices()
        laid = next(c for c in before if c.label == "oranges")
        tick(log, [Tick(laid.id, "yellow", laid.tints["yellow"])])
    said = cli("rematch", *drawn, "--palette", "screen-quarters", "--take")
    assert "laid already, so kept: oranges" in said
    with Log(cli.log) as log:
        after = log.choices()
        assert [c.id for c in after] == [c.id for c in before]
        on_screen = [c for c in after if c.palette == "screen-quarters"]
        assert len(on_screen) == len(after) - 1
        assert {c.intent for c in on_screen} == {"absolute"}
        # One label and one colour keep one recipe, on whatever page.
        coats = {c.recipe for c in after if (c.label, c.target_text) == ("Oda's coat", "#9a4a45")}
        assert len(coats) == 1
        keep = [(c.label, c.page, c.note, c.target_text) for c in after]
        assert keep == [(c.label, c.page, c.note, c.target_text) for c in before]
    assert "undone: matched" in cli("log", "undo", *drawn)
    with Log(cli.log) as log:
        assert [c.recipe for c in log.choices()] == [c.recipe for c in before]


def test_rematch_refuses_what_is_not_there(cli, drawn):
    assert "no page '99'" in cli.refuses("rematch", *drawn, "--page", "99")
    assert "no project 'x'" in cli.refuses("rematch", "--project", "x")


# guide --page.


def test_the_guide_of_one_page(cli, drawn):
    assert "5 colours" in cli("guide", *drawn, "--page", "7", "--out", "seven.csv")
    text = (cli.folder / "seven.csv").read_text(encoding="utf-8")
    assert "mackerel" in text
    assert "rat" not in text.split()
    assert "no page '99'" in cli.refuses("guide", *drawn, "--page", "99", "--out", "a.csv")


def test_what_is_laid_stays_when_a_page_is_taken_again(cli):
    text = "#b9855f skin\n#c48f30 scarf\n"
    page = ("page", "-", *ON, "--page", "12", "--take", "--project", "ferrow")
    cli(*page, stdin=text)
    with Log(cli.log) as log:
        skin, scarf = log.choices("ferrow")
        tick(log, [Tick(skin.id, "yellow", skin.tints["yellow"])])
    locks = ("--lock", "skin=cyan 100", "--lock", "scarf=cyan 75")
    cli(*page, *locks, stdin=text)
    with Log(cli.log) as log:
        assert {c.label: c.recipe for c in log.choices("ferrow")} == {
            "skin": skin.recipe,
            "scarf": "cyan 75 %",
        }
        log.undo("ferrow")
    found = cli("page", "-", *ON, *locks, "--json", stdin=text)
    assert cli("take", "--page", "12", "--project", "ferrow", stdin=found).splitlines() == [
        "taken into project 'ferrow': 1 recipe, 1 earlier one replaced;"
        " `tuimatch log undo --project ferrow` undoes it",
        "laid already, so kept: skin",
    ]
    again = cli("take", "--page", "12", "--project", "ferrow", stdin=found)
    assert again.splitlines()[-1] == "laid already, so kept: skin"
    with Log(cli.log) as log:
        assert log.ticks.laid(log.choices("ferrow"))[skin.id] == ("yellow",)
        assert scarf.identity not in {c.identity for c in log.choices("ferrow")}
