"""Choices of a log as areas, and the page of the invented comic counted by hand."""

from contextlib import closing

import comic
import pytest
from kept import COAT, LAMP, PALETTE, SEA, choice, keep
from support import in_fresh_interpreter

from tuimatch.areas import areas_of_log, chosen
from tuimatch.errors import LogError
from tuimatch.log import Log
from tuimatch.passes import plan

# The last page as `tuimatch log` prints it: the percent of yellow, magenta and cyan.
LAST_PAGE = {
    "sky, high": (0, 0, 25),
    "sky, low": (50, 25, 0),
    "cloud, lit": (25, 0, 0),
    "sun": (50, 0, 0),
    "sea, evening": (25, 25, 50),
    "sea, near": (25, 50, 100),
    "sun on water": (75, 0, 0),
    "quay": (25, 25, 25),
    "quay, shadow": (50, 75, 75),
    "roof tiles": (100, 75, 0),
    "house, lit": (50, 25, 0),
    "house, shadow": (75, 50, 25),
    "window, lit": (100, 0, 0),
    "fishing boat": (100, 75, 0),
    "rope": (75, 25, 0),
    "lamp post": (100, 75, 100),
    "lamp glass": (50, 0, 0),
    "Oda's coat": (100, 100, 25),
    "Oda's skin": (50, 25, 0),
    "Oda's hair": (100, 100, 50),
    "Oda's scarf": (100, 25, 0),
    "gull": (0, 0, 0),
}


@pytest.fixture(scope="module")
def ferrow(tmp_path_factory):
    with Log(tmp_path_factory.mktemp("comic") / "log.sqlite") as log:
        comic.make(log)
        yield log


def test_the_last_page_of_the_comic_counted_by_hand(ferrow):
    page = [c for c in ferrow.choices(comic.PROJECT) if c.page == "9"]
    areas = areas_of_log(ferrow, page)
    assert {area.label: area.tints for area in areas} == LAST_PAGE
    found = plan(areas)
    # One by one, in the order of the table: its layers number 20 of yellow, 15 of magenta and 9 of
    # cyan. Once the brush stays as it is from one area to the next, with the yellow 100 of the
    # window and the boat. So 44 - 1.
    assert found.area_by_area == 43
    # By passes: each ink has all four of its tints somewhere on the page.
    assert found.by_passes == 12
    assert [(p.ink, p.brush.tint, len(p.areas)) for p in found.passes] == [
        *(("yellow", 25, 4), ("yellow", 50, 6), ("yellow", 75, 3), ("yellow", 100, 7)),
        *(("magenta", 25, 7), ("magenta", 50, 2), ("magenta", 75, 4), ("magenta", 100, 2)),
        *(("cyan", 25, 4), ("cyan", 50, 2), ("cyan", 75, 1), ("cyan", 100, 2)),
    ]
    assert found.in_words() == "43 changes area by area, 12 by passes"


def test_a_single_change_is_said_so(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        kept = log.keep(PALETTE, choice(tints=LAMP))
        assert plan(areas_of_log(log, [kept])).in_words() == "1 change area by area, 1 by passes"


def test_an_area_is_what_the_log_says_of_the_choice(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        kept = log.keep(PALETTE, choice("Oda's coat", COAT, page="2"))
        other = log.keep(PALETTE, choice("", SEA))
        one, two = areas_of_log(log, [kept, other])
    assert (one.key, one.label, one.page, one.tints) == (kept.id, "Oda's coat", "2", COAT)
    assert (one.target, one.palette.digest) == (kept.target_lab, PALETTE.digest)
    assert (two.name, two.tints) == ("#f3e3a1", SEA)
    assert (one.name_with_page, two.name_with_page) == ("2: Oda's coat", "#f3e3a1")


def test_without_a_label_the_target_as_written_names_an_area_and_every_name_is_its_own(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        kept = [
            log.keep(PALETTE, choice("", LAMP, target=target))
            for target in ("tomato", "#d9803f", "#D9803F", "rgb(1 2 3)")
        ]
        kept.append(log.keep(PALETTE, choice("RGB(1 2 3)", LAMP)))
        names = [area.name for area in areas_of_log(log, kept)]
        assert names == ["tomato", "#d9803f (2)", "#D9803F (3)", "rgb(1 2 3) (4)", "RGB(1 2 3)"]
        assert [area.name for area in areas_of_log(log, kept[:2])] == ["tomato", "#d9803f"]


def test_choices_by_number_are_of_the_project_and_in_the_order_of_the_log(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        lamp, coat, sea = keep(log, "lamp", "coat", "sea")
        (hull,) = keep(log, "hull", project="second")
        assert chosen(log, "ferrow") == chosen(log, "ferrow", None, [3, 1, 2]) == [lamp, coat, sea]
        assert chosen(log, "ferrow", only=[sea.id, lamp.id, sea.id]) == [lamp, sea]
        assert chosen(log, "ferrow", only=[]) == []
        with pytest.raises(LogError, match=r"choice 4 \(hull\) is of project 'second', not of 'fe"):
            chosen(log, "ferrow", only=[lamp.id, hull.id])
        log.remove(coat.id)
        with pytest.raises(LogError, match="no choice 2; `tuimatch log` lists them"):
            chosen(log, "ferrow", only=[lamp.id, coat.id])


@pytest.mark.parametrize("text", ["", "[broken", 'the palette of "another" comic'])
def test_a_lost_palette_is_named_with_the_way_out(tmp_path, text):
    with Log(tmp_path / "log.sqlite") as log:
        kept = log.keep(PALETTE, choice("coat", COAT))
        log.database.db.execute("UPDATE palette SET text = ?", (text,))
        with pytest.raises(LogError, match=r"'screen-quarters' of choice 1 \(coat\) is lost; take"):
            areas_of_log(log, [kept])


def test_a_palette_of_other_inks_is_refused(tmp_path):
    other = PALETTE.text.replace('"yellow"', '"lemon"')
    with Log(tmp_path / "log.sqlite") as log:
        kept = log.keep(PALETTE, choice("coat", COAT))
        log.database.db.execute("UPDATE palette SET text = ?", (other,))
        with pytest.raises(LogError, match="is lost"):
            areas_of_log(log, [kept])


def test_planning_loads_no_arrays(tmp_path):
    with closing(Log(tmp_path / "log.sqlite")) as log:
        log.keep(PALETTE, choice("coat", COAT))
    run = in_fresh_interpreter(
        "import sys\nfrom pathlib import Path\nfrom tuimatch.areas import areas_of_log\n"
        "from tuimatch.log import Log\nfrom tuimatch.passes import plan\n"
        f"log = Log(Path({str(tmp_path / 'log.sqlite')!r}))\n"
        "print(plan(areas_of_log(log, log.choices())).by_passes, 'numpy' in sys.modules)\n"
    )
    assert run.stdout.split() == ["3", "False"], run.stderr
