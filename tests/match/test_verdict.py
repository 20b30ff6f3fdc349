"""The verdict: within reach, between the tints, beyond the inks; against a dense search."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour import target
from tuimatch.colour.ciede2000_bounds import promising
from tuimatch.colour.colorimetry import delta_e, xyz_to_lab
from tuimatch.match.answer import Question, known, match
from tuimatch.match.any_tints import any_tints
from tuimatch.match.limits import Narrowing, start
from tuimatch.match.one_more_tint import MOST, in_parts, one_more_tint, size
from tuimatch.match.verdict import REACHED, Reached, in_short, in_words, reached
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink
from tuimatch.recipe.recipes import Recipes, mix

labs = st.tuples(st.floats(2, 98), st.floats(-70, 70), st.floats(-70, 70))


@cache
def table(name: str) -> Recipes:
    return mix(palette_file.load(name))


@cache
def dense(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Tints of two or three inks in steps of 1 % within the coverage limit, and their CIELAB."""
    recipes = table(name)
    axes = [np.arange(101.0)] * len(recipes.palette.inks)
    tints = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, len(axes))
    tints = tints[tints.sum(axis=1) <= (recipes.palette.coverage_limit or np.inf)]
    lab = np.concatenate(
        [
            xyz_to_lab(recipes.halftone.colour_of(tints[i : i + 50_000]))
            for i in range(0, len(tints), 50_000)
        ]
    )
    return tints, lab


@pytest.mark.parametrize("name", ["screen-quarters", "newsprint-quarters", "zine-two-inks"])
@pytest.mark.parametrize(
    "limits",
    [{}, {"max_inks": 2}, {"fixed": frozenset({(0, 75.0)})}, {"without": frozenset({1})}],
    ids=["free", "two inks", "first ink down", "without the second"],
)
def test_any_tints_are_true_to_a_fifth_of_delta_e(name: str, limits: dict[str, object]) -> None:
    """Beside every whole percent of every ink; between those it may come nearer still."""
    recipes = table(name)
    if name == "zine-two-inks" and "fixed" in limits:
        limits = {"fixed": frozenset({(0, recipes.palette.inks[0].tints[1])})}
    narrowing = replace(start(recipes.palette), **limits)
    tints, lab = dense(name)
    kept = (tints > 0).sum(axis=1) <= (narrowing.max_inks or 9)
    for ink, tint in narrowing.fixed:
        kept &= tints[:, ink] == tint
    for ink in narrowing.without:
        kept &= tints[:, ink] == 0
    lab = lab[kept]
    rng = np.random.default_rng(12)
    for wanted in rng.uniform((5, -70, -70), (97, 70, 70), (40, 3)).tolist():
        best = delta_e(wanted, lab[promising(wanted, lab, 1)]).min()
        found = any_tints(recipes, tuple(wanted), narrowing)
        assert found is not None
        assert found.delta_e <= best + 0.2
        assert (narrowing.max_inks or 9) >= np.count_nonzero(found.tints)
        assert all(found.tints[ink] == tint for ink, tint in narrowing.fixed)
        assert all(found.tints[ink] == 0 for ink in narrowing.without)
        assert sum(found.tints) <= (narrowing.max_coverage or np.inf) + 1e-6
        own = xyz_to_lab(recipes.halftone.colour_of([found.tints]))[0]
        assert found.delta_e == pytest.approx(float(delta_e(wanted, own)))


def test_any_tints_of_four_inks_are_no_worse_than_a_dense_search_around_them() -> None:
    """Steps of 4 % everywhere, then of 1 % around the best of them."""
    recipes = table("coated-tenths")
    narrowing = start(recipes.palette)
    axis = np.arange(0, 101, 4.0)
    tints = np.stack(np.meshgrid(*[axis] * 4, indexing="ij"), -1).reshape(-1, 4)
    tints = tints[tints.sum(axis=1) <= (narrowing.max_coverage or np.inf)]
    lab = xyz_to_lab(recipes.halftone.colour_of(tints))
    about = np.stack(np.meshgrid(*[np.arange(-3, 4.0)] * 4, indexing="ij"), -1).reshape(-1, 4)
    for wanted in np.random.default_rng(4).uniform((5, -60, -60), (95, 60, 60), (12, 3)).tolist():
        rows = promising(wanted, lab, 3)
        nearest = tints[rows[delta_e(wanted, lab[rows]).argsort()[:3]]]
        finer = np.clip(nearest[:, None] + about, 0, 100).reshape(-1, 4)
        finer = finer[finer.sum(axis=1) <= (narrowing.max_coverage or np.inf)]
        best = delta_e(wanted, xyz_to_lab(recipes.halftone.colour_of(finer))).min()
        found = any_tints(recipes, tuple(wanted), narrowing)
        assert found is not None
        assert found.delta_e <= best + 0.2


def test_limits_that_leave_nothing_leave_no_tints() -> None:
    nothing = Narrowing(fixed=frozenset({(0, 75.0), (1, 75.0)}), max_coverage=100)
    assert any_tints(table("screen-quarters"), (50, 0, 0), nothing) is None


@given(labs, st.sampled_from(["screen-quarters", "newsprint-sixty-four", "zine-two-inks"]))
def test_one_more_tint_is_what_mixing_a_longer_ladder_gives(
    wanted: tuple[float, float, float], name: str
) -> None:
    """The palette with that tint is mixed again and asked; no other tint tried does better."""
    recipes = table(name)
    narrowing = start(recipes.palette)
    found = one_more_tint(recipes, wanted, narrowing)
    assert found is not None
    assert longer(recipes, found.ink, found.tint, wanted) == pytest.approx(found.delta_e, abs=0.02)
    rng = np.random.default_rng(int(wanted[0] * 1000))
    for _ in range(3):
        ink = int(rng.integers(len(recipes.palette.inks)))
        tint = float(rng.integers(1, 101))
        if tint not in recipes.palette.inks[ink].tints:
            assert found.delta_e <= longer(recipes, ink, tint, wanted) + 0.02


