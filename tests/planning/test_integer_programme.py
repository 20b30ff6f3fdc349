"""The door to HiGHS, held against all columns tried."""

from itertools import product
from time import monotonic

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.planning.integer_programme import Programme, Progress

few = st.integers(-4, 4)


@given(st.data())
def test_nothing_that_keeps_the_rows_costs_less(data):
    count = data.draw(st.integers(1, 5))
    rows = data.draw(
        st.lists(st.tuples(st.lists(few, min_size=count, max_size=count), few, few), max_size=5)
    )
    costs = data.draw(st.lists(st.floats(-5, 5), min_size=count, max_size=count))
    programme = Programme()
    columns = programme.columns(count, lower=-1, upper=2)
    for factors, one, other in rows:
        programme.row(columns, factors, min(one, other), max(one, other))
    answer = programme.least(costs)

    lawful = [
        np.dot(costs, tried)
        for tried in product((-1, 0, 1, 2), repeat=count)
        if all(min(a, b) <= np.dot(f, tried) <= max(a, b) for f, a, b in rows)
    ]
    assert answer.proved
    assert (answer.status == "optimal") == bool(lawful)
    if lawful:
        assert np.dot(costs, answer.values) == pytest.approx(min(lawful), abs=1e-5)
        assert answer.bound == pytest.approx(min(lawful), abs=1e-5)


def test_continuous_columns_take_up_what_whole_ones_leave():
    programme = Programme()
    whole = programme.columns(2, upper=3)
    slack = programme.columns(1, upper=5, whole=False)
    programme.row([*whole, *slack], [2, 3, 1], 6.5, 6.5)
    answer = programme.least([1, 1.2, 10])
    assert (answer.status, answer.values.tolist()) == ("optimal", pytest.approx([0, 2, 0.5]))
    alone = Programme()
    alone.row(alone.columns(2, upper=[1, np.inf], whole=False), 1, 1.5)
    answer = alone.least([1, 2])
    assert (answer.status, answer.values.tolist()) == ("optimal", pytest.approx([1, 0.5]))
    assert answer.bound == pytest.approx(2)


def test_a_row_added_after_an_answer_holds_for_the_next():
    programme = Programme()
    columns = programme.columns(3)
    programme.row(columns, 1, 2)
    first = programme.least([1, 1, 1])
    programme.row(columns, 1, upper=first.bound)
    assert programme.least([3, 1, 2]).values.tolist() == [0, 1, 1]


def hard():
    """Covering: far more to search than a moment is enough for."""
    rng = np.random.default_rng(0)
    programme = Programme()
    programme.columns(300)
    for _ in range(120):
        weights = rng.integers(1, 40, 25)
        programme.row(rng.choice(300, 25, replace=False), weights, lower=weights.sum() / 3)
    return programme, rng.integers(10, 60, 300)


def test_a_watch_sees_the_progress_and_stops_it():
    seen: list[Progress] = []

    def watch(progress: Progress) -> bool:
        seen.append(progress)
        return progress.cost == np.inf

    programme, costs = hard()
    answer = programme.least(costs, watch=watch)
    assert seen[-1].cost < np.inf
    assert (answer.status, answer.proved) == ("stopped", False)
    assert answer.bound <= costs @ answer.values <= seen[-1].cost


def test_a_deadline_that_is_over_leaves_no_time_to_begin():
    programme, costs = hard()
    answer = programme.least(costs, deadline=monotonic() - 1)
    assert (answer.status, answer.values, answer.bound) == ("stopped", None, -np.inf)
