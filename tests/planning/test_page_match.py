"""A page matched together is the best choice there is, by trying every one."""

from __future__ import annotations

from itertools import product
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import costly, screen_palettes

from tuimatch.colour.colorimetry import delta_e
from tuimatch.errors import UsageError
from tuimatch.palette import file as palette_file
from tuimatch.planning.page_match import (
    APART,
    LIGHTER,
    Relation,
    State,
    Wanted,
    broken,
    match_page,
    relations,
)
from tuimatch.recipe import recipes
from tuimatch.recipe.recipes import Recipes

colours = st.tuples(st.floats(5, 95), st.floats(-40, 40), st.floats(-40, 40))
shares = st.floats(0.001, 1)


def wanted(*labs: tuple[float, float, float], **how: object) -> list[Wanted]:
    return [Wanted(lab, lab, 1 / len(labs), **how) for lab in labs]


def passes(of: Recipes, rows: tuple[int, ...]) -> int:
    return len({(ink, step) for row in rows for ink, step in enumerate(of.steps[row]) if step})


def best_by_trying(
    page: list[Wanted],
    of: Recipes,
    kept: list[Relation],
    allowed: np.ndarray,
    tolerance: float | None,
    most_passes: int | None,
) -> tuple[float, float]:
    """The least that must be broken and the least cost with it, over every choice there is."""
    far = [delta_e(one.aim, of.lab) for one in page]
    offered = []
    for one, own in zip(page, far, strict=True):
        rows = [row for row in range(len(of)) if allowed[row]]
        if tolerance is not None:
            rows = [row for row in rows if own[row] <= own[rows].min() + tolerance + 1e-9]
        offered.append(rows if one.locked is None else [one.locked])
    best = (inf, inf)
    for rows in product(*offered):
        if most_passes is not None and passes(of, rows) > most_passes:
            continue
        breaks = 0.0
        for relation in kept:
            first, second = of.lab[rows[relation.first]], of.lab[rows[relation.second]]
            breaks += bool(broken(relation, first, second))
            if relation.apart:
                # Nearer than 4, 3, 2 and 1 count a quarter each: see the module.
                breaks += sum(float(delta_e(first, second)) < near for near in (4, 3, 2, 1)) / 4
        # One that breaks nothing is never nearer than 5.
        cost = sum(
            np.sqrt(one.share) * own[row] for one, own, row in zip(page, far, rows, strict=True)
        )
        best = min(best, (round(breaks, 6), float(cost)))
    return best


def breaks_of(of: Recipes, kept: tuple[Relation, ...], rows: tuple[int, ...]) -> float:
    total = 0.0
    for relation in kept:
        first, second = of.lab[rows[relation.first]], of.lab[rows[relation.second]]
        total += bool(broken(relation, first, second))
        if relation.apart:
            total += sum(float(delta_e(first, second)) < near for near in (4, 3, 2, 1)) / 4
    return round(total, 6)


@costly
@given(
    screen_palettes(most_inks=2).filter(lambda p: p.recipe_count <= 16),
    st.lists(st.tuples(colours, shares), min_size=2, max_size=4),
    st.data(),
)
def test_no_choice_is_better(palette, flats, data) -> None:
    of = recipes.mix(palette)
    page = [Wanted(lab, lab, share) for lab, share in flats]
    if data.draw(st.booleans(), "one is locked"):
        row = data.draw(st.integers(0, len(of) - 1), "locked")
        page[0] = Wanted(page[0].aim, page[0].given, page[0].share, row)
    every = [(i, j) for i in range(len(page)) for j in range(i)]
    kept = relations(page, data.draw(st.lists(st.sampled_from(every), unique=True), "pairs"))
    allowed = np.array(
        data.draw(st.lists(st.booleans(), min_size=len(of), max_size=len(of)), "allowed")
    )
    allowed[0] = True
    tolerance = data.draw(st.none() | st.floats(0, 30), "tolerance")
    most = data.draw(st.none() | st.integers(0, 6), "passes")
    expected = best_by_trying(page, of, kept, allowed, tolerance, most)
    limits = {"allowed": allowed, "tolerance": tolerance, "max_passes": most}
    if expected[0] == inf:
        with pytest.raises(UsageError, match="too few"):
            match_page(page, of, kept, **limits)
        return
    found = match_page(page, of, kept, **limits)
    assert found.proved
    assert breaks_of(of, found.relations, found.rows) == expected[0]
    assert found.cost == pytest.approx(expected[1], abs=1e-4)
    assert found.bound <= found.cost
    assert set(found.why_not) == {
        place
        for place, r in enumerate(kept)
        if broken(r, of.lab[found.rows[r.first]], of.lab[found.rows[r.second]])
    }


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
    assert found.why_not == {0: "no two allowed recipes keep it"}
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
    assert "stopped early" in found.certainty()
    few = match_page(page, of, kept, watch=stop, max_passes=3)
    assert passes(of, few.rows) <= 3


def test_no_recipe_allowed_is_refused() -> None:
    of = recipes.mix(palette_file.load("zine-two-inks"))
    with pytest.raises(UsageError, match="leave out every recipe"):
        match_page(wanted((50.0, 0.0, 0.0)), of, [], allowed=np.zeros(len(of), dtype=bool))
