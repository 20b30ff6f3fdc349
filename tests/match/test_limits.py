from functools import cache
from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.colorimetry import delta_e
from tuimatch.match.limits import Narrowing, allowed, in_words, limit_to_remove, limits
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

GREEN = (50.0, -50.0, 30.0)


@cache
def mixed(name="newsprint-quarters"):
    return mix(palette_file.load(name))


@st.composite
def narrowings(draw):
    recipes = mixed()
    tints = st.sampled_from([recipes.tints_of(row) for row in range(len(recipes))])
    fixed = draw(st.dictionaries(st.integers(0, 2), st.sampled_from([0.0, 25.0, 50.0, 100.0])))
    return Narrowing(
        max_inks=draw(st.none() | st.integers(0, 3)),
        without=draw(st.frozensets(st.integers(0, 2), max_size=2)),
        fixed=frozenset(fixed.items()),
        max_coverage=draw(st.none() | st.sampled_from([0.0, 50.0, 125.0, 240.0])),
        only=draw(st.none() | st.frozensets(tints, max_size=40)),
    )


def obeys(tints, narrowing):
    """The limits as an artist would read them, one recipe at a time."""
    return (
        (narrowing.max_inks is None or sum(t > 0 for t in tints) <= narrowing.max_inks)
        and not any(tints[ink] for ink in narrowing.without)
        and all(tints[ink] == tint for ink, tint in narrowing.fixed)
        and (narrowing.max_coverage is None or sum(tints) <= narrowing.max_coverage)
        and (narrowing.only is None or tints in narrowing.only)
    )


@given(narrowings())
def test_exactly_the_recipes_that_obey_are_allowed(narrowing):
    recipes = mixed()
    expected = [obeys(recipes.tints_of(row), narrowing) for row in range(len(recipes))]
    assert allowed(recipes, narrowing).tolist() == expected


@given(narrowings())
def test_lifting_a_limit_never_takes_recipes_away(narrowing):
    recipes = mixed()
    mask = allowed(recipes, narrowing)
    for _, rest in limits(recipes.palette, narrowing):
        assert (allowed(recipes, rest) >= mask).all()
        assert len(limits(recipes.palette, rest)) == len(limits(recipes.palette, narrowing)) - 1


@given(narrowings())
def test_the_limit_to_lift_is_the_one_that_comes_nearest(narrowing):
    recipes = mixed()
    best = {
        limit: delta_e(GREEN, recipes.lab[allowed(recipes, rest)]).min()
        for limit, rest in limits(recipes.palette, narrowing)
        if allowed(recipes, rest).any()
    }
    removal = limit_to_remove(recipes, narrowing, GREEN)
    if removal is None:
        assert not best
    else:
        assert removal.delta_e == pytest.approx(min(best.values()))
        assert removal.delta_e == pytest.approx(best[removal.limit])
        assert allowed(recipes, removal.rest)[removal.row]


def test_recipes_of_another_palette_are_not_found():
    recipes = mixed()
    only = frozenset({(33.0, 0.0, 0.0), (25.0, 0.0, 0.0)})
    mask = allowed(recipes, Narrowing(only=only))
    assert np.flatnonzero(mask).tolist() == [recipes.row_of((25, 0, 0))]


def test_what_is_on_is_said_in_one_line():
    palette = palette_file.load("newsprint-quarters")
    assert in_words(palette, Narrowing()) == ""
    assert in_words(palette, Narrowing(max_inks=1)) == "at most 1 ink"
    everything = Narrowing(
        max_inks=2,
        without=frozenset({2}),
        fixed=frozenset({(1, 50.0), (0, 12.5)}),
        max_coverage=240,
        only=frozenset(),
    )
    assert in_words(palette, everything) == (
        "at most 2 inks, without cyan, with yellow 12.5 %, with magenta 50 %, "
        "coverage at most 240 % of 300, only recipes in use"
    )


def test_which_limit_to_lift_for_green_without_cyan():
    """Cyan is down at 50 % but nothing may have it: only without cyan nothing is left."""
    recipes = mixed()
    clash = Narrowing(without=frozenset({2}), fixed=frozenset({(2, 75.0)}), max_coverage=240)
    assert not allowed(recipes, clash).any()
    removal = limit_to_remove(recipes, clash, GREEN)
    assert removal.limit == "without cyan"
    _, a, b = recipes.lab[removal.row]
    assert a < 0 < b  # a green again
    assert hypot(a, b) > 10
    # Two limits that each leave nothing: removing one of them does not help.
    both = Narrowing(fixed=frozenset({(2, 75.0)}), max_coverage=10, only=frozenset())
    assert limit_to_remove(recipes, both, GREEN) is None


def test_an_ink_that_is_down_at_nothing_is_not_laid():
    recipes = mix(palette_file.load("screen-quarters"))
    yellow_none = Narrowing(fixed=frozenset({(0, 0.0)}))
    assert in_words(recipes.palette, yellow_none) == "no yellow laid"