def longer(recipes: Recipes, ink: int, tint: float, wanted: tuple[float, float, float]) -> float:
    """ΔE of the nearest recipe that has a tint which is added to the ladder."""
    palette = recipes.palette
    inks = list(palette.inks)
    inks[ink] = replace(inks[ink], tints=tuple(sorted({*inks[ink].tints, tint})), labels=())
    if palette.kind == "measured":  # mixed by the curve, not by the gain of an unmeasured tint
        lab = xyz_to_lab(recipes.halftone.colour_of(every(inks, ink, tint)))
        kept = every(inks, ink, tint).sum(axis=1) <= (palette.coverage_limit or np.inf)
        return float(delta_e(wanted, lab[kept]).min())
    mixed = mix(replace(palette, inks=tuple(inks)))
    return float(delta_e(wanted, mixed.lab[mixed.tints[:, ink] == tint]).min())


def every(inks: list[Ink], ink: int, tint: float) -> np.ndarray:
    axes = [[tint] if i == ink else list(other.steps) for i, other in enumerate(inks)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, len(inks))


def test_every_tint_that_a_ladder_lacks_is_tried_once() -> None:
    for name in ("screen-quarters", "zine-two-inks"):
        recipes = table(name)
        parts = list(in_parts(recipes, most=500))
        tried = np.concatenate([part.tints for part in parts])
        assert len(tried) == size(recipes.palette) == len(np.unique(tried, axis=0))
        for i, ink in enumerate(recipes.palette.inks):
            own = {float(t) for part in parts if part.ink == i for t in part.tint}
            assert own | set(ink.tints) >= set(map(float, range(1, 101)))
            assert not own & set(ink.tints)


def asked(text: str, name: str = "screen-quarters", **limits: object):
    recipes = table(name)
    narrowing = replace(start(recipes.palette), **limits)
    return match(recipes, Question(target.parse(text), narrowing=narrowing), known(recipes))


@given(labs, st.sampled_from(["screen-quarters", "newsprint-quarters"]))
def test_the_verdict_is_decided_by_the_two_differences(
    wanted: tuple[float, float, float], name: str
) -> None:
    recipes = table(name)
    question = Question(target.from_lab(wanted, "a colour"), narrowing=start(recipes.palette))
    answer = match(recipes, question, known(recipes))
    judged, nearest = answer.verdict, answer.ranking.nearest
    assert judged is not None and nearest is not None
    assert judged.delta_e == nearest.delta_e
    could = any_tints(recipes, answer.meant.lab, question.narrowing)
    assert could is not None
    # What any tints reach is never worse than the ladder, to the tenth of a percent.
    assert could.delta_e <= nearest.delta_e + 0.2
    expected = Reached.WITHIN
    if nearest.delta_e > REACHED:
        expected = Reached.BETWEEN if could.delta_e <= REACHED else Reached.BEYOND
    assert judged.reached is expected
    assert (judged.any_tint is None) == (expected is Reached.WITHIN)
    if judged.one_more is not None:
        assert expected is Reached.BETWEEN
        assert judged.one_more.delta_e < judged.delta_e


def test_five_is_still_within_reach() -> None:
    assert reached(5.0, 0.0) is Reached.WITHIN
    assert reached(5.01, 5.0) is Reached.BETWEEN
    assert reached(5.01, 5.01) is Reached.BEYOND


def test_the_verdict_is_worded_once() -> None:
    between = asked("#5a5a5a").verdict
    assert between is not None
    first, could, more = in_words(table("screen-quarters").palette, between)
    assert first == f"between your tints: the best is ΔE {between.delta_e:.1f}, much lighter"
    assert could.startswith("other tints could come to ΔE 0.0: yellow ")
    assert more.startswith("one more tint, cyan 89 %, would come to ΔE ")
    beyond = asked("#6a0dad").verdict
    assert beyond is not None
    first, even = in_words(table("screen-quarters").palette, beyond)
    assert first.startswith("beyond these inks: the best is ΔE ")
    assert even.startswith("whatever the tints, these inks stay ΔE ")
    within = asked("#ffe800").verdict
    assert within is not None
    assert in_words(table("screen-quarters").palette, within)[0].startswith("within reach: ΔE ")
    assert in_short(within) == f"within reach: ΔE {within.delta_e:.1f}"


def test_limits_count_for_the_verdict_and_what_they_cost_is_told() -> None:
    """Under "at most one ink" no tint of one ink makes this green; without it the ladder does."""
    answer = asked("#6f9b6c", "coated-tenths", max_inks=1)
    assert answer.verdict is not None
    assert answer.verdict.reached is Reached.BEYOND
    assert answer.verdict.any_tint is not None
    assert np.count_nonzero(answer.verdict.any_tint.tints) <= 1
    assert answer.without_limits is not None
    assert answer.without_limits.delta_e <= REACHED
    assert asked("#6f9b6c", "coated-tenths").without_limits is None


def test_where_nothing_is_left_there_is_no_verdict() -> None:
    answer = asked("#888", fixed=frozenset({(0, 75.0), (1, 75.0)}), max_coverage=100)
    assert answer.verdict is None
    assert answer.top is None


def test_many_inks_are_judged_later_but_judged() -> None:
    assert asked("#888").is_judged
    far = asked("#6f9b6c", "coated-tenths", max_inks=1)
    assert not far.is_judged
    assert far.verdict is not None
    assert far.is_judged
    assert size(table("coated-tenths").palette) <= MOST
