"""The steps from a recipe to its colour, each against its own definition written out anew."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from support import gains, lab_triples, screen_palettes

from tuimatch.colour.colorimetry import (
    D50,
    decode_srgb,
    delta_e,
    lab_to_xyz,
    xyz_to_lab,
    xyz_to_srgb,
)
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette
from tuimatch.recipe.channels import xyz_channels
from tuimatch.recipe.halftone import (
    area_curve,
    demichel,
    ladder_areas,
    measured_area,
    neugebauer,
    nominal_area,
    paper_xyz,
    primaries,
    solid_xyz,
)
from tuimatch.recipe.recipes import mix

areas = arrays.arrays(np.float64, (3, 3), elements=st.floats(0, 1))


def linear(encoded: float) -> float:
    """IEC 61966-2-1, written out here so that the product's own decoding is not the judge."""
    return encoded / 12.92 if encoded <= 0.04045 else ((encoded + 0.055) / 1.055) ** 2.4


def cie_xyz(lab: tuple[float, float, float]) -> list[float]:
    """CIE 15:2018, the inverse of CIELAB, D50."""
    y = (lab[0] + 16) / 116

    def part(f: float) -> float:
        return f**3 if f > 6 / 29 else (f - 4 / 29) * 108 / 841

    return [
        white * part(f)
        for white, f in zip(
            (0.9642, 1, 0.8249), (y + lab[1] / 500, y, y - lab[2] / 200), strict=True
        )
    ]


# Shares.


@given(areas)
def test_demichel_shares_sum_to_one_and_are_never_negative(area: np.ndarray) -> None:
    shares = demichel(area)
    assert shares.shape == (8, 3)
    assert (shares >= 0).all()
    np.testing.assert_allclose(shares.sum(axis=0), 1, atol=1e-12)


@given(areas)
def test_demichel_shares_are_the_products_of_their_definition(area: np.ndarray) -> None:
    """w_j = Π a_i over the inks in j × Π (1 − a_i) over the others; bit 0 is the first ink."""
    shares = demichel(area)
    for j, channel in itertools.product(range(8), range(3)):
        expected = 1.0
        for ink in range(3):
            a = area[ink, channel]
            expected *= a if j >> ink & 1 else 1 - a
        assert shares[j, channel] == pytest.approx(expected, abs=1e-12)


def test_demichel_takes_many_recipes_at_once() -> None:
    many = np.random.default_rng(3).uniform(size=(5, 4, 2, 3))
    shares = demichel(many)
    assert shares.shape == (5, 4, 4, 3)
    np.testing.assert_array_equal(shares[2, 1], demichel(many[2, 1]))


@given(areas, arrays.arrays(np.float64, (8, 3), elements=st.floats(0, 1)), st.floats(1, 4))
def test_neugebauer_is_the_mean_of_the_roots_weighted_by_share(
    area: np.ndarray, overprints: np.ndarray, n: float
) -> None:
    shares, channels = demichel(area), xyz_channels(n)
    expected = sum(shares[j] * overprints[j] ** (1 / n) for j in range(8)) ** n
    found = channels.from_v(neugebauer(list(area), channels.to_v(overprints)))
    np.testing.assert_allclose(found, expected, atol=1e-12)


# Areas.


@given(st.floats(0, 1), st.floats(-0.25, 0.4))
def test_the_gain_is_reached_at_half_and_bare_and_solid_stay(tint: float, gain: float) -> None:
    assert nominal_area(0, gain) == 0
    assert nominal_area(1, gain) == 1
    assert nominal_area(0.5, gain) == pytest.approx(0.5 + gain)
    expected = min(max(tint + 4 * gain * tint * (1 - tint), 0), 1)
    assert nominal_area(tint, gain) == pytest.approx(expected)


@given(st.floats(-0.25, 0.4))
def test_more_tint_is_never_less_area_for_any_gain_a_file_may_give(gain: float) -> None:
    assert (np.diff(nominal_area(np.linspace(0, 1, 201), gain)) >= -1e-12).all()


