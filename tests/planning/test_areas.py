"""Choices of a log as areas, and the page of the invented comic counted by hand."""

from contextlib import closing
from dataclasses import replace

import comic
import pytest
from kept import COAT, LAMP, NEWSPRINT, PALETTE, SEA, choice, keep, labels
from support import in_fresh_interpreter

from tuimatch.errors import LogError, UsageError
from tuimatch.log import Log
from tuimatch.log.area import pages_of
from tuimatch.palette.file import parse
from tuimatch.planning.areas import areas_of_log, chosen, left_out_in_words
from tuimatch.planning.passes import plan

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
    areas, _ = areas_of_log(ferrow, page)
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
        assert plan(areas_of_log(log, [kept])[0]).in_words() == "1 change area by area, 1 by passes"


def test_an_area_is_what_the_log_says_of_the_choice(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        kept = log.keep(PALETTE, choice("Oda's coat", COAT, page="2"))
        other = log.keep(PALETTE, choice("", SEA))
        (one, two), _ = areas_of_log(log, [kept, other])
    assert (one.key, one.label, one.page, one.tints) == (kept.id, "Oda's coat", "2", COAT)
    assert (one.target, one.palette.digest) == (kept.target_lab, PALETTE.digest)
    assert (two.name, two.tints) == ("#f3e3a1", SEA)
    assert one.name_with_page == "2: Oda's coat"
    assert two.name_with_page == "light yellow #f3e3a1"


def test_without_a_label_the_target_as_written_names_an_area_and_every_name_is_its_own(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        kept = [
            log.keep(PALETTE, choice("", LAMP, target=target))
            for target in ("tomato", "#d9803f", "#D9803F", "rgb(1 2 3)")
        ]
        kept.append(log.keep(PALETTE, choice("RGB(1 2 3)", LAMP)))
        names = [area.name for area in areas_of_log(log, kept)[0]]
        assert names == ["tomato", "#d9803f (2)", "#D9803F (3)", "rgb(1 2 3) (4)", "RGB(1 2 3)"]
        assert [area.name for area in areas_of_log(log, kept[:2])[0]] == ["tomato", "#d9803f"]


def test_choices_by_number_are_of_the_project_and_in_the_order_of_the_log(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        lamp, coat, sea = keep(log, "lamp", "coat", "sea")
        (hull,) = keep(log, "hull", project="second")
        assert chosen(log, "ferrow") == chosen(log, "ferrow", None, [3, 1, 2]) == [lamp, coat, sea]
        assert chosen(log, "ferrow", only=[sea.id, lamp.id, sea.id]) == [lamp, sea]
        assert chosen(log, "ferrow", only=[]) == []
        with pytest.raises(
            LogError, match=r"recipe 4 \(hull\) belongs to project 'second', not to 'fe"
        ):
            chosen(log, "ferrow", only=[lamp.id, hull.id])
        log.remove(coat.id)
        with pytest.raises(LogError, match="no recipe 2; `tuimatch log` lists them"):
            chosen(log, "ferrow", only=[lamp.id, coat.id])


@pytest.mark.parametrize(
    "text",
    [
        *("", "[broken", 'the palette of "another" comic'),
        PALETTE.text.replace('"yellow"', '"lemon"'),
        PALETTE.text.replace("25", "27"),
    ],
)
def test_choices_whose_palette_is_lost_or_is_another_are_left_out_and_named(tmp_path, text):
    with Log(tmp_path / "log.sqlite") as log:
        coat = log.keep(PALETTE, choice("coat", (25.0, 0.0, 0.0)))
        log.database.db.execute("UPDATE palette SET text = ?", (text,))
        of = {"palette": NEWSPRINT.stem, "palette_digest": NEWSPRINT.digest}
        hull = log.keep(NEWSPRINT, replace(choice("hull"), **of))
        areas, lost = areas_of_log(log, log.choices())
        assert ([area.key for area in areas], lost) == ([hull.id], (coat,))
        assert left_out_in_words(lost) == "left out because their palette is lost: coat"
    assert left_out_in_words(()) == ""


def test_an_edited_palette_file_makes_no_second_brush(tmp_path):
    """A remark added, or another ink measured anew: the yellow is the same brush as before."""
    with Log(tmp_path / "log.sqlite") as log:
        log.keep(PALETTE, choice("lamp", LAMP))
        for text in (f"# mine\n{PALETTE.text}", PALETTE.text.replace("#009ee0", "#00a8ec")):
            assert text != PALETTE.text
            edited = parse(text, file=PALETTE.stem, stem=PALETTE.stem)
            log.keep(edited, replace(choice("glass", LAMP), palette_digest=edited.digest))
        found = plan(areas_of_log(log, log.choices())[0])
    assert (found.area_by_area, found.by_passes) == (1, 1)
    assert found.as_json()["passes"][0]["areas"] == ["lamp", "glass", "glass"]


def test_a_page_of_two_numbers_is_on_both_and_pages_count_in_any_letter_case(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        for label, page in (("sky", "9, 10"), ("sea", " 9 "), ("title", "Cover"), ("hull", "")):
            log.keep(PALETTE, choice(label, page=page))

        def on(page):
            return labels(chosen(log, "ferrow", page))

        assert on("9") == on(" 9,") == ["sky", "sea"]
        assert on("10") == ["sky"]
        assert on("cover ,10") == ["sky", "title"]
        assert on("COVER") == ["title"]
        assert on("") == ["hull"]
        assert on(None) == ["sky", "sea", "title", "hull"]
        assert pages_of(log.choices()) == ["9", "10", "Cover", ""]
        for page in ("77", "9, 77"):
            with pytest.raises(
                UsageError, match="no page '77' in project 'ferrow'; its pages are "
            ):
                chosen(log, "ferrow", page)
        with pytest.raises(UsageError, match=r"; its pages are 9, 10, Cover$"):
            chosen(log, "ferrow", "77")
        with pytest.raises(UsageError, match=r"; its only page is Cover$"):
            chosen(log, "ferrow", "9", [3, 4])
        with pytest.raises(UsageError, match="none of its recipes has a page"):
            chosen(log, "ferrow", "9", [4])


def test_planning_loads_no_arrays(tmp_path):
    with closing(Log(tmp_path / "log.sqlite")) as log:
        log.keep(PALETTE, choice("coat", COAT))
    run = in_fresh_interpreter(
        "import sys\nfrom pathlib import Path\nfrom tuimatch.planning.areas import areas_of_log\n"
        "from tuimatch.log import Log\nfrom tuimatch.planning.passes import plan\n"
        f"log = Log(Path({str(tmp_path / 'log.sqlite')!r}))\n"
        "print(plan(areas_of_log(log, log.choices())[0]).by_passes, 'numpy' in sys.modules)\n"
    )
    assert run.stdout.split() == ["3", "False"], run.stderr
