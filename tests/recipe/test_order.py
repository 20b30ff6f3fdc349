"""The order against sorting everything by every rule at once."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import best, mix, nearest_first

TABLE = mix(palette_file.load("newsprint-quarters"))

# Few values, so that many tie, some of them only nearly.
values = st.sampled_from([0.0, 1e-12, 1.0, 1.0 + 1e-8, 2.0])


@st.composite
def measured(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rows = np.array(sorted(draw(st.sets(st.integers(0, len(TABLE) - 1)))), dtype=np.intp)
    several = st.lists(values, min_size=len(rows), max_size=len(rows)).map(np.array)
    return rows, draw(several), draw(several)


def plainly(rows: np.ndarray, *measures: np.ndarray) -> list[int]:
    """Positions among the rows, sorted by everything that decides."""
    keys = [np.round(measure, 9).tolist() for measure in measures]
    ties = [TABLE.inks[rows].tolist(), TABLE.coverage[rows].tolist()]
    tints = [TABLE.tints_of(row) for row in rows]
    decisive = list(zip(*keys, *ties, tints, strict=True))
    return sorted(range(len(rows)), key=decisive.__getitem__)


@given(
    st.lists(
        st.sampled_from([0, 0.1, 0.15, 0.2, 0.2 - 1e-13, 0.39, 0.4, 0.6, 5.0, 5.1]), max_size=60
    ),
    st.none() | st.integers(1, 130),
)
def test_an_ink_saved_counts_more_than_a_fifth_of_delta_e(
    off: list[float], top: int | None
) -> None:
    """Steps of 0.2, then fewer inks, less coverage, ΔE itself, tints in laying order."""
    rows = np.arange(len(off), dtype=np.intp)
    fifths = {0.2 - 1e-13: 1, 0.39: 1, 0.4: 2, 0.6: 3, 5.0: 25, 5.1: 25}  # written by hand
    decisive = [
        (
            fifths.get(value, 1 if value == 0.2 else 0),
            int(TABLE.inks[row]),
            float(TABLE.coverage[row]),
            round(value, 9),
            TABLE.tints_of(row),
        )
        for row, value in enumerate(off)
    ]
    expected = sorted(range(len(off)), key=decisive.__getitem__)
    assert nearest_first(TABLE, rows, np.array(off, dtype=float), top).tolist() == expected[:top]


@given(measured())
def test_the_best_is_the_first_of_the_documented_order(
    given: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    rows, measure, next_measure = given
    order = plainly(rows, measure, next_measure)
    assert best(TABLE, rows, measure, next_measure) == (rows[order[0]] if order else None)
