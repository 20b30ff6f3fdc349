from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.errors import UsageError
from tuimatch.palette import file as palette_file
from tuimatch.planning.areas import Area
from tuimatch.planning.passes import plan

NEWSPRINT = palette_file.load("newsprint-quarters")
ZINE = palette_file.load("zine-two-inks")
PALETTES = {palette.stem: palette for palette in (NEWSPRINT, ZINE)}
GREY = (50.0, 0.0, 0.0)


def area(key, tints, palette=NEWSPRINT, label=None):
    return Area(key, f"area {key}" if label is None else label, GREY, palette, tints)


def recipes_of(palette):
    return st.tuples(*(st.sampled_from(ink.steps) for ink in palette.inks))


@st.composite
def projects(draw, most=6):
    found = []
    for key in range(draw(st.integers(0, most))):
        stem = draw(st.sampled_from(list(PALETTES)))
        found.append((key, draw(recipes_of(PALETTES[stem])), stem))
    return found


def made(project):
    """The areas of a drawn project; what is drawn stays plain, so that a failure can be read."""
    return [area(key, tints, PALETTES[stem]) for key, tints, stem in project]


def test_a_page_counted_by_hand():
    # One by one: Y100 M50 | M50 C25 | Y100 C25. The magenta is still on the brush at the second
    # area, so that is 2 + 1 + 2 changes; by passes Y100, M50, C25.
    cape, dusk, grass = (
        area(1, (100.0, 50.0, 0.0), label="cape"),
        area(2, (0.0, 50.0, 25.0), label="dusk"),
        area(3, (100.0, 0.0, 25.0), label="grass"),
    )
    assert plan([cape, dusk, grass]).as_json() == {
        "area_by_area": 5,
        "by_passes": 3,
        "passes": [
            {"ink": "yellow", "tint": 100.0, "label": None, "areas": ["cape", "grass"]},
            {"ink": "magenta", "tint": 50.0, "label": None, "areas": ["cape", "dusk"]},
            {"ink": "cyan", "tint": 25.0, "label": None, "areas": ["dusk", "grass"]},
        ],
    }


def test_the_order_of_the_areas_matters_to_one_by_one_only():
    one, two, three = (
        area(1, (100.0, 0.0, 0.0)),
        area(2, (50.0, 0.0, 0.0)),
        area(3, (100.0, 0.0, 0.0)),
    )
    assert plan([one, two, three]).area_by_area == 3
    assert plan([one, three, two]).area_by_area == 2
    assert plan([one, two, three]).by_passes == plan([one, three, two]).by_passes == 2


def test_tints_of_one_ink_come_lightest_first_whatever_the_areas_say():
    passes = plan([area(1, (100.0, 0.0, 0.0)), area(2, (25.0, 75.0, 0.0))]).passes
    assert [(p.ink, p.brush.tint) for p in passes] == [
        ("yellow", 25.0),
        ("yellow", 100.0),
        ("magenta", 75.0),
    ]


def test_the_artists_label_of_a_tint_is_given():
    (only,) = plan([area(1, (20.0, 0.0), ZINE)]).passes
    assert (only.ink, only.label) == ("coral", "blush")


def test_bare_paper_needs_no_brush():
    assert plan([area(1, (0.0, 0.0, 0.0))]).as_json() == {
        "area_by_area": 0,
        "by_passes": 0,
        "passes": [],
    }


def test_no_areas_no_passes():
    assert (plan([]).area_by_area, plan([]).passes) == (0, ())


def test_an_ink_of_the_same_name_in_another_palette_is_another_brush():
    other = palette_file.load("newsprint-sixty-four")
    found = plan([area(1, (100.0, 0.0, 0.0)), area(2, (100.0, 0.0, 0.0), other)])
    assert (found.area_by_area, found.by_passes) == (2, 2)
    assert [p.palette.stem for p in found.passes] == ["newsprint-quarters", "newsprint-sixty-four"]


def edited(old, new, palette=ZINE):
    text = palette.text.replace(old, new)
    assert text != palette.text
    return palette_file.parse(text, file=palette.stem, stem=palette.stem)


