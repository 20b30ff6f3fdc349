"""The order against sorting everything by every rule at once."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import best, first, mix

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


@given(measured(), st.none() | st.integers(1, 130))
def test_the_first_are_in_the_documented_order(
    given: tuple[np.ndarray, np.ndarray, np.ndarray], top: int | None
) -> None:
    rows, measure, _ = given
    assert first(TABLE, rows, measure, top).tolist() == plainly(rows, measure)[:top]


@given(measured())
def test_the_best_is_the_first_of_the_documented_order(
    given: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    rows, measure, next_measure = given
    order = plainly(rows, measure, next_measure)
    assert best(TABLE, rows, measure, next_measure) == (rows[order[0]] if order else None)
