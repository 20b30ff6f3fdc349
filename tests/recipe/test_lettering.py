from functools import cache

import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.palette import file as palette_file
from tuimatch.recipe.lettering import contrast_ratio, in_words, lettering, relative_luminance
from tuimatch.recipe.recipes import mix

channels = st.tuples(*[st.integers(0, 255)] * 3)
WHITE, BLACK = (255, 255, 255), (0, 0, 0)


@cache
def mixed(name):
    return mix(palette_file.load(name))


@pytest.mark.parametrize(
    ("grey", "on_white"),
    [
        (0x00, 21.0),  # WCAG 2.2, note to 'contrast ratio': ratios range from 1 to 21
        (0xFF, 1.0),
        (0x77, 4.47),  # Understanding WCAG 2.2, criterion 1.4.3, from memory: #777777 fails
        (0x76, 4.54),  # widely given as the lightest grey that passes, from memory
    ],
)
def test_published_ratios(grey, on_white):
    # Published figures are cut after two decimals, never rounded up.
    assert 0 <= contrast_ratio((grey,) * 3, WHITE) - on_white < 0.01


@given(channels, channels)
def test_agrees_with_another_library(first, second):
    """coloraide 'wcag21' takes its luminance from XYZ at full precision, WCAG from 4 decimals."""
    one, two = (Color("srgb", [c / 255 for c in rgb]) for rgb in (first, second))
    assert contrast_ratio(first, second) == pytest.approx(one.contrast(two), rel=2e-3)


@given(channels, channels)
def test_laws(first, second):
    assert contrast_ratio(first, second) == contrast_ratio(second, first)
    assert 1 <= contrast_ratio(first, second) <= 21 + 1e-9
    assert contrast_ratio(first, first) == 1
    assert 0 <= relative_luminance(first) <= 1 + 1e-9
    # A colour reads on black or on white: the two ratios multiply to 21.
    assert contrast_ratio(first, BLACK) * contrast_ratio(first, WHITE) == pytest.approx(21)


def test_black_and_paper_on_a_recipe():
    recipes = mixed("screen-quarters")
    on_yellow = lettering(recipes, recipes.row_of((100, 0, 0)))
    assert on_yellow.black == contrast_ratio(BLACK, recipes.rgb_of(recipes.row_of((100, 0, 0))))
    assert on_yellow.black > 15
    assert on_yellow.paper < 1.3
    assert lettering(recipes, 0).paper == 1


def test_black_lettering_is_the_black_ink_where_there_is_one():
    recipes = mixed("coated-tenths")
    row = recipes.row_of((50, 50, 0, 0))
    lettered = recipes.rgb_of(recipes.row_of((50, 50, 0, 100)))
    found = lettering(recipes, row).black
    assert found == contrast_ratio(lettered, recipes.rgb_of(row))
    assert found < contrast_ratio(BLACK, recipes.rgb_of(row))


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (7.0, "clear"),
        (6.99, "readable"),
        (4.5, "readable"),
        (4.499, "only if large"),  # never rounded up to a level
        (3.0, "only if large"),
        (2.99, "too faint"),
    ],
)
def test_levels(ratio, words):
    assert in_words(ratio) == words
