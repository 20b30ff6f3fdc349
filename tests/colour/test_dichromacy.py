import numpy as np
import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.colorimetry import (
    decode_srgb,
    delta_e,
    encode_srgb,
    seen_with_dichromacy,
    srgb_to_xyz,
    xyz_to_lab,
    xyz_to_srgb,
)
from tuimatch.colour.dichromacy import DICHROMACIES, ToldApart, told_apart

channels = st.tuples(*[st.integers(0, 255)] * 3)


def xyz(text):
    return srgb_to_xyz(np.array(bytearray.fromhex(text.removeprefix("#"))) / 255)


@given(channels, st.sampled_from(DICHROMACIES))
def test_agrees_with_the_filters_of_another_library(rgb, kind):
    """coloraide carries the same matrices of Machado et al. (2009), and does not clip."""
    other = Color("srgb", [c / 255 for c in rgb]).filter(kind, method="machado", out_space="srgb")
    expected = np.clip(other.coords(), 0, 1)
    ours = xyz_to_srgb(seen_with_dichromacy(srgb_to_xyz(np.array(rgb) / 255), kind))
    assert ours == pytest.approx(expected, abs=1e-4)


@given(st.integers(0, 255), st.sampled_from(DICHROMACIES))
def test_greys_stay_grey(value, kind):
    """Each row of the matrices sums to 1."""
    grey = srgb_to_xyz(np.full(3, value / 255))
    assert seen_with_dichromacy(grey, kind) == pytest.approx(grey, abs=1e-5)


@given(channels, channels)
def test_the_order_of_two_colours_does_not_matter(first, second):
    one, two = (srgb_to_xyz(np.array(c) / 255) for c in (first, second))
    (there,), (back,) = told_apart(one, [two]), told_apart(two, [one])
    assert there.plain == pytest.approx(back.plain)
    assert there.dichromat == pytest.approx(back.dichromat)
    assert there.plain == pytest.approx(float(delta_e(xyz_to_lab(one), xyz_to_lab(two))))


def test_a_colour_is_not_told_apart_from_itself():
    other, same = told_apart(xyz("#d94f2a"), [xyz("#2a4fd9"), xyz("#d94f2a")])
    assert min(other.plain, *other.dichromat) > 5
    assert (same.plain, *same.dichromat) == pytest.approx((0, 0, 0, 0), abs=1e-6)
    assert same.alike_for == ()
    assert told_apart(xyz("#d94f2a"), np.empty((0, 3))) == ()


def test_colours_on_a_line_of_confusion_become_alike():
    for kind, hidden in (("protan", 0), ("deutan", 1)):
        first, second = _confused(kind)
        (found,) = told_apart(first, [second])
        assert found.plain > 10
        assert found.dichromat[hidden] < 1
        assert kind in found.alike_for
        assert "tritan" not in found.alike_for


def _confused(kind):
    """Two colours that a matrix brings together: they differ by its weakest direction."""
    basis = np.eye(3)
    grey = np.full(3, 0.3)
    seen = np.array(
        [_linear(seen_with_dichromacy(_from_linear(grey + 0.1 * b), kind)) for b in basis]
    )
    matrix = (seen - _linear(seen_with_dichromacy(_from_linear(grey), kind))).T / 0.1
    weakest = np.linalg.svd(matrix)[2][-1]
    return _from_linear(grey + 0.2 * weakest), _from_linear(grey - 0.2 * weakest)


def _from_linear(rgb):
    return srgb_to_xyz(encode_srgb(rgb))


def _linear(colour):
    return decode_srgb(xyz_to_srgb(colour))


@pytest.mark.parametrize(
    ("plain", "dichromat", "expected"),
    [
        (10.0, (4.9, 5.0, 4.9), ("protan", "tritan")),
        (9.9, (0.0, 0.0, 0.0), ()),  # they hardly differ for anyone
        (60.0, (30.0, 30.0, 30.0), ()),
    ],
)
def test_who_is_warned_for(plain, dichromat, expected):
    assert ToldApart(plain, dichromat).alike_for == expected
