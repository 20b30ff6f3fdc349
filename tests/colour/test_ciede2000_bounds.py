"""The short cuts give what reckoning every difference gives: the head of the order, the pairs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import costly, lab_triples

from tuimatch.colour import ciede2000_bounds, target
from tuimatch.colour.colorimetry import delta_e, difference
from tuimatch.match.hold import Hold
from tuimatch.match.limits import Narrowing, allowed
from tuimatch.match.ranking import rank
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

COATED = mix(palette_file.load("coated-tenths"))

holds = st.sampled_from(Hold)
# Greys and opposite hues are where CIEDE2000 jumps.
near_grey = st.tuples(st.floats(0, 100), st.floats(-1e-3, 1e-3), st.floats(-1e-3, 1e-3))
grey = st.floats(0, 100).map(lambda lightness: (lightness, 0.0, 0.0))
blue = st.tuples(st.floats(0, 100), st.floats(-60, 60), st.floats(-128, -20))
labs = st.one_of(lab_triples, blue, near_grey, grey)


@given(labs, st.lists(labs, min_size=1, max_size=30), holds)
def test_the_bound_is_never_above_the_difference(
    wanted: tuple[float, float, float], samples: list[tuple[float, float, float]], hold: Hold
) -> None:
    opposite = [(lightness, -a, -b) for lightness, a, b in (wanted, *samples)]
    turned = [(lightness, -b, a) for lightness, a, b in (wanted, *samples)]
    lab = np.array([*samples, *opposite, *turned])
    bound = ciede2000_bounds._squared_bound(np.array(wanted), lab, hold.factors)
    true = difference(wanted, lab).weighted(*hold.factors)
    assert (bound <= (true + ciede2000_bounds._SLACK / 100) ** 2).all()
    each = ciede2000_bounds._squared_bound(np.tile(wanted, (len(lab), 1)), lab, hold.factors)
    assert each.tolist() == bound.tolist()


def test_the_bound_holds_all_around_the_circle_of_hues() -> None:
    angles = np.radians(np.arange(0, 360, 2.5))
    for chroma, other in ((5, 5), (40, 60), (100, 90), (60, 1)):
        first, second = (
            np.stack([np.full_like(angles, 50), r * np.cos(angles), r * np.sin(angles)], axis=1)
            for r in (chroma, other)
        )
        for wanted in first:
            bound = ciede2000_bounds._squared_bound(wanted, second, (1, 1, 1))
            true = difference(wanted, second).delta_e
            assert (bound <= (true + ciede2000_bounds._SLACK / 100) ** 2).all()
            # And it is worth having: far from blue and from the opposite hue it is close.
            near = (np.abs(second[:, 1:] / other - wanted[1:] / chroma) < 0.5).all(axis=1)
            plain = near & (second[:, 2] > 0)
            assert (np.sqrt(bound[plain]) >= 0.4 * true[plain] - 1e-6).all()


@given(labs, holds, st.integers(1, 300), st.integers(0, 2**32 - 1), st.booleans())
def test_what_is_left_out_is_never_among_the_first(
    wanted: tuple[float, float, float], hold: Hold, top: int, seed: int, ties: bool
) -> None:
    """Whatever the colours are: clouds, and the same few colours many times over."""
    rng = np.random.default_rng(seed)
    lab = rng.uniform((0, -100, -100), (100, 100, 100), (5000, 3))
    if ties:
        lab = lab[rng.integers(0, 40, 5000)]
    kept = ciede2000_bounds.promising(wanted, lab, top, hold.factors)
    differences = difference(wanted, lab).weighted(*hold.factors)
    last = np.partition(differences, top - 1)[top - 1]
    assert set(np.flatnonzero(differences <= last + ciede2000_bounds.UNSEEN)) <= set(kept.tolist())
    assert (np.diff(kept) > 0).all()


@given(labs, holds, st.floats(0, 60), st.integers(0, 2**32 - 1))
def test_all_that_are_within_a_difference_are_found(
    wanted: tuple[float, float, float], hold: Hold, most: float, seed: int
) -> None:
    lab = np.random.default_rng(seed).uniform((0, -100, -100), (100, 100, 100), (5000, 3))
    found = ciede2000_bounds.within(wanted, lab, most, hold.factors)
    differences = difference(wanted, lab).weighted(*hold.factors)
    assert set(np.flatnonzero(differences <= most)) <= set(found.tolist())
    assert (np.diff(found) > 0).all()
    assert not len(ciede2000_bounds.within(wanted, lab[:0], most, hold.factors))


@costly
@given(labs, holds, st.integers(1, 60), st.none() | st.integers(0, 3))
def test_the_first_few_of_many_are_the_head_of_the_whole_order(
    lab: tuple[float, float, float], hold: Hold, top: int, inks: int | None
) -> None:
    wanted = target.from_lab(lab, "a colour")
    mask = allowed(COATED, Narrowing(max_inks=inks))
    whole = rank(wanted, COATED, allowed=mask, hold=hold)
    head = rank(wanted, COATED, allowed=mask, hold=hold, top=top)
    assert head.candidates == whole.candidates[:top]
    assert head.left_out == whole.left_out
    if whole.nearest is not None and head.nearest is not None:
        assert head.nearest.row == whole.nearest.row
    for attribute in Hold if len(whole) else ():
        assert head.best_holding(attribute).row == whole.best_holding(attribute).row


@pytest.mark.parametrize("row", range(0, 14_641, 487))
def test_own_colours_leave_hardly_any_work(row: int) -> None:
    kept = ciede2000_bounds.promising(COATED.lab[row], COATED.lab, 10)
    assert row in kept
    assert len(kept) < len(COATED) / 20


@given(
    st.integers(0, 2**32 - 1),
    st.integers(0, 40),
    st.sampled_from([1.0, 10.0, 40.0]),
    st.sampled_from([0.0, 60, -60]),  # blues are where CIEDE2000 bends most
    st.sampled_from([1.0, 2.0, 5.0]),
)
def test_every_near_pair_is_found_once_and_no_other(
    seed: int, count: int, spread: float, b: float, most: float
) -> None:
    lab = np.random.default_rng(seed).normal((50, 20, b), spread, (count, 3))
    lab[:, 0] = np.clip(lab[:, 0], 0, 100)
    found = [
        (frozenset((int(i), int(j))), difference)
        for first, second, differences in ciede2000_bounds.pairs(lab, most)
        for i, j, difference in zip(first, second, differences, strict=True)
    ]
    every = {
        frozenset((i, j)): float(delta_e(lab[i], lab[j])) for i in range(count) for j in range(i)
    }
    assert len(found) == len(dict(found))
    assert dict(found) == pytest.approx({two: off for two, off in every.items() if off < most})
