"""One more tint for a project, and what giving one up costs; against mixing the ladders anew."""

from __future__ import annotations

from dataclasses import replace

import comic
import numpy as np
import pytest

from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e, xyz_to_lab
from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.planning.areas import Area, areas_of_log, chosen
from tuimatch.planning.tints import BEST, moved_in_words, tints
from tuimatch.recipe.recipes import Recipes, mix

SCREEN = palette_file.load("screen-quarters")
NEWS = palette_file.load("newsprint-quarters")
COLOURS = ("#6f6a63", "#c98f6b", "#8c3b3f", "#1f3b57", "#e8c9a0", "#7d9ba3", "#5a5a5a")


def areas(palette=SCREEN, colours=COLOURS):
    recipes = mix(palette)
    limit = palette.coverage_limit or np.inf
    made = []
    for key, colour in enumerate(colours, 1):
        lab = target.parse(colour).lab
        off = np.where(recipes.coverage <= limit, delta_e(lab, recipes.lab), np.inf)
        made.append(Area(key, colour, lab, palette, recipes.tints_of(int(off.argmin()))))
    return tuple(made)


def with_tint(recipes: Recipes, ink: int, tint: float) -> np.ndarray:
    """CIELAB of every recipe in which an ink has one certain tint, within the coverage limit."""
    axes = [[tint] if i == ink else list(o.steps) for i, o in enumerate(recipes.palette.inks)]
    every = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, len(axes))
    every = every[every.sum(axis=1) <= (recipes.palette.coverage_limit or np.inf)]
    return xyz_to_lab(recipes.halftone.colour_of(every))


@pytest.mark.parametrize("palette", [SCREEN, NEWS], ids=lambda palette: palette.stem)
def test_the_best_tint_is_the_best_of_all(palette):
    """Every ink and every whole percent one after another, every recipe of each."""
    recipes, meant = mix(palette), areas(palette)
    limit = palette.coverage_limit or np.inf
    ladder = recipes.lab[recipes.coverage <= limit]
    now = np.array([delta_e(area.target, ladder).min() for area in meant])
    totals = {}
    for ink, own in enumerate(palette.inks):
        for tint in set(map(float, range(1, 101))) - set(own.tints):
            lab = with_tint(recipes, ink, tint)
            least = np.array([delta_e(area.target, lab).min() for area in meant])
            totals[own.name, tint] = np.minimum(now, least).sum()
    found = tints(meant)
    assert found.areas == len(meant)
    assert found.total == pytest.approx(now.sum())
    first = found.best[0]
    assert first.total == pytest.approx(min(totals.values()))
    assert totals[first.brush.ink, first.brush.tint] == pytest.approx(first.total)
    assert len(found.best) == BEST
    for one in found.best:
        assert one.total == pytest.approx(totals[one.brush.ink, one.brush.tint])
        assert found.total - one.total == pytest.approx(sum(g.by for g in one.gains), abs=0.5)
        assert [gain.by for gain in one.gains] == sorted((g.by for g in one.gains), reverse=True)
    assert [one.total for one in found.best] == sorted(one.total for one in found.best)


def test_of_each_gap_of_a_ladder_only_the_best_tint_is_told():
    gaps = [(one.brush.ink, int(one.brush.tint // 25)) for one in tints(areas()).best]
    assert len(set(gaps)) == len(gaps)


def test_a_tint_that_none_uses_costs_nothing_and_stands_first():
    meant = areas()
    found = tints(meant)
    uses = [one.uses for one in found.in_use]
    assert uses == sorted(uses)
    for one in found.in_use:
        position = [ink.name for ink in SCREEN.inks].index(one.brush.ink)
        users = [area for area in meant if area.tints[position] == one.brush.tint]
        assert one.uses == len(users)
        if not users:
            assert one.cost == 0
    assert {one.brush.tint for one in found.in_use} == {25, 50, 75, 100}


def test_what_a_lost_tint_costs_is_what_a_shorter_ladder_costs():
    meant, recipes = areas(), mix(SCREEN)
    for one in tints(meant).in_use:
        ink = [i.name for i in SCREEN.inks].index(one.brush.ink)
        shorter = recipes.lab[recipes.tints[:, ink] != one.brush.tint]
        cost = 0.0
        for area in meant:
            if area.tints[ink] == one.brush.tint:
                own = float(delta_e(area.target, recipes.lab[recipes.row_of(area.tints)]))
                cost += max(0.0, float(delta_e(area.target, shorter).min()) - own)
        assert one.cost == pytest.approx(cost, abs=0.2)


def test_each_palette_counts_for_its_own_areas():
    own, other = areas(), areas(NEWS, COLOURS[:3])
    both = (*own, *(replace(area, key=area.key + 100) for area in other))
    found = tints(both)
    assert found.total == pytest.approx(tints(own).total + tints(other).total)
    assert found.several and not tints(own).several
    best = max((tints(own), tints(other)), key=lambda t: t.total - t.best[0].total)
    assert found.best[0].brush == best.best[0].brush


def test_no_areas_need_no_tint():
    found = tints(())
    assert (found.areas, found.total, found.best, found.in_use) == (0, 0, (), ())
    assert found.in_words() == "no areas yet: take a recipe first"


def test_areas_that_are_met_need_no_tint():
    recipes = mix(SCREEN)
    lab = tuple(recipes.lab[7].tolist())
    found = tints((Area(1, "met", lab, SCREEN, recipes.tints_of(7)),))
    assert found.best == ()
    assert found.in_words() == (
        "1 area, total ΔE 0.0 to the nearest recipes; no other tint would bring them nearer"
    )


def test_the_areas_that_move_most_are_named_first():
    gains = tints(areas()).best[0].gains
    said = moved_in_words(gains, most=1)
    assert said.startswith(f"{gains[0].area.name} {gains[0].without:.1f} → ")
    assert said.endswith(f" and {len(gains) - 1} more") or len(gains) == 1


@pytest.fixture
def ferrow(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        comic.make(log)
        yield log


def test_a_page_of_the_comic(ferrow):
    meant, _ = areas_of_log(ferrow, chosen(ferrow, comic.PROJECT, "9"))
    found = tints(meant)
    assert found.areas == len(meant) > 10
    assert all(one.total < found.total for one in found.best)
