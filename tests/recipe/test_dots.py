from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.colorimetry import delta_e, srgb_to_xyz, xyz_to_lab
from tuimatch.palette import file as palette_file
from tuimatch.recipe.dots import Press, View, fusing_distance
from tuimatch.recipe.halftone import demichel
from tuimatch.recipe.recipes import mix

VIEW = View(40, 60, 8)

# Of screen-quarters: the paper, and yellow #ffe800 multiplied with it.
PAPER, YELLOW = (255, 253, 245), (255, 230, 0)


@cache
def mixed(name):
    return mix(palette_file.load(name))


@pytest.fixture(params=["screen-quarters", "newsprint-quarters"])
def recipes(request):
    return mixed(request.param)


@pytest.fixture
def screen():
    return mixed("screen-quarters")


def overprints(palette):
    """The overprints by the multiply blend, 0…255, in the order of the shares."""
    colours = [np.array(palette.paper)]
    for ink in palette.inks:
        colours += [colour * np.array(ink.solid) / 255 for colour in colours]
    return np.rint(colours).astype(int)


def mean_lab(picture):
    """The colour a picture fuses to: the mean of its light."""
    return xyz_to_lab(srgb_to_xyz(picture / 255).reshape(-1, 3).mean(axis=0))


@pytest.mark.parametrize("view", [VIEW, View(24, 24, 6), View(45, 31, 13.7), View(9, 80, 4.5)])
def test_mean_is_the_predicted_colour_for_every_recipe(recipes, view):
    press = Press(recipes)
    drawn = [mean_lab(press.picture(row, view)) for row in range(len(recipes))]
    off = delta_e(recipes.lab, drawn)
    assert off.max() < 1, recipes.tints_of(int(off.argmax()))


@pytest.mark.parametrize("ink", [0, 1, 2])
def test_a_shift_of_one_ink_moves_its_dots_and_keeps_the_mean(recipes, ink):
    press, row = Press(recipes), recipes.row_of((50, 25, 75))
    plain = press.picture(row, VIEW)
    shifted = press.picture(row, replace(VIEW, shifted=ink, shift=(0.5, 0.25)))
    assert (shifted != plain).any()
    assert delta_e(mean_lab(shifted), recipes.lab[row]) < 1


def test_a_shift_by_whole_periods_along_the_screen_changes_nothing(screen):
    row = screen.row_of((50, 0, 0))  # yellow stands at 0°
    press = Press(screen)
    shifted = press.picture(row, replace(VIEW, shifted=0, shift=(1, -2)))
    assert (shifted == press.picture(row, VIEW)).all()


def test_a_shift_moves_the_dot_by_that_part_of_a_period(screen):
    row = screen.row_of((25, 0, 0))
    press, view = Press(screen), View(41, 41, 10)
    plain = press.picture(row, view)
    assert tuple(plain[20, 20].tolist()) == YELLOW
    assert tuple(plain[20, 25].tolist()) == PAPER
    right = press.picture(row, replace(view, shifted=0, shift=(0.3, 0)))
    assert tuple(right[20, 23].tolist()) == YELLOW
    assert tuple(right[20, 18].tolist()) == PAPER
    down = press.picture(row, replace(view, shifted=0, shift=(0, 0.3)))
    assert tuple(down[23, 20].tolist()) == YELLOW
    assert tuple(down[18, 20].tolist()) == PAPER


def test_on_a_screen_palette_only_its_own_overprints_are_drawn(screen):
    press = Press(screen)
    own = set(map(tuple, overprints(screen.palette).tolist()))
    for row in range(len(screen)):
        assert set(map(tuple, press.picture(row, VIEW).reshape(-1, 3).tolist())) <= own


def test_solids_and_bare_paper_have_no_dots(recipes):
    press = Press(recipes)
    for tints in product((0.0, 100.0), repeat=3):
        picture = press.picture(recipes.row_of(tints), VIEW)
        assert (picture == picture[0, 0]).all()


