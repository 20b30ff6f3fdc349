"""A page matched together is the best choice there is, by trying every one."""

from __future__ import annotations

from math import inf
from typing import Any, NamedTuple
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from page_by_trying import best_by_trying, breaks_of, passes
from support import costly, screen_palettes

from tuimatch.colour.colorimetry import delta_e
from tuimatch.errors import UsageError
from tuimatch.palette import file as palette_file
from tuimatch.planning import few_passes
from tuimatch.planning import relations as module
from tuimatch.planning.page_match import State, Wanted, match_page
from tuimatch.planning.relations import APART, LIGHTER, Relation, broken
from tuimatch.recipe import recipes
from tuimatch.recipe.recipes import Recipes

colours = st.tuples(st.floats(5, 95), st.floats(-40, 40), st.floats(-40, 40))
shares = st.floats(0.001, 1)


def wanted(*labs: tuple[float, float, float], **how: object) -> list[Wanted]:
    return [Wanted(lab, lab, 1 / len(labs), **how) for lab in labs]


def relations(page: list[Wanted], pairs: list[tuple[int, int]]) -> list[Relation]:
    return module.relations([one.given for one in page], pairs)


class Case(NamedTuple):
    """A small page with what is asked of it."""

    page: list[Wanted]
    of: Recipes
    kept: list[Relation]
    limits: dict[str, Any]
    best: tuple[float, float]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Random inks, flats, neighbours, locks and limits, and the best by trying."""
    of = recipes.mix(draw(screen_palettes(most_inks=2).filter(lambda p: p.recipe_count <= 16)))
    flats = draw(st.lists(st.tuples(colours, shares), min_size=2, max_size=4))
    page = [Wanted(lab, lab, share) for lab, share in flats]
    for place in draw(st.sets(st.integers(0, 1), max_size=2)):
        row = draw(st.integers(0, len(of) - 1), "locked")
        page[place] = Wanted(page[place].aim, page[place].given, page[place].share, row)
    every = [(i, j) for i in range(len(page)) for j in range(i)]
    kept = relations(page, draw(st.lists(st.sampled_from(every), unique=True)))
    allowed = np.array(draw(st.lists(st.booleans(), min_size=len(of), max_size=len(of))))
    allowed[draw(st.integers(0, len(of) - 1))] = True
    tolerance = draw(st.none() | st.floats(0, 30))
    most = draw(st.none() | st.integers(0, 6))
    best = best_by_trying(page, of, kept, allowed, tolerance, most)
    limits = {"allowed": allowed, "tolerance": tolerance, "max_passes": most}
    return Case(page, of, kept, limits, best)


# Whether sets of tints are looked at one by one, or one programme is solved for all of them.
by_sets = st.sampled_from((few_passes.MOST_SETS, 0))


@given(cases(), by_sets)
def test_no_choice_is_better(case, most_sets) -> None:
    with patch.object(few_passes, "MOST_SETS", most_sets):
        if case.best[0] == inf:
            with pytest.raises(UsageError, match="too few"):
                match_page(case.page, case.of, case.kept, **case.limits)
            return
        found = match_page(case.page, case.of, case.kept, **case.limits)
    assert found.proved
    assert breaks_of(case.of, case.kept, found.rows) == case.best[0]
    assert found.cost == pytest.approx(case.best[1], abs=1e-4)
    assert found.cost - 1e-4 <= found.bound <= found.cost
    assert set(found.why_not) == {
        place
        for place, r in enumerate(case.kept)
        if broken(r, case.of.lab[found.rows[r.first]], case.of.lab[found.rows[r.second]])
    }


@given(cases(), by_sets, st.integers(0, 6))
def test_a_search_that_is_stopped_says_what_is_true(case, most_sets, looks) -> None:
    left = iter(range(looks))
    with patch.object(few_passes, "MOST_SETS", most_sets):
        try:
            found = match_page(
                *(case.page, case.of, case.kept),
                watch=lambda _: next(left, None) is not None,
                **case.limits,
            )
        except UsageError as error:
            assert case.best[0] == inf or "in time" in str(error)
            return
    least_breaks, least = case.best
    assert found.bound <= least + 1e-4
    assert found.bound <= found.cost
    breaks = breaks_of(case.of, case.kept, found.rows)
    assert (breaks, found.cost + 1e-4) >= (least_breaks, least)
    if found.proved:
        assert (breaks, found.cost) == (least_breaks, pytest.approx(least, abs=1e-4))
    elif found.why_not:
        assert "perhaps more of them can be kept" in found.certainty()
    most = case.limits["max_passes"]
    assert most is None or passes(case.of, found.rows) <= most


@costly
@given(st.lists(st.tuples(colours, shares), min_size=3, max_size=8), st.data())
def test_the_order_of_the_flats_does_not_change_the_cost(flats, data) -> None:
    of = recipes.mix(palette_file.load("zine-two-inks"))
    page = [Wanted(lab, lab, share) for lab, share in flats]
    every = [(i, j) for i in range(len(page)) for j in range(i)]
    pairs = data.draw(st.lists(st.sampled_from(every), unique=True), "pairs")
    order = data.draw(st.permutations(range(len(page))), "order")
    at = {place: now for now, place in enumerate(order)}
    turned = [page[place] for place in order]
    found = match_page(page, of, relations(page, pairs))
    again = match_page(turned, of, relations(turned, [(at[i], at[j]) for i, j in pairs]))
    assert found.proved
    assert again.proved
    assert again.cost == pytest.approx(found.cost, abs=1e-4)
    assert breaks_of(of, again.relations, again.rows) == breaks_of(of, found.relations, found.rows)


def test_a_light_and_its_shade_are_told_apart() -> None:
    """One by one they collapse: that is what matching together is for."""
    of = recipes.mix(palette_file.load("newsprint-quarters"))
    page = wanted((70.0, 10.0, 25.0), (63.0, 11.0, 24.0))
    (relation,) = relations(page, [(0, 1)])
    assert (relation.apart, relation.lighter) == (True, 1)
    found = match_page(page, of, [relation])
    light, shade = (of.lab[row] for row in found.rows)
    assert delta_e(light, shade) >= APART
    assert light[0] > shade[0]
    alone = match_page(page, of, [])
    assert alone.rows == found.alone
    assert delta_e(*(of.lab[row] for row in found.alone)) < APART
    assert found.cost > alone.cost


def test_what_hardly_differs_has_nothing_to_keep() -> None:
    page = wanted((50.0, 0.0, 0.0), (50.0 + 0.9 * LIGHTER, 0.0, 0.0), (50.0, 30.0, 0.0))
    assert relations(page, [(0, 1)]) == []
    assert relations(page, [(0, 2)]) == [Relation(0, 2, True, 0)]
    lighter = wanted((50.0, 0.0, 0.0), (53.0, 0.0, 0.0))
    assert relations(lighter, [(0, 1)]) == [Relation(0, 1, False, -1)]


def test_the_answer_over_many_recipes_is_the_one_over_all_of_them() -> None:
    """Begun with 16 recipes each: six colours in one place need more of them than that."""
    of = recipes.mix(palette_file.load("coated-tenths"))
    page = wanted(*[(60.0 + i / 100, 5.0, 5.0) for i in range(6)])
    every = [Relation(i, j, True, 0) for i in range(6) for j in range(i)]
    found = match_page(page, of, every, seconds=120)
    assert found.proved
    assert not found.why_not
    lab = of.lab[list(found.rows)]
    apart = delta_e(lab[:, None], lab[None])[np.triu_indices(6, 1)]
    assert apart.min() >= APART - 1e-9
    assert max(found.delta_e) > delta_e(page[0].aim, of.lab[of_nearest(page[0], of, 17)])


def of_nearest(one: Wanted, of: Recipes, place: int) -> int:
    return int(np.argsort(delta_e(one.aim, of.lab), kind="stable")[place])


def test_what_cannot_be_kept_says_why() -> None:
    of = recipes.mix(palette_file.load("screen-quarters"))
    locked = wanted((60.0, 0.0, 0.0), (40.0, 0.0, 0.0), locked=3)
    found = match_page(locked, of, relations(locked, [(0, 1)]))
    assert found.why_not == {0: "both are locked"}
    assert found.proved
    paper = np.arange(len(of)) == 0
    page = wanted((60.0, 0.0, 0.0), (40.0, 0.0, 0.0))
    found = match_page(page, of, relations(page, [(0, 1)]), allowed=paper)
    assert found.why_not == {0: "no two recipes under the limits keep it"}
    assert found.rows == (0, 0)


def test_a_search_that_is_stopped_gives_a_whole_answer_and_says_what_it_is_worth() -> None:
    of = recipes.mix(palette_file.load("newsprint-quarters"))
    page = wanted(*[(30.0 + 3 * i, 2.0 * i, 10.0) for i in range(12)])
    kept = relations(page, [(i, i + 1) for i in range(11)])
    seen: list[State] = []

    def stop(state: State) -> bool:
        seen.append(state)
        return False

    found = match_page(page, of, kept, watch=stop)
    assert seen
    assert not found.proved
    assert found.bound <= match_page(page, of, kept).cost + 1e-6
    assert len(found.rows) == 12
    assert "above the least possible" in found.certainty()
    few = match_page(page, of, kept, watch=stop, max_passes=3)
    assert passes(of, few.rows) <= 3


def test_no_recipe_allowed_is_refused() -> None:
    of = recipes.mix(palette_file.load("zine-two-inks"))
    with pytest.raises(UsageError, match="leave out every recipe"):
        match_page(wanted((50.0, 0.0, 0.0)), of, [], allowed=np.zeros(len(of), dtype=bool))
