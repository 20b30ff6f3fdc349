"""`tuimatch economy`."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from comic_log import contents, lose_palette, put_comic, steps
from command import Cli, in_terminal, interrupted
from kept import tick

from tuimatch.log import Log, Tick
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix
from tuimatch.recipe.typed_recipe import read

KEYS = [
    *("project", "page", "passes_before", "passes_after", "total_before", "total_after"),
    *("optimal", "gap", "areas", "laid", "kept", "left_out", "taken"),
]


@pytest.fixture
def cli(tmp_path: Path) -> Cli:
    made = Cli(tmp_path)
    put_comic(made.log)
    return made


def plan(cli: Cli, *arguments: str) -> dict:
    (found,) = cli.lines("economy", "--project", "ferrow", "--json", *arguments)
    return found


def test_json(cli):
    before = contents(cli.log)
    found = plan(cli, "--extra", "3")
    assert list(found) == KEYS
    assert (found["project"], found["page"], found["taken"]) == ("ferrow", None, 0)
    assert [area["id"] for area in found["areas"]] == [choice.id for choice in before]
    assert found["passes_after"] < found["passes_before"]
    assert found["optimal"] is True
    assert found["gap"]["passes"] == 0
    for area, choice in zip(found["areas"], before, strict=True):
        assert list(area) == ["id", "label", "page", "tolerance", "changed", "before", "after"]
        assert (area["label"], area["page"], area["tolerance"]) == (choice.label, choice.page, 3)
        assert area["before"]["recipe"] == choice.recipe
        assert area["before"]["tints"] == choice.tints
        assert area["before"]["delta_e"] == pytest.approx(choice.delta_e)
        assert area["changed"] == (area["before"] != area["after"])
    for side in ("before", "after"):
        total = sum(area[side]["delta_e"] for area in found["areas"])
        assert total == pytest.approx(found[f"total_{side}"])
        used = {
            (choice.palette, ink, tint)
            for area, choice in zip(found["areas"], before, strict=True)
            for ink, tint in area[side]["tints"].items()
            if tint
        }
        assert len(used) == found[f"passes_{side}"]
    assert contents(cli.log) == before


def in_words(recipe: str) -> str:
    """A recipe of the plan as people read it, in the artist's words where its inks have any."""
    inks = palette_file.load("zine-two-inks")
    tints = read(inks, recipe)
    return recipe if tints is None else inks.recipe_words(tints)


def test_words_show_before_and_after_side_by_side(cli):
    said = cli("economy", "--project", "ferrow", "--page", "8", "--extra", "5").splitlines()
    found = plan(cli, "--page", "8", "--extra", "5")
    assert said[0] == "7 → 5 passes, on average ΔE 0.54 further; proved: no other choice saves more"
    assert len(said) == 2 + len(found["areas"])
    for line, area in zip(said[2:], found["areas"], strict=True):
        assert line.startswith("*") == area["changed"]
        assert f"8: {area['label'] or 'light orange #f2b8a0'}  " in line
        before, after = area["before"], area["after"]
        assert f"{before['delta_e']:.2f}  {in_words(before['recipe'])}  " in line
        assert f"{after['delta_e']:.2f}  " in line
        assert line.endswith(in_words(after["recipe"]) if area["changed"] else "the same")


def test_what_is_laid_already_is_kept_counted_and_named(cli):
    quay = next(choice for choice in contents(cli.log) if choice.label == "wet quay")
    with Log(cli.log) as log:
        tick(log, [Tick(quay.id, ink, t) for ink, t in quay.tints.items() if t])
    page = ("--page", "1", "--extra", "3")
    found = plan(cli, *page, "--take")
    assert found["laid"] == [quay.id]
    (area,) = [area for area in found["areas"] if area["label"] == "wet quay"]
    assert not area["changed"]
    assert found["taken"]
    assert quay in contents(cli.log)
    said = cli("economy", "--project", "ferrow", *page).splitlines()
    assert said[1] == "1 area is laid already and stays"
    assert [line for line in said if line.endswith("the same, laid already")] == [
        line for line in said if "wet quay" in line
    ]


def test_only_the_areas_of_some_numbers(cli):
    first, *_, last = [choice.id for choice in contents(cli.log) if choice.page == "1"]
    found = plan(cli, "--only", f"{last}, {first}", "--extra", "3")
    assert [area["id"] for area in found["areas"]] == [first, last]


def test_a_terminal_gets_the_seam_of_before_and_after(cli):
    page = ("economy", "--project", "ferrow", "--page", "8", "--extra", "5")
    said = in_terminal(cli, *page).splitlines()
    recipes = mix(palette_file.load("zine-two-inks"))
    for line, area in zip(said[2:], plan(cli, *page[3:])["areas"], strict=True):
        rows = [recipes.row_of(tuple(area[side]["tints"].values())) for side in ("before", "after")]
        seam = "".join("\x1b[48;2;{};{};{}m    ".format(*recipes.rgb_of(row)) for row in rows)
        assert line.startswith(f"{seam}\x1b[0m ")


def test_an_area_may_bear_more_or_less_than_the_others(cli):
    free = plan(cli, "--page", "1", "--extra", "3")
    (quay,) = [area for area in free["areas"] if area["label"] == "wet quay"]
    assert quay["changed"]
    bound = plan(cli, "--page", "1", "--extra", "3", "--area", "Wet QUAY=0")
    (quay,) = [area for area in bound["areas"] if area["label"] == "wet quay"]
    assert (quay["changed"], quay["tolerance"]) == (False, 0)
    worth = [(found["passes_after"], found["total_after"]) for found in (free, bound)]
    assert worth[0] < worth[1]
    several = plan(cli, "--area", "Oda's coat=2.5", "--area", "rope=0.5", "--extra", "0")
    tolerances = {area["label"]: area["tolerance"] for area in several["areas"]}
    assert (tolerances["Oda's coat"], tolerances["rope"], tolerances["gull"]) == (2.5, 0.5, 0)
    said = cli("economy", "--project", "ferrow", "--page", "1", "--area", "wet quay=0.5")
    assert "wet quay (+0.5)" in said