def test_of_two_versions_of_a_palette_the_newest_says_what_a_tint_is_called():
    newer = edited('"blush"', '"rouge"')
    old = area(1, (20.0, 0.0), ZINE)
    new = area(2, (0.0, 100.0), newer)
    for areas in ([old, new], [old, area(3, (20.0, 0.0), newer)]):
        assert plan(areas).passes[0].label == "rouge"
    # It is the order of the areas that says which is the newest.
    assert plan([new, old]).passes[0].label == "blush"


def test_a_tint_that_the_newest_version_dropped_keeps_its_label():
    newer = replace(ZINE, inks=(replace(ZINE.inks[0], tints=(100.0,), labels=()), ZINE.inks[1]))
    newer = replace(newer, text="newer")
    (first, *_) = plan([area(1, (20.0, 0.0), ZINE), area(2, (0.0, 100.0), newer)]).passes
    assert (first.ink, first.label) == ("coral", "blush")


def test_inks_are_laid_in_the_order_of_the_newest_version():
    """One it lacks comes after what it came after in the older one."""
    yellow, _, cyan = NEWSPRINT.inks
    older = replace(NEWSPRINT, text="older")
    newer = replace(NEWSPRINT, text="newer", inks=(cyan, yellow))
    areas = [area(1, (25.0, 50.0, 75.0), older), area(2, (75.0, 25.0), newer)]
    found = plan(areas)
    assert [p.ink for p in found.passes] == ["cyan", "yellow", "magenta"]
    assert (found.area_by_area, found.by_passes) == (4, 3)  # the cyan stays on


def test_one_palette_is_finished_before_the_next():
    other = palette_file.load("newsprint-sixty-four")
    found = plan([area(1, (0.0, 100.0, 0.0)), area(2, (100.0, 0.0, 0.0), other)])
    assert [p.ink for p in found.passes] == ["magenta", "yellow"]


def test_an_area_without_a_label_is_called_by_its_key():
    assert plan([area(7, (100.0, 0.0, 0.0), label="")]).as_json()["passes"][0]["areas"] == ["7"]


def test_an_area_given_twice_is_refused():
    with pytest.raises(UsageError, match="area 1 is given twice"):
        plan([area(1, (100.0, 0.0, 0.0)), area(1, (50.0, 0.0, 0.0))])


@pytest.mark.parametrize("tints", [(100.0, 0.0), (33.0, 0.0, 0.0)])
def test_a_recipe_that_the_palette_lacks_is_refused(tints):
    with pytest.raises(UsageError, match="is not a recipe of palette 'newsprint-quarters'"):
        plan([area(1, tints)])


@given(projects())
def test_each_brush_of_each_area_is_in_exactly_one_pass(project):
    areas = made(project)
    laid = sorted((one.brush, a.key) for one in plan(areas).passes for a in one.areas)
    assert laid == sorted((brush, a.key) for a in areas for brush in a.brushes)


@given(projects())
def test_following_the_passes_lays_each_area_in_laying_order(project):
    areas = made(project)
    passes = plan(areas).passes
    for one in areas:
        assert [p.brush for p in passes if one in p.areas] == list(one.brushes)


@given(projects())
def test_passes_never_need_more_changes_than_area_by_area(project):
    areas = made(project)
    found = plan(areas)
    assert found.by_passes <= found.area_by_area


@given(projects(most=3))
def test_no_order_of_work_at_all_does_with_fewer(project):
    """Every order in which all single layers could be laid, area by laying order, is tried."""
    areas = made(project)
    work = [(a.key, place, brush) for a in areas for place, brush in enumerate(a.brushes)]
    # 7 layers have 5040 orders.
    work = work[:7]
    least = min(
        sum(i == 0 or order[i][2] != order[i - 1][2] for i in range(len(order)))
        for order in permutations(work)
        if all(
            one[0] != two[0] or one[1] < two[1]
            for i, one in enumerate(order)
            for two in order[i + 1 :]
        )
    )
    assert least == len({brush for _, _, brush in work})
    if sum(len(a.brushes) for a in areas) == len(work):
        assert least == plan(areas).by_passes
