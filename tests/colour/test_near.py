"""The pairs against comparing every colour with every other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.ciede2000_bounds import pairs
from tuimatch.colour.colorimetry import delta_e


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
        for first, second, differences in pairs(lab, most)
        for i, j, difference in zip(first, second, differences, strict=True)
    ]
    every = {
        frozenset((i, j)): float(delta_e(lab[i], lab[j])) for i in range(count) for j in range(i)
    }
    assert len(found) == len(dict(found))
    assert dict(found) == pytest.approx({two: off for two, off in every.items() if off < most})
