"""Every recipe of a palette, and the laws its colours obey."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from support import screen_palettes

from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette
from tuimatch.recipe.recipes import mix


@given(screen_palettes(most_inks=4))
def test_more_of_any_ink_never_lightens_on_a_screen(palette: Palette) -> None:
    recipes = mix(palette)
    for position in range(len(palette.inks)):
        more = recipes.steps[:, position] > 0
        steps = recipes.steps[more].copy()
        steps[:, position] -= 1
        sizes = [len(ink.steps) for ink in palette.inks]
        less = np.ravel_multi_index(tuple(steps.T), sizes)
        assert (recipes.lab[more, 0] <= recipes.lab[less, 0] + 1e-9).all()


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_more_of_any_ink_never_lightens_by_much_in_shipped_print(name: str) -> None:
    """Measured sheets need not obey, yet ink that lightens would be a slip in a figure.

    The coated sheet itself lightens by 0.14 of L where yellow covers nearly black overprints.
    """
    recipes = mix(palette_file.load(name))
    sizes = [len(ink.steps) for ink in recipes.palette.inks]
    lightness = recipes.lab[:, 0].reshape(sizes)
    for axis in range(len(sizes)):
        assert np.diff(lightness, axis=axis).max() < 0.2


@given(screen_palettes())
def test_there_is_one_row_for_every_combination_of_steps(palette: Palette) -> None:
    recipes = mix(palette)
    expected = list(itertools.product(*(ink.steps for ink in palette.inks)))
    assert len(recipes) == palette.recipe_count == len(expected)
    assert [recipes.tints_of(row) for row in range(len(recipes))] == expected
    assert [recipes.row_of(tints) for tints in expected] == list(range(len(expected)))
    for row, tints in enumerate(expected):
        assert recipes.inks[row] == sum(t > 0 for t in tints)
        assert recipes.coverage[row] == pytest.approx(sum(tints))


def test_a_tint_the_ladder_lacks_has_no_row() -> None:
    recipes = mix(palette_file.load("screen-quarters"))
    assert recipes.row_of((50.0, 0.0, 0.0)) is not None
    assert recipes.row_of((60.0, 0.0, 0.0)) is None


def test_a_recipe_is_written_in_laying_order_whatever_its_size() -> None:
    palette = palette_file.load("screen-quarters")
    assert palette.recipe_text((100.0, 50.0, 0.0)) == "yellow 100 %, magenta 50 %"
    assert palette.recipe_text((0.0, 0.0, 25.0)) == "cyan 25 %"
    assert palette.recipe_text((0.0, 0.0, 0.0)) == "bare paper"


def test_labels_are_those_of_the_file() -> None:
    coral, blue = palette_file.load("zine-two-inks").inks
    assert coral.label(20) == "blush"
    assert blue.label(100) == "full harbour"
    assert coral.label(0) is None
    assert coral.label(50) is None
    assert palette_file.load("screen-quarters").inks[0].label(50) is None


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_the_model_asked_for_the_tints_of_the_ladder_gives_the_recipes(name: str) -> None:
    recipes = mix(palette_file.load(name))
    asked = recipes.halftone.colour_of(recipes.tints)
    np.testing.assert_allclose(asked, recipes.xyz, atol=1e-12)


def test_between_the_tints_of_a_screen_the_area_is_the_tint() -> None:
    recipes = mix(palette_file.load("screen-quarters"))
    tints = np.array([[12.5, 0, 61.0], [37.5, 80.0, 3.0]])
    areas = np.stack([recipes.halftone.areas(i, tints[:, i]) for i in range(3)], axis=1)
    np.testing.assert_allclose(areas, np.repeat(tints[..., None] / 100, 3, axis=2), atol=1e-12)


def test_between_measured_tints_the_area_rises_as_they_do() -> None:
    recipes = mix(palette_file.load("newsprint-quarters"))
    for ink in range(3):
        areas = recipes.halftone.areas(ink, np.arange(101))
        assert (np.diff(areas, axis=0) >= -1e-12).all(), ink
        assert (areas[0] == 0).all()
        assert (areas[100] == 1).all()


def test_what_a_screen_shows_is_within_8_bits_and_says_when_it_is_not_the_colour() -> None:
    recipes = mix(palette_file.load("coated-tenths"))
    assert recipes.srgb.dtype == np.uint8
    solid_cyan = recipes.row_of((0.0, 0.0, 100.0, 0.0))
    assert solid_cyan is not None
    assert recipes.clipped[solid_cyan]
    assert not recipes.clipped[0]
    screen = mix(palette_file.load("screen-quarters"))
    assert not screen.clipped.any()


@given(screen_palettes())
def test_a_screen_palette_never_leaves_the_screen(palette: Palette) -> None:
    """With n = 1 a mean of screen colours is a screen colour."""
    if palette.n == 1:
        assert not mix(palette).clipped.any()


def test_angles_are_given_conventional_or_spare() -> None:
    """Conventional angles are common practice, no source."""
    inks = [
        Ink("Yellow", "Y", (255, 255, 0), (100,)),
        Ink("black", "K", (0, 0, 0), (100,), angle=30.0),
        Ink("teal", "T", (0, 128, 128), (100,)),
        Ink("cyan", "C", (0, 255, 255), (100,)),
    ]
    palette = Palette("p", "p", "", "screen", "", "paper", (255, 255, 255), tuple(inks))
    assert palette.angles[0] == 0.0
    assert palette.angles[1] == 30.0
    assert palette.angles[3] == 15.0
    assert len(set(palette.angles)) == 4