@pytest.mark.parametrize("tint", [25, 50, 75])
@pytest.mark.parametrize("ink", [0, 1, 2])
def test_a_screen_covers_exactly_its_area(screen, ink, tint):
    tints = [0.0, 0.0, 0.0]
    tints[ink] = tint
    picture = Press(screen).picture(screen.row_of(tuple(tints)), VIEW)
    assert (picture == PAPER).all(axis=2).mean() == 1 - tint / 100


@given(
    row=st.integers(0, 124),
    height=st.integers(8, 50),
    width=st.integers(8, 50),
    period=st.floats(2, 20),
)
def test_shares_of_the_overprints_are_demichels_in_any_window(row, height, width, period):
    recipes = mixed("screen-quarters")
    picture = Press(recipes).picture(row, View(height, width, period))
    shares = demichel(recipes.tints[row][:, None] / 100)[:, 0]
    counts = [(picture == colour).all(axis=2).sum() for colour in overprints(recipes.palette)]
    assert sum(counts) == height * width
    # Every ink rounds each overprint it meets by less than a pixel.
    assert np.abs(np.array(counts) - shares * height * width).max() < 3


def test_dots_do_not_gather_where_the_lattice_meets_the_pixels_squarely(screen):
    """At 75 % a dot of 8 x 8 pixels ends within a ring of equally near ones."""
    picture = Press(screen).picture(screen.row_of((75, 0, 0)), View(80, 80, 8))
    inked = (picture == YELLOW).all(axis=2)
    assert inked.mean() == 0.75
    assert abs(inked[:40].mean() - 0.75) < 0.02
    assert abs(inked[:, :40].mean() - 0.75) < 0.02


def test_on_a_measured_palette_the_area_is_the_one_found_for_y():
    recipes = mixed("newsprint-quarters")
    picture = Press(recipes).picture(recipes.row_of((0, 50, 0)), VIEW)
    # Y = ((L + 16) / 116)³; L of the paper, of magenta 50 % and of the solid, from the file.
    paper, tint, solid = (((lightness + 16) / 116) ** 3 for lightness in (80.11, 61.30, 52.57))
    inked = (picture == picture[20, 30]).all(axis=2)  # a dot stands about the middle
    assert inked.mean() == pytest.approx((paper - tint) / (paper - solid), abs=1 / 2400)


@pytest.mark.parametrize(("ink", "angle"), [(0, 0), (1, 75), (2, 15)])
def test_the_screen_stands_at_its_angle(screen, ink, angle):
    """The strongest wave of the picture lies along the lattice."""
    tints = [0.0, 0.0, 0.0]
    tints[ink] = 50
    picture = Press(screen).picture(screen.row_of(tuple(tints)), View(240, 240, 8))
    plane = picture[..., 1].astype(float)
    waves = np.abs(np.fft.fft2(plane - plane.mean()))
    y, x = np.unravel_index(waves.argmax(), waves.shape)
    fx, fy = np.fft.fftfreq(240)[[x, y]]
    assert np.hypot(fx, fy) == pytest.approx(1 / 8, abs=1 / 240)
    found = np.degrees(np.arctan2(fy, fx)) % 90
    assert min(abs(found - angle), 90 - abs(found - angle)) < 2


def test_what_srgb_cannot_hold_does_not_pull_the_mean_away():
    """Solid cyan on coated paper lies outside sRGB; its light tints do not."""
    recipes = mix(palette_file.load("coated-tenths"))
    press = Press(recipes)
    for tints in [(0, 0, 50, 0), (0, 30, 60, 10), (40, 0, 40, 0), (20, 20, 20, 20)]:
        row = recipes.row_of(tuple(map(float, tints)))
        assert not recipes.clipped[row]
        assert delta_e(mean_lab(press.picture(row, VIEW)), recipes.lab[row]) < 1


def test_dots_fuse_from_about_a_metre_at_85_lines():
    # 25.4 mm / 85 = 0.2988 mm; 1 arcminute is 2.9089e-4 rad.
    assert fusing_distance(85) == pytest.approx(1.0273, abs=1e-4)
    assert fusing_distance(42.5) == pytest.approx(2 * fusing_distance(85))
