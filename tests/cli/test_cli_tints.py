"""`tuimatch tints`: what it prints, and that it agrees with the core."""

from __future__ import annotations

import comic
import pytest

from tuimatch.log import Log
from tuimatch.planning.areas import areas_of_log, chosen
from tuimatch.planning.tints import tints


@pytest.fixture
def made(cli):
    with Log(cli.log) as log:
        comic.make(log)
    return cli


def test_json_is_what_the_core_says(made):
    (said,) = made.lines("tints", "--project", "ferrow", "--page", "9", "--json")
    with Log(made.log) as log:
        areas, _ = areas_of_log(log, chosen(log, "ferrow", "9"))
    expected = tints(areas).as_json()
    assert list(said) == ["areas", "total", "best", "in_use", "left_out"]
    assert list(said["best"][0]) == ["palette", "ink", "tint", "total", "gains"]
    assert list(said["in_use"][0]) == ["palette", "ink", "tint", "label", "uses", "cost", "losses"]
    assert list(said["best"][0]["gains"][0]) == ["id", "name", "page", "without", "with"]
    assert said["best"] == expected["best"]
    assert said["in_use"] == expected["in_use"]
    assert said["left_out"] == []


def test_the_table_names_the_tints_and_the_areas(made):
    said = made("tints", "--project", "ferrow", "--page", "9").splitlines()
    assert said[0].startswith("22 areas, total ΔE ")
    assert said[0].endswith("; with one more tint:")
    assert len(said[1:6]) == 5 and all(" → " in line and "total " in line for line in said[1:6])
    assert said[7] == "used least, and what giving it up would cost:"
    assert len(said) == 8 + 5


def test_a_page_that_is_not_there_is_refused(made):
    assert "no page '77'" in made.refuses("tints", "--project", "ferrow", "--page", "77")


def test_a_project_without_areas_says_what_to_do(cli):
    cli("projects", "create", "empty")
    assert cli("tints", "--project", "empty") == "no areas yet: take a recipe first\n"