@given(st.floats(0.02, 0.98), st.floats(1, 3))
def test_murray_davies_finds_the_area_a_tint_was_made_with(area: float, n: float) -> None:
    """Yule-Nielsen there and back: v_tint = (1 − a) v_paper + a v_solid."""
    paper, solid = np.array([0.55, 0.57, 0.43]), np.array([0.30, 0.21, 0.19])
    tint = ((1 - area) * paper ** (1 / n) + area * solid ** (1 / n)) ** n
    np.testing.assert_allclose(
        measured_area(paper, tint, solid, xyz_channels(n), 0.5), area, atol=1e-9
    )


def test_murray_davies_at_n_1_is_the_textbook_ratio() -> None:
    """Murray & Davies (1936): a = (R_paper − R_tint) / (R_paper − R_solid)."""
    found = measured_area(np.full(3, 0.8), np.full(3, 0.5), np.full(3, 0.2), xyz_channels(1), 0)
    np.testing.assert_allclose(found, 0.5)


def test_a_measured_area_stays_within_bare_and_solid() -> None:
    paper, solid = np.full(3, 0.8), np.full(3, 0.2)
    tint = np.array([0.9, 0.5, 0.1])
    np.testing.assert_allclose(measured_area(paper, tint, solid, xyz_channels(1), 0.3), [0, 0.5, 1])


def test_a_channel_in_which_the_ink_does_not_show_takes_the_nominal_area() -> None:
    paper, solid = np.array([0.8, 0.8, 0.8]), np.array([0.8, 0.2, 0.7995])
    tint = np.array([0.79, 0.5, 0.1])
    np.testing.assert_allclose(
        measured_area(paper, tint, solid, xyz_channels(1), 0.3), [0.3, 0.5, 0.3]
    )


def test_ladders_use_what_was_measured_and_the_gain_elsewhere() -> None:
    ink = Ink("a", "a", (50, 0, 0), (25, 50, 75, 100), measured=((50, (70, 0, 0)),), gain=0.2)
    palette = Palette("p", "p", "", "measured", "s", "paper", (90, 0, 0), (ink,), yule_nielsen=1)
    (ladder,) = ladder_areas(palette, xyz_channels(1))
    assert ladder.shape == (5, 3)
    paper, half, solid = cie_xyz((90, 0, 0))[1], cie_xyz((70, 0, 0))[1], cie_xyz((50, 0, 0))[1]
    measured = (paper - half) / (paper - solid)
    expected = [0, 0.25 + 0.8 * 0.25 * 0.75, measured, 0.75 + 0.8 * 0.75 * 0.25, 1]
    np.testing.assert_allclose(ladder[:, 1], expected, atol=1e-9)
    assert ladder_areas(palette, xyz_channels(2))[0][2, 1] == pytest.approx(
        (paper**0.5 - half**0.5) / (paper**0.5 - solid**0.5)
    )


def test_a_ramp_and_tints_without_a_gain_lie_on_the_curve_through_what_was_measured() -> None:
    paper, solid, channels = np.full(3, 0.8), np.full(3, 0.2), xyz_channels(1)
    labs = {t: tuple(xyz_to_lab(np.full(3, 0.8 - 0.6 * t / 100))) for t in (20.0, 50.0, 80.0)}
    ink = Ink(
        "a",
        "a",
        (0, 0, 0),
        (50, 75, 100),
        measured=((50, labs[50]),),
        ramp=((20, labs[20]), (80, labs[80])),
    )
    tints = np.arange(0, 101, 5)
    found = area_curve(ink, paper, solid, channels)(tints)
    np.testing.assert_allclose(found, np.repeat(tints[:, None] / 100, 3, axis=1), atol=1e-9)
    with_gain = area_curve(replace(ink, gain=0.2), paper, solid, channels)([75])
    np.testing.assert_allclose(with_gain, 0.75 + 4 * 0.2 * 0.75 * 0.25)


