"""Colorimetry against published values, against an independent library, and against formulas."""

from pathlib import Path

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st
from support import in_fresh_interpreter, lab_triples, reference_rows

from tuimatch.colour import colorimetry

unit_triples = st.tuples(*[st.floats(0, 1)] * 3)


def test_the_difference_is_ciede2000_on_the_published_pairs() -> None:
    """Sharma, Wu & Dalal (2005), table 1; its figures have four decimals, half a step is allowed.

    The hue difference of the pairs 13 to 15 stands at 180 degrees, where a last bit decides.
    """
    rows = reference_rows("ciede2000_sharma")
    assert len(rows) == 34
    first = np.array([[float(row[key]) for key in ("L1", "a1", "b1")] for row in rows])
    second = np.array([[float(row[key]) for key in ("L2", "a2", "b2")] for row in rows])
    expected = np.array([float(row["dE00"]) for row in rows])
    np.testing.assert_allclose(colorimetry.delta_e(first, second), expected, rtol=0, atol=1e-4)
    np.testing.assert_allclose(colorimetry.delta_e(second, first), expected, rtol=0, atol=1e-4)


@given(lab_triples, lab_triples, st.tuples(*[st.sampled_from([1.0, 2.0])] * 3))
def test_the_difference_agrees_with_an_independent_library(
    first: tuple[float, float, float],
    second: tuple[float, float, float],
    factors: tuple[float, float, float],
) -> None:
    """coloraide, the same formula from the same Lab; 1e-6 leaves room for the order of sums."""
    k_l, k_c, k_h = factors
    found = float(colorimetry.difference(first, second).weighted(k_l, k_c, k_h))
    expected = Color("lab", first).delta_e(
        Color("lab", second), method="2000", kl=k_l, kc=k_c, kh=k_h, space="lab"
    )
    assert found == pytest.approx(expected, abs=1e-6)


def test_the_terms_of_a_difference_have_the_sign_of_the_sample() -> None:
    target = [50.0, 30.0, 0.0]
    assert colorimetry.difference(target, [60, 30, 0]).lightness > 0
    assert colorimetry.difference(target, [50, 40, 0]).chroma > 0
    assert colorimetry.difference(target, [50, 29, 8]).hue > 0
    assert colorimetry.difference(target, [40, 20, -8]).lightness < 0
    assert colorimetry.difference(target, [40, 20, -8]).hue < 0


def test_the_difference_broadcasts_over_the_leading_axes() -> None:
    samples = np.random.default_rng(7).uniform(0, 90, (4, 5, 3))
    found = colorimetry.delta_e(samples[0, 0], samples)
    assert found.shape == (4, 5)
    assert found[0, 0] == 0
    assert found[3, 2] == pytest.approx(float(colorimetry.delta_e(samples[0, 0], samples[3, 2])))


@given(unit_triples)
def test_lab_follows_the_formula_of_cie_15(xyz: tuple[float, float, float]) -> None:
    """CIE 15:2018: f(t) = cube root above (6/29)³, else (841/108) t + 4/29."""

    def f(t: float) -> float:
        return t ** (1 / 3) if t > (6 / 29) ** 3 else 841 / 108 * t + 4 / 29

    x, y, z = (value / white for value, white in zip(xyz, (0.9642, 1, 0.8249), strict=True))
    expected = [116 * f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))]
    found = colorimetry.xyz_to_lab(xyz)
    # The library writes 903.3 and its like as exact fractions and the white by chromaticity.
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-9)
    np.testing.assert_allclose(colorimetry.lab_to_xyz(found), xyz, rtol=0, atol=1e-12)


@given(st.floats(0, 1))
def test_srgb_is_decoded_as_its_standard_says(value: float) -> None:
    """IEC 61966-2-1: C/12.92 up to 0.04045, else ((C + 0.055)/1.055)^2.4."""
    expected = value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
    found = colorimetry.decode_srgb(value)
    # colour-science changes from one part to the other where the second, inverted, begins: a hair
    # below 0.04045. Between the two the parts differ by 2.4e-9.
    assert found == pytest.approx(expected, abs=1e-12 if abs(value - 0.04045) > 1e-5 else 3e-9)
    # The rounded constants of the standard leave a step of 3e-8 at the join of its two parts.
    assert colorimetry.encode_srgb(found) == pytest.approx(value, abs=1e-7)
    assert colorimetry.encode_srgb(-found) == pytest.approx(-value, abs=1e-7)


def test_the_primaries_of_srgb_under_d50_are_the_published_ones() -> None:
    """The matrix of B. Lindbloom, "RGB working space matrices", sRGB adapted to D50 (from memory).

    It was made for the white 0.96422, 1, 0.82521 and another rounding of D65: 3e-4 is allowed.
    """
    expected = [
        [0.4360747, 0.2225045, 0.0139322],
        [0.3850649, 0.7168786, 0.0971045],
        [0.1430804, 0.0606169, 0.7141733],
    ]
    np.testing.assert_allclose(colorimetry.srgb_to_xyz(np.eye(3)), expected, rtol=0, atol=3e-4)


def test_the_adaptation_is_the_published_bradford_one() -> None:
    """D65 to D50 as CSS Color 4 gives it in its sample code (from memory).

    Its D50 is that of a chromaticity, 2e-4 from ours in Z: 3e-4 is allowed.
    """
    expected = [
        [1.0479297925449969, 0.022946870601609652, -0.05019226628920524],
        [0.02962780877005599, 0.9904344267538799, -0.017073799063418826],
        [-0.009243040646204504, 0.015055191490298152, 0.7518742814281371],
    ]
    found = colorimetry.d65_to_d50(np.eye(3)).T
    np.testing.assert_allclose(found, expected, rtol=0, atol=3e-4)


