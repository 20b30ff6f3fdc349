from functools import cache
from math import atan2, degrees, hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import costly

from tuimatch.colour.colorimetry import delta_e
from tuimatch.colour.difference_words import NEUTRAL_CHROMA
from tuimatch.colour.target import from_lab
from tuimatch.match.limits import allowed as obeying
from tuimatch.match.limits import start
from tuimatch.match.ranking import rank
from tuimatch.match.reach import HOLE, HUE_STEP, most_vivid, reach
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

sizes = st.tuples(st.integers(1, 40), st.integers(1, 80))
targets = st.tuples(st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80))


@cache
def mixed(name="screen-quarters"):
    return mix(palette_file.load(name))


@st.composite
def masks(draw):
    return np.array(draw(st.lists(st.booleans(), min_size=125, max_size=125)))


def cell(lab, size, lightest, darkest):
    """Where a colour belongs, in plain arithmetic."""
    rows, columns = size
    row = min(max(int((lightest - lab[0]) / (lightest - darkest) * rows), 0), rows - 1)
    if hypot(lab[1], lab[2]) < NEUTRAL_CHROMA:
        return row, columns
    return row, int(degrees(atan2(lab[2], lab[1])) % 360 / 360 * columns) % columns


@given(sizes, st.none() | targets, st.none() | masks())
def test_the_best_recipe_of_each_cell_stands_in_it(size, target, allowed):
    recipes = mixed()
    found = reach(recipes, *size, target=target, allowed=allowed)
    assert found.cells.shape == (size[0], size[1] + 1)
    expected = {}
    for row in range(len(recipes)):
        if allowed is None or allowed[row]:
            place = cell(recipes.lab[row], size, found.lightest, found.darkest)
            expected.setdefault(place, []).append(row)
    filled = {(int(r), int(c)) for r, c in np.argwhere(found.cells != HOLE)}
    assert filled == set(expected)
    for place, there in expected.items():
        best = found.cells[place]
        assert best in there
        chroma = np.hypot(recipes.lab[there, 1], recipes.lab[there, 2])
        here = hypot(*recipes.lab[best, 1:])
        if target is not None:
            off = delta_e(target, recipes.lab[there])
            steps = np.floor(np.round(off * 5, 9)).tolist()
            coverage = recipes.coverage[there].tolist()
            decisive = list(zip(steps, recipes.inks[there].tolist(), coverage, strict=True))
            assert decisive[there.index(int(best))] == min(decisive)
        elif place[1] == size[1]:
            assert here == pytest.approx(chroma.min(), abs=1e-6)
        else:
            assert here == pytest.approx(chroma.max(), abs=1e-6)


@given(sizes, targets)
def test_the_target_falls_on_the_map(size, target):
    found = reach(mixed(), *size, target=target)
    assert found.darkest <= target[0] <= found.lightest
    assert found.cell_of(target) == cell(target, size, found.lightest, found.darkest)


@given(targets)
def test_the_nearest_recipe_of_all_stands_in_its_cell(target):
    """Taking from the map cannot miss what the ranking puts first."""
    recipes = mixed()
    first = rank(from_lab(target, "target"), recipes, top=1).candidates[0].row
    found = reach(recipes, 12, 30, target=target)
    assert found.cells[found.cell_of(tuple(recipes.lab[first]))] == first


def test_limits_make_holes_and_do_not_move_the_map():
    recipes = mixed()
    free = reach(recipes, 12, 30)
    bare = reach(recipes, 12, 30, allowed=recipes.inks == 0)
    assert (bare.lightest, bare.darkest) == (free.lightest, free.darkest)
    assert (bare.cells != HOLE).sum() == 1
    assert (reach(recipes, 12, 30, allowed=recipes.inks > 3).cells == HOLE).all()


def test_pure_inks_stand_where_their_hue_is():
    recipes = mixed()
    found = reach(recipes, 10, 36)
    for tints in [(100, 0, 0), (0, 100, 0), (0, 0, 100)]:
        lab = recipes.lab[recipes.row_of(tints)]
        _, column = found.cell_of(tuple(lab))
        assert column == int(degrees(atan2(lab[2], lab[1])) % 360 // 10)


def test_a_lightness_beyond_the_map_falls_on_its_edge():
    found = reach(mixed("newsprint-quarters"), 10, 36)
    assert (found.lightest, found.darkest) == (90, 30)
    assert found.cell_of((100, 0, 0)) == (0, 36)
    assert found.cell_of((0, 50, 0)) == (9, 0)
    assert found.cell_of((50, 50, -1e-18)) == (6, 0)  # a hair below 360° is 0°, not a column more


@costly
@given(sizes, st.none() | masks(), st.floats(1, 80))
def test_a_colour_spreads_from_the_recipe_nearest_to_a_cell_and_no_further(size, allowed, within):
    rows, columns = size
    found = reach(mixed(), *size, allowed=allowed)
    spread = found.nearest(within)
    high, wide = (found.lightest - found.darkest) / rows, 360 / columns * HUE_STEP
    standing = [tuple(place) for place in np.argwhere(found.cells != HOLE).tolist()]
    for r, c in np.ndindex(spread.shape):
        far = {}
        for at, across in standing:
            if (c == columns) != (across == columns):
                continue  # a neutral stands beside no hue
            turn = abs(c - across)
            steps = hypot((r - at) * high, min(turn, columns - turn) * wide)
            far.setdefault(round(steps, 9), []).append(found.cells[at, across])
        if far and min(far) <= within - 1e-9:
            assert spread[r, c] in far[min(far)]
        elif not far or min(far) > within + 1e-9:
            assert spread[r, c] == HOLE


def test_the_most_vivid_recipe_keeps_to_the_coverage_limit():
    recipes = mixed("coated-tenths")
    for mask in (obeying(recipes, start(recipes.palette)), recipes.coverage <= 30):
        chroma = np.hypot(recipes.lab[:, 1], recipes.lab[:, 2])
        assert chroma[most_vivid(recipes, mask)] == pytest.approx(chroma[mask].max(), abs=1e-6)
        assert mask[most_vivid(recipes, mask)]