# Overprints of solids.


@given(screen_palettes(most_inks=4))
def test_screen_overprints_are_the_multiply_blend(palette: Palette) -> None:
    """W3C Compositing and Blending Level 1, "multiply": B(cb, cs) = cb × cs, on encoded sRGB."""
    found = primaries(palette)
    assert len(found) == 2 ** len(palette.inks)
    for j, xyz in enumerate(found):
        blend = [channel / 255 for channel in palette.paper]
        for position, ink in enumerate(palette.inks):
            if j >> position & 1:
                source = [channel / 255 for channel in ink.solid]
                blend = [cb * cs for cb, cs in zip(blend, source, strict=True)]
        # Compared in linear light: the root in the encoding enlarges the noise around black.
        np.testing.assert_allclose(
            decode_srgb(xyz_to_srgb(xyz)), [linear(c) for c in blend], rtol=0, atol=1e-9
        )


def test_the_solid_of_a_screen_ink_lies_on_its_paper() -> None:
    palette = palette_file.load("zine-two-inks")
    coral = [p / 255 * i / 255 for p, i in zip((0xF7, 0xF1, 0xE3), (0xFF, 0x5A, 0x4A), strict=True)]
    np.testing.assert_allclose(xyz_to_srgb(solid_xyz(palette)[0]), coral, atol=1e-9)


@given(lab_triples, st.lists(lab_triples, min_size=3, max_size=3))
def test_a_missing_overprint_is_estimated_by_its_formula(
    paper: tuple[float, float, float], solids: list[tuple[float, float, float]]
) -> None:
    """XYZ_paper × Π (XYZ_ink / XYZ_paper); a negative XYZ, which no light makes, counts as 0."""
    inks = tuple(Ink(f"i{i}", str(i), solid, (100,)) for i, solid in enumerate(solids))
    given_one = (((0, 2), (40.0, 5.0, 5.0)),)
    palette = Palette("p", "p", "", "measured", "s", "paper", paper, inks, given_one)
    found = primaries(palette)
    assert palette.estimated
    bare = [max(x, 0) for x in cie_xyz(paper)]
    np.testing.assert_allclose(found[0], bare, atol=1e-9)
    np.testing.assert_allclose(found[0b101], cie_xyz((40, 5, 5)), atol=1e-9)
    for position, solid in enumerate(solids):
        expected = [max(x, 0) for x in cie_xyz(solid)]
        np.testing.assert_allclose(found[1 << position], expected, atol=1e-9)
    for members in ((0, 1), (1, 2), (0, 1, 2)):
        row = sum(1 << m for m in members)
        for channel in range(3):
            if bare[channel] < 1e-4:
                continue  # a quotient of two noises
            expected = bare[channel]
            for m in members:
                expected *= max(cie_xyz(solids[m])[channel], 0) / bare[channel]
            assert found[row][channel] == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_a_palette_counts_as_estimated_only_while_an_overprint_is_missing() -> None:
    whole = palette_file.load("newsprint-quarters")
    assert not whole.estimated
    assert replace(whole, overprints=whole.overprints[:-1]).estimated
    assert not palette_file.load("screen-quarters").estimated
    one_ink = replace(whole, inks=whole.inks[:1], overprints=())
    assert not one_ink.estimated


# Whole predictions.


