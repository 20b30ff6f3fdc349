"""What stands where on a chart: every recipe once in each order, apart, and within the paper."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import costly, screen_palettes

from tuimatch.chart.layout import PAPERS, Order, Sheet, sheets, width_of
from tuimatch.palette import file as palette_file
from tuimatch.recipe import recipes

NEWSPRINT = recipes.mix(palette_file.load("newsprint-quarters"))
ZINE = recipes.mix(palette_file.load("zine-two-inks"))
COVER = recipes.mix(palette_file.load("coated-tenths"))


def rows(found: list[Sheet]) -> list[int]:
    return [field.row for sheet in found for field in sheet.fields]


def within(sheet: Sheet) -> bool:
    """Whether nothing is printed where a desktop printer cannot: 5 mm from the edge."""
    boxes = [(f.x, f.y, f.x + f.width, f.y + f.height) for f in sheet.fields]
    for words in sheet.words:
        long = width_of(words.text, words.size)
        if words.turned:
            boxes.append((words.x - 2, words.y - long, words.x, words.y))
        else:
            x = words.x - long if words.ends else words.x
            boxes.append((x, words.y - 2, x + long, words.y))
    return all(
        min(x, y) >= 5 and right <= sheet.width - 5 and foot <= sheet.height - 5
        for x, y, right, foot in boxes
    )


@costly
@given(palette=screen_palettes(4), paper=st.sampled_from(sorted(PAPERS)))
def test_each_order_shows_every_recipe_once_and_keeps_them_apart(palette, paper):
    mixed = recipes.mix(palette)
    for order in Order:
        found = sheets(mixed, orders=[order], paper=paper)
        assert sorted(rows(found)) == list(range(len(mixed)))
        for sheet in found:
            assert within(sheet)
            taken = sorted((f.y, f.x, n, f) for n, f in enumerate(sheet.fields))
            for (*_, one), (*_, other) in pairwise(taken):
                assert one.x + one.width < other.x or one.y + one.height < other.y


def test_the_matrix_turns_one_ink_a_way() -> None:
    (sheet,) = sheets(ZINE, orders=[Order.INK])
    steps = {(f.x, f.y): ZINE.steps[f.row] for f in sheet.fields}
    for (one, first), (other, second) in combinations(steps.items(), 2):
        if one[0] == other[0]:
            assert first[1] == second[1]
            assert (one[1] < other[1]) == (first[0] < second[0])
        if one[1] == other[1]:
            assert first[0] == second[0]
            assert (one[0] < other[0]) == (first[1] < second[1])


def test_every_tint_is_named_as_the_artist_calls_it() -> None:
    for order in Order:
        said = {words.text for sheet in sheets(ZINE, orders=[order]) for words in sheet.words}
        for ink in ZINE.palette.inks:
            for label in ink.labels:
                assert any(label in text for text in said), label


def test_greys_come_first_and_each_band_goes_from_light_to_dark() -> None:
    found = sheets(NEWSPRINT, orders=[Order.HUE])
    assert rows(found)[0] == 0  # bare paper, the lightest grey
    lightness = NEWSPRINT.lab[rows(found), 0]
    turns = int(np.count_nonzero(np.diff(lightness) > 0))
    bands = sum(words.bold and words.size == 7 for sheet in found for words in sheet.words)
    assert turns <= bands - 1


def test_a_large_palette_is_cut_into_sheets_by_its_last_ink() -> None:
    found = sheets(COVER, orders=[Order.INK])
    blacks = [{float(COVER.tints[f.row, 3]) for f in sheet.fields} for sheet in found]
    assert all(len(tints) == 1 for tints in blacks)
    assert set.union(*blacks) == set(COVER.palette.inks[3].steps)


@pytest.mark.parametrize("order", list(Order))
def test_at_most_so_many_inks(order: Order) -> None:
    shown = rows(sheets(COVER, orders=[order], max_inks=2))
    assert sorted(shown) == np.flatnonzero(COVER.inks <= 2).tolist()


def test_the_figures_below_very_many_colours_are_never_cut() -> None:
    found = sheets(COVER, orders=[Order.HUE])
    said = [words.text for sheet in found for words in sheet.words if words.size < 6]
    assert "100 100 100 100" in said
    assert not any("…" in text for text in said)