def test_an_area_can_be_told_to_keep_a_recipe_that_is_not_the_nearest(cli):
    quay = next(choice for choice in contents(cli.log) if choice.label == "wet quay")
    deliberate = dict.fromkeys(quay.tints, 100.0)  # nobody's nearest, but chosen
    with Log(cli.log) as log:
        palette = log.palette(quay)
        log.replace(palette, replace(quay, tints=deliberate))
    page = ("--page", "1", "--extra", "3")

    def changed(*areas):
        found = plan(cli, *page, *areas)
        (quay,) = [area for area in found["areas"] if area["label"] == "wet quay"]
        return quay["changed"], found["kept"]

    assert changed("--area", "wet quay=0") == (True, [])
    assert changed("--area", "wet quay=Keep") == (False, [quay.id])
    assert changed("--area", "wet quay=keep", "--area", "wet quay=0") == (True, [])
    said = cli("economy", "--project", "ferrow", *page, "--area", "wet quay=keep", "--take")
    (line,) = [line for line in said.splitlines() if "wet quay" in line]
    assert line.endswith("the same, kept")
    assert "taken: " in said
    (kept,) = [choice for choice in contents(cli.log) if choice.label == "wet quay"]
    assert kept.tints == deliberate
    assert "LABEL=keep" in cli("economy", "--help")


def test_taking_is_one_step_and_one_undo_brings_all_back(cli):
    before, count = contents(cli.log), steps(cli.log)
    wanted = ("economy", "--project", "Ferrow", "--page", "1", "--extra", "3", "--take")
    said = cli(*wanted).splitlines()
    assert said[-1] == "taken: 4 recipes replaced; `tuimatch log undo --project ferrow` undoes it"
    assert steps(cli.log) == count + 1
    after = contents(cli.log)
    assert sum(old != new for old, new in zip(before, after, strict=True)) == 4
    assert cli(*wanted).splitlines()[-1] == "nothing to take: every area keeps its recipe"
    assert steps(cli.log) == count + 1
    assert cli("log", "undo", "--project", "ferrow") == (
        "undone: fewer passes for page 1: 11 to 8\n"
    )
    assert contents(cli.log) == before


def test_an_interrupt_takes_the_best_found_so_far(tmp_path):
    """Of more than can be searched to the end: 60 areas that take what is up to 5 ΔE further."""
    cli = Cli(tmp_path)
    random = np.random.default_rng(1)
    colours = ["#{:02x}{:02x}{:02x}".format(*rgb) for rgb in random.integers(0, 256, (60, 3))]
    found = cli.lines("match", *colours, "--palette", "coated-tenths", "--top", "1", "--json")
    named = [one | {"label": f"area {place}"} for place, one in enumerate(found)]
    cli("take", "--project", "large", stdin="".join(json.dumps(one) + "\n" for one in named))
    search = ("economy", "--project", "large", "--extra", "5", "--json")
    code, out, shown = interrupted(cli, *search)
    assert code == 0
    said = json.loads(out)
    assert not said["optimal"]
    assert said["passes_after"] <= said["passes_before"]
    assert "planning 60 areas, 1 s" in shown


def test_taking_as_json_says_how_many(cli):
    assert plan(cli, "--page", "1", "--extra", "3", "--take")["taken"] == 4


def test_areas_whose_palette_is_lost_are_named_in_one_line_and_left(cli):
    lose_palette(cli.log, "zine-two-inks")
    before = contents(cli.log)
    said = cli("economy", "--project", "ferrow", "--extra", "3", "--take").splitlines()
    assert said[1].startswith("left out because their palette is lost: ledger, ruled lines, ")
    after = contents(cli.log)
    assert before != after
    assert [c for c in before if c.page == "8"] == [c for c in after if c.page == "8"]
    assert plan(cli)["left_out"] == [c.id for c in before if c.page == "8"]


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (("--project", "nobody"), "nobody"),
        (
            ("--project", "ferrow", "--page", "77"),
            "no page '77' in project 'ferrow'; its pages are cover, 1, 2,",
        ),
        (("--project", "ferrow", "--extra", "much"), "'much' is not a ΔE"),
        (("--project", "ferrow", "--extra", "nan"), "'nan' is not a ΔE"),
        (("--project", "ferrow", "--extra=-1"), "'-1' is not a ΔE"),
        (("--project", "ferrow", "--area", "rope"), "'rope': give LABEL=EXTRA"),
        (("--project", "ferrow", "--area", "rope=inf"), "'inf' is not a ΔE"),
        (("--project", "ferrow", "--area", "nowhere=1"), "no area 'nowhere'; there are title"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_line(cli, arguments, problem):
    before = contents(cli.log)
    assert problem in cli.refuses("economy", *arguments, "--take")
    assert contents(cli.log) == before


def test_without_a_log_there_is_nothing_to_plan(cli):
    cli.log.unlink()
    assert "there is no log yet" in cli.refuses("economy", "--project", "ferrow")
    assert not cli.log.exists()


def test_a_label_with_an_equals_sign_is_found_by_its_last(cli):
    with Log(cli.log) as log:
        log.edit(log.choices("ferrow")[0].id, label="a=b")
    found = plan(cli, "--area", "a=b=4")
    assert [a["tolerance"] for a in found["areas"] if a["label"] == "a=b"] == [4]
