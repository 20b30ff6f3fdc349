from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.colorimetry import difference
from tuimatch.match.neighbours import Direction, neighbour
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

NAMES = ["screen-quarters", "newsprint-quarters", "coated-tenths", "zine-two-inks"]


@cache
def mixed(name):
    return mix(palette_file.load(name))


@st.composite
def starts(draw):
    recipes = mixed(draw(st.sampled_from(NAMES)))
    return recipes, draw(st.integers(0, len(recipes) - 1))


def lightness(recipes, row):
    return recipes.lab[row, 0]


def chroma(recipes, row):
    return np.hypot(recipes.lab[row, 1], recipes.lab[row, 2])


def turn(recipes, row, to):
    """Degrees from one hue to another, the short way."""
    first, second = (
        np.degrees(np.arctan2(recipes.lab[r, 2], recipes.lab[r, 1])) for r in (row, to)
    )
    return (second - first + 180) % 360 - 180


@given(starts(), st.sampled_from(Direction))
def test_the_neighbour_lies_where_it_is_said_to(start, direction):
    recipes, row = start
    to = neighbour(recipes, row, direction)
    if to is None:
        return
    assert to != row
    assert {
        Direction.LIGHTER: lightness(recipes, to) > lightness(recipes, row),
        Direction.DARKER: lightness(recipes, to) < lightness(recipes, row),
        Direction.MORE_VIVID: chroma(recipes, to) > chroma(recipes, row),
        Direction.DULLER: chroma(recipes, to) < chroma(recipes, row),
        Direction.HUE_ON: turn(recipes, row, to) > 0,
        Direction.HUE_BACK: turn(recipes, row, to) < 0,
    }[direction]


@given(starts(), st.sampled_from(Direction))
def test_no_other_recipe_is_nearer_and_straighter_ahead(start, direction):
    recipes, row = start
    terms = difference(recipes.lab[row], recipes.lab)
    whole = np.sqrt(terms.lightness**2 + terms.chroma**2 + terms.hue**2)
    part = {
        Direction.LIGHTER: terms.lightness,
        Direction.DARKER: -terms.lightness,
        Direction.MORE_VIVID: terms.chroma,
        Direction.DULLER: -terms.chroma,
        Direction.HUE_ON: terms.hue,
        Direction.HUE_BACK: -terms.hue,
    }[direction]
    to = neighbour(recipes, row, direction)
    ahead = (part >= 1) & (part >= whole / 2)
    if to is None:
        assert not ahead.any() or ("hue" in direction.value and chroma(recipes, row) < 4)
        return
    assert ahead[to]
    straightness = part[ahead] / whole[ahead]
    assert whole[to] ** 2 / part[to] <= (whole[ahead] / straightness).min() + 1e-6


@given(st.floats(0, 100), st.floats(0, 1), st.floats(-180, 180), st.floats(-180, 180))
def test_a_step_in_chroma_is_one_in_cielab_chroma(most, part, first, second):
    """Where ΔC' grows although CIELAB chroma does not, it is not half of the whole."""
    polar = np.array([[most, first], [most * part, second]])
    ab = polar[:, :1] * np.stack(
        [np.cos(np.radians(polar[:, 1])), np.sin(np.radians(polar[:, 1]))], 1
    )
    lab = np.column_stack([[50, 50], ab])
    terms = difference(lab[0], lab[1])
    whole = np.hypot(terms.chroma, terms.hue)
    assert terms.chroma < 1 or terms.chroma < 0.39 * whole


@given(starts(), st.sampled_from(list(Direction)[:4]))
def test_walks_in_lightness_and_chroma_end(start, direction):
    recipes, row = start
    seen = []
    while row is not None:
        assert row not in seen
        seen.append(row)
        row = neighbour(recipes, row, direction)


@given(starts(), st.sampled_from(Direction), st.randoms(use_true_random=False))
def test_only_allowed_recipes_are_stepped_to(start, direction, random):
    recipes, row = start
    free = neighbour(recipes, row, direction)
    allowed = np.array([random.random() < 0.5 for _ in range(len(recipes))])
    to = neighbour(recipes, row, direction, allowed)
    assert to is None or allowed[to]
    if free is not None and allowed[free]:
        assert to == free  # what is left out cannot make another one nearer
    assert neighbour(recipes, row, direction, np.zeros(len(recipes), dtype=bool)) is None


@pytest.mark.parametrize(
    ("tints", "direction", "expected"),
    [
        # One ink alone on a screen: stepping along its ladder is the straight way.
        ((0, 50, 0), Direction.MORE_VIVID, (0, 75, 0)),
        ((0, 0, 50), Direction.DULLER, (0, 0, 25)),
        # By the eye, not by ink: less magenta alone would turn the hue, and lighten by 5 and 14.
        ((100, 25, 0), Direction.HUE_ON, (100, 0, 25)),
        ((100, 100, 0), Direction.HUE_ON, (100, 75, 50)),
        ((0, 100, 50), Direction.HUE_BACK, (0, 100, 75)),
    ],
)
def test_steps_an_artist_would_expect(tints, direction, expected):
    recipes = mixed("screen-quarters")
    to = neighbour(recipes, recipes.row_of(tints), direction)
    assert recipes.tints_of(to) == expected


def test_ends_and_neutrals_have_no_neighbour():
    recipes = mixed("screen-quarters")
    assert neighbour(recipes, 0, Direction.LIGHTER) is None  # paper is the lightest
    darkest = int(recipes.lab[:, 0].argmin())
    assert neighbour(recipes, darkest, Direction.DARKER) is None
    # The paper of this palette is nearly white: it has no hue to turn.
    paper = mixed("coated-tenths")
    assert neighbour(paper, 0, Direction.HUE_ON) is None
    assert neighbour(paper, 0, Direction.HUE_BACK) is None


def test_a_tie_goes_to_fewer_inks():
    """The first ink is what the other two multiply to: 85 x 153 / 255 = 51."""
    text = """
        name = "Greys"
        about = "Three greys."
        kind = "screen"
        paper = { name = "white", srgb = "#ffffff" }
        inks = [
            { name = "dark", symbol = "D", srgb = "#333333", tints = [100] },
            { name = "middle", symbol = "M", srgb = "#555555", tints = [100] },
            { name = "light", symbol = "L", srgb = "#999999", tints = [100] },
        ]
    """
    recipes = mix(palette_file.parse(text, file="greys.toml", stem="greys"))
    assert recipes.rgb_of(recipes.row_of((0, 100, 100))) == (51, 51, 51)
    to = neighbour(recipes, recipes.row_of((0, 100, 0)), Direction.DARKER)
    assert recipes.tints_of(to) == (100, 0, 0)
