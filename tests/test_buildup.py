from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch import palette_file
from tuimatch.buildup import build_up
from tuimatch.recipes import mix


@cache
def mixed(name):
    return mix(palette_file.load(name))


def test_from_bare_paper_to_done_in_laying_order():
    recipes = mixed("screen-quarters")
    passes = build_up(recipes, recipes.row_of((50, 100, 25)))
    assert [(p.ink, p.tint) for p in passes] == [(None, 0), (0, 50), (1, 100), (2, 25)]
    assert passes[0].srgb == (255, 253, 245)  # the paper of the file
    # Magenta #e4007c times the paper #fffdf5: 228, 0, 124 x 245 / 255.
    assert build_up(recipes, recipes.row_of((0, 100, 0)))[-1].srgb == (228, 0, 119)


def test_inks_left_out_make_no_pass():
    recipes = mixed("screen-quarters")
    assert [p.ink for p in build_up(recipes, recipes.row_of((0, 0, 75)))] == [None, 2]
    (paper,) = build_up(recipes, 0)
    assert paper.ink is None


@given(name=st.sampled_from(["newsprint-quarters", "coated-tenths"]), data=st.data())
def test_each_pass_is_the_recipe_so_far_and_the_last_is_done(name, data):
    recipes = mixed(name)
    row = data.draw(st.integers(0, len(recipes) - 1))
    passes = build_up(recipes, row)
    assert passes[0].row == 0
    assert passes[-1].row == row
    assert len(passes) == recipes.inks[row] + 1
    for before, after in pairwise(passes):
        added = np.flatnonzero(recipes.tints[after.row] != recipes.tints[before.row])
        assert added.tolist() == [after.ink]
        assert recipes.tints[after.row][after.ink] == after.tint
    for each in passes:
        assert each.lab == pytest.approx(recipes.lab[each.row])
        assert each.srgb == recipes.rgb_of(each.row)
        assert each.clipped == recipes.clipped[each.row]
