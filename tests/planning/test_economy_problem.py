"""Which colours are too close, and cliques of what is joined."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.ciede2000_bounds import CLOSE
from tuimatch.colour.colorimetry import delta_e
from tuimatch.palette import file as palette_file
from tuimatch.planning.economy_problem import cliques, close_pairs
from tuimatch.recipe import recipes

NEWSPRINT = recipes.mix(palette_file.load("newsprint-quarters"))
ZINE = recipes.mix(palette_file.load("zine-two-inks"))


@pytest.mark.parametrize("table", [NEWSPRINT, ZINE])
def test_close_colours_are_all_found(table):
    # From black to paper, so that the greatest S_L is met; made dense to have many near 2.
    steps = np.linspace(0, 1, 5)[:, None, None]
    labs = (table.lab[:40] * steps + table.lab[-40:] * (1 - steps)).reshape(-1, 3)
    labs = np.concatenate([labs, [[float(i), 0, 0] for i in range(101)]])
    dense = delta_e(labs[:, None], labs[None]) < CLOSE
    assert np.array_equal(close_pairs(labs), dense)


@given(st.integers(1, 9), st.randoms(use_true_random=False))
def test_cliques_cover_every_vertex_and_edge_and_nothing_else(size, random):
    edges = {pair for pair in combinations(range(size), 2) if random.random() < 0.5}
    graph = np.eye(size, dtype=bool)
    for i, j in edges:
        graph[i, j] = graph[j, i] = True
    found = cliques(graph)
    assert {pair for clique in found for pair in combinations(clique, 2)} == edges
    assert {vertex for clique in found for vertex in clique} == set(range(size))


def test_both_stop_when_the_time_is_over():
    def over() -> None:
        raise TimeoutError

    with pytest.raises(TimeoutError):
        close_pairs(NEWSPRINT.lab, over)
    with pytest.raises(TimeoutError):
        cliques(np.eye(2, dtype=bool), over)