def test_the_white_of_a_screen_is_the_white_of_the_comparison() -> None:
    np.testing.assert_allclose(colorimetry.srgb_to_xyz([1, 1, 1]), colorimetry.D50, atol=1e-12)
    lab = colorimetry.xyz_to_lab(colorimetry.srgb_to_xyz([1, 1, 1]))
    np.testing.assert_allclose(lab, [100, 0, 0], rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("lab", "srgb"),
    [
        # Examples of CSS Color 4, section 9.3, and the green of its public test suite (both from
        # memory): the colours are given there in whole 8-bit steps.
        ((29.2345, 39.3825, 20.0664), (125, 35, 41)),
        ((52.2345, 40.1645, 59.9971), (198, 93, 6)),
        ((60.2345, -5.3654, 58.956), (157, 147, 24)),
        ((62.2345, -34.9638, 47.7721), (104, 166, 57)),
        ((67.5345, -8.6911, -41.6019), (98, 172, 239)),
        ((46.2775, -47.5621, 48.5837), (0, 128, 0)),
    ],
)
def test_published_lab_colours_are_shown_as_published(
    lab: tuple[float, float, float], srgb: tuple[int, int, int]
) -> None:
    screen = colorimetry.displayed(colorimetry.lab_to_xyz(lab))
    assert tuple(int(x) for x in screen.srgb) == srgb
    assert not screen.clipped


@given(unit_triples)
def test_srgb_to_lab_agrees_with_an_independent_library(rgb: tuple[float, float, float]) -> None:
    """coloraide takes D50 by its chromaticity 0.3457, 0.3585, ICC by its XYZ 0.9642, 1, 0.8249.

    The two differ by 2e-4 in X and Z: up to 0.01 in a or b (measured), so 0.02 is allowed.
    """
    expected = Color("srgb", rgb).convert("lab").coords()
    found = colorimetry.xyz_to_lab(colorimetry.srgb_to_xyz(rgb))
    np.testing.assert_allclose(found, expected, rtol=0, atol=0.02)
    assert colorimetry.delta_e(found, expected) < 0.01


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_every_screen_colour_is_shown_as_itself(rgb: tuple[int, int, int]) -> None:
    screen = colorimetry.displayed(colorimetry.srgb_to_xyz(np.array(rgb) / 255))
    assert tuple(int(x) for x in screen.srgb) == rgb
    assert not screen.clipped


def test_a_colour_no_screen_can_hold_is_clipped_and_said_to_be() -> None:
    cyan_beyond, grey = [60, -60, -40], [60, 0, 0]
    screen = colorimetry.displayed(colorimetry.lab_to_xyz([cyan_beyond, grey]))
    assert screen.clipped.tolist() == [True, False]
    assert screen.srgb[0, 0] == 0


def test_rounding_noise_does_not_count_as_clipped() -> None:
    within, beyond = 1 + 0.4 / 255, 1 + 0.6 / 255
    xyz = colorimetry.srgb_to_xyz([[within, 0.5, 0], [beyond, 0.5, 0]])
    assert colorimetry.displayed(xyz).clipped.tolist() == [False, True]


IMPORT_AND_USE = """
import sys
from tuimatch.colour import colorimetry as c
c.displayed(c.lab_to_xyz([50, 10, 10])); c.delta_e([50, 0, 0], [60, 0, 0])
c.xyz_to_lab(c.d65_to_d50(c.srgb_to_xyz([0.1, 0.2, 0.3])))
unused = [name for name in sys.modules if name.split(".")[0] in ("scipy", "matplotlib", "pandas")]
assert unused == [], "loaded, or hidden from whoever wants it next"
assert not [name for name, module in sys.modules.items() if module is None]
"""


def test_importing_says_nothing_where_nothing_else_is_installed() -> None:
    run = in_fresh_interpreter(IMPORT_AND_USE)
    assert (run.stdout, run.stderr, run.returncode) == ("", "", 0)


@pytest.mark.parametrize("package", ["scipy", "matplotlib", "pandas"])
def test_importing_does_without_large_packages_that_are_there(tmp_path: Path, package: str) -> None:
    fake = tmp_path / package
    fake.mkdir()
    (fake / "__init__.py").write_text(f"print('{package} was loaded'); __version__ = '1.0'\n")
    run = in_fresh_interpreter(IMPORT_AND_USE, first_on_path=tmp_path)
    assert (run.stdout, run.stderr, run.returncode) == ("", "", 0)

    # It can be found, so the silence above is not for want of it; whoever needs it next gets it.
    run = in_fresh_interpreter(IMPORT_AND_USE + f"import {package}\n", first_on_path=tmp_path)
    assert run.stdout == f"{package} was loaded\n"


def test_what_was_loaded_before_stays() -> None:
    code = """
import sys, types
kept = {name: types.ModuleType(name) for name in ("scipy", "scipy.interpolate")}
sys.modules.update(kept)
import tuimatch.colour.colorimetry
assert {name: sys.modules[name] for name in sys.modules if name[:5] == "scipy"} == kept
"""
    run = in_fresh_interpreter(code)
    assert (run.stdout, run.stderr, run.returncode) == ("", "", 0)