@given(screen_palettes(), gains)
def test_paper_is_the_empty_recipe(palette: Palette, gain: float | None) -> None:
    palette = replace(palette, inks=tuple(replace(ink, gain=gain) for ink in palette.inks))
    recipes = mix(palette)
    assert recipes.tints_of(0) == (0.0,) * len(palette.inks)
    np.testing.assert_allclose(recipes.xyz[0], paper_xyz(palette), atol=1e-12)
    assert recipes.rgb_of(0) == palette.paper


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_bare_paper_and_solids_of_shipped_palettes_are_as_given(name: str) -> None:
    palette = palette_file.load(name)
    recipes = mix(palette)
    found = primaries(palette)
    for j in range(len(found)):
        row = recipes.row_of(tuple(100.0 * (j >> i & 1) for i in range(len(palette.inks))))
        if palette.mixtures:  # what corrects the model keeps the solids to a tenth of ΔE only
            assert delta_e(xyz_to_lab(found[j]), recipes.lab[row]) < 0.1
        else:
            np.testing.assert_allclose(recipes.xyz[row], found[j], atol=1e-12)


def test_half_an_ink_on_screen_is_the_mean_in_linear_light() -> None:
    """What a dot pattern covering half of the picture averages to: light adds, encodings do not."""
    white, ink = (255, 255, 255), (0, 158, 224)
    palette = Palette(
        "p", "p", "", "screen", "", "white", white, (Ink("cyan", "C", ink, (50, 100)),)
    )
    recipes = mix(palette)
    half = decode_srgb(xyz_to_srgb(recipes.xyz[recipes.row_of((50.0,))]))
    expected = [(1 + linear(channel / 255)) / 2 for channel in ink]
    np.testing.assert_allclose(half, expected, atol=1e-9)
    # Black over white at 50 % is the well-known 188, not 128.
    black = replace(palette, inks=(Ink("black", "K", (0, 0, 0), (50, 100)),))
    assert mix(black).rgb_of(1) == (188, 188, 188)


def test_crossed_screens_average_their_overprints_in_linear_light() -> None:
    """75 % yellow under 25 % magenta: four areas of 3/16, 9/16, 1/16 and 3/16 of the picture."""
    palette = palette_file.load("screen-quarters")
    paper, yellow, magenta = (0xFF, 0xFD, 0xF5), (0xFF, 0xE8, 0x00), (0xE4, 0x00, 0x7C)
    recipes = mix(palette)
    found = decode_srgb(xyz_to_srgb(recipes.xyz[recipes.row_of((75.0, 25.0, 0.0))]))
    for channel in range(3):
        p, y, m = paper[channel] / 255, yellow[channel] / 255, magenta[channel] / 255
        expected = (
            3 * linear(p) + 9 * linear(p * y) + 1 * linear(p * m) + 3 * linear(p * y * m)
        ) / 16
        assert found[channel] == pytest.approx(expected, abs=1e-9)


def test_the_factor_of_a_palette_is_the_given_one_or_that_of_its_kind() -> None:
    measured = palette_file.load("newsprint-quarters")
    bare = replace(measured, yule_nielsen=None)
    assert bare.n == 1.5
    assert replace(bare, inks=tuple(replace(i, measured=()) for i in bare.inks)).n == 2.0
    assert replace(measured, yule_nielsen=1.8).n == 1.8
    assert replace(palette_file.load("screen-quarters"), inks=bare.inks).n == 1.0
    assert palette_file.load("screen-quarters").n == 1.0


def test_a_colour_no_light_can_make_is_still_predicted_without_nonsense() -> None:
    """Lab a file may give reaches outside real colours; the prediction must stay finite."""
    inks = tuple(Ink(f"i{i}", str(i), (5, 120, 120), (50, 100)) for i in range(2))
    palette = Palette("p", "p", "", "measured", "s", "paper", (0, -120, 120), inks)
    recipes = mix(palette)
    assert np.isfinite(recipes.lab).all()
    assert (recipes.xyz >= 0).all()


def test_the_formula_written_out_here_agrees_with_the_library() -> None:
    np.testing.assert_allclose(cie_xyz((100, 0, 0)), D50)
    np.testing.assert_allclose(lab_to_xyz([30, 20, -40]), cie_xyz((30, 20, -40)), atol=1e-12)
    np.testing.assert_allclose(xyz_to_lab(cie_xyz((3, 1, -1))), [3, 1, -1], atol=1e-9)
