"""One place writes a tint in words: the artist's label, with the percentage where there is room."""

from dataclasses import replace

import pytest

from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink
from tuimatch.recipe.typed_recipe import read
from tuimatch.text import exact, percent

SAFFRON = Ink(
    "saffron", "S", (255, 200, 0), (35.2, 71.01, 100), ("fine dots", "coarse dots", "solid")
)


@pytest.mark.parametrize(
    ("tint", "shown"),
    [
        (71.01, "71"),
        (23.5, "23.5"),
        (6.25, "6.25"),
        (0.04, "0.04"),
        (99.96, "100"),
        (387.5, "388"),
        (2540, "2540"),
    ],
)
def test_people_read_three_figures_and_files_keep_all(tint, shown):
    assert percent(tint) == shown
    assert float(exact(tint)) == tint


def test_a_tint_is_called_as_the_artist_calls_it():
    assert SAFFRON.tint_words(71.01) == "saffron: coarse dots 71 %"
    assert SAFFRON.tint_words(71.01, roomy=False) == "saffron: coarse dots"
    assert SAFFRON.tint_words(71.01, named=False) == "coarse dots 71 %"
    unlabelled = replace(SAFFRON, labels=())
    assert unlabelled.tint_words(71.01) == "saffron 71 %"
    assert unlabelled.tint_words(71.01, named=False, roomy=False) == "71 %"


def test_a_label_that_is_a_percentage_is_not_said_twice():
    ink = replace(SAFFRON, labels=("35 %", "71 %", "solid"))
    assert ink.tint_words(71.01) == "saffron: 71 %"


@pytest.mark.parametrize("roomy", [True, False])
def test_what_is_shown_can_be_typed(roomy):
    spot = palette_file.load("zine-two-inks")
    coral, blue = spot.inks
    fine = tuple(t - 0.01 for t in coral.tints[:-1]) + coral.tints[-1:]
    for first in (coral, replace(coral, tints=fine), replace(coral, tints=fine, labels=())):
        palette = replace(spot, inks=(first, blue))
        for one in first.steps:
            for other in blue.steps:
                tints = (one, other)
                assert read(palette, palette.recipe_words(tints, roomy=roomy)) == tints


def test_a_recipe_is_still_in_a_palette_that_was_given_one_more_ink():
    palette = palette_file.load("zine-two-inks")
    first, second = palette.inks
    recipe = {first.name: first.tints[0], second.name: 0.0}
    assert palette.tints_named(recipe) == (first.tints[0], 0)
    more = replace(palette, inks=(SAFFRON, *palette.inks))
    assert more.tints_named(recipe) == (0, first.tints[0], 0)
    assert palette.tints_named({**recipe, "saffron": 100}) is None
    assert palette.tints_named({**recipe, "saffron": 0}) == (first.tints[0], 0)
    assert palette.tints_named({first.name: 1.5}) is None
