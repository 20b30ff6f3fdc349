"""The good answer that the economy begins with, and what is too large for an exact one."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from support import in_fresh_interpreter
from test_economy import BY_STEM, TABLES, crowded, economise, made, projects

from tuimatch.colour.colorimetry import delta_e
from tuimatch.palette import file as palette_file
from tuimatch.planning import economy, economy_problem, economy_search
from tuimatch.planning.areas import Area
from tuimatch.planning.economy_start import good_start
from tuimatch.recipe import recipes

COATED = recipes.mix(palette_file.load("coated-tenths"))


def coated(count):
    rng = np.random.default_rng(1)
    targets = COATED.lab[rng.integers(len(COATED), size=count)] + rng.normal(0, 4, (count, 3))
    for key, target in enumerate(targets):
        nearest = int(np.argmin(delta_e(target, COATED.lab)))
        lab = tuple(float(x) for x in target)
        yield Area(key, f"area {key}", lab, COATED.palette, COATED.tints_of(nearest))


def unproved(picks):
    return economy_search.Found(picks, 0, 0.0)


@given(projects(list(BY_STEM), most=7, least=1))
def test_it_is_lawful_and_no_worse_than_what_is_taken_now(project):
    seen = []

    def spied(problem):
        seen.append((problem, good_start(problem)))
        return unproved(seen[-1][1])

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(economy, "search", spied)
        found = economise(made(project), TABLES, allowance=5)
    ((problem, picks),) = seen
    assert problem.lawful(picks)
    assert problem.worth(picks) <= problem.worth(problem.present)
    assert problem.brushes(picks) == found.after.by_passes
    # The law, told without the code under test.
    labs = problem.labs[[own[i] for own, i in zip(problem.colours, picks, strict=True)]]
    near = delta_e(labs[:, None], labs[None]) < economy_problem.CLOSE - 1e-9
    every = np.arange(len(picks))
    assert not (near & problem.apart(every[:, None], every)).any()


@pytest.mark.parametrize("allowance", [3, 6, 10])
def test_it_is_nearly_as_good_as_the_exact_answer(allowance, monkeypatch):
    exact = economise(crowded(20), TABLES, allowance=allowance)
    monkeypatch.setattr(economy, "search", lambda problem: unproved(good_start(problem)))
    started = economise(crowded(20), TABLES, allowance=allowance)
    assert exact.after.by_passes <= started.after.by_passes <= exact.after.by_passes + 1
    assert started.after.by_passes < started.before.by_passes


def test_a_larger_allowance_is_never_worse_for_being_too_large_to_search(monkeypatch):
    """Beyond what can be written down nothing is: neither the table of close colours nor rows."""
    areas, tables = list(coated(12)), {COATED.palette.digest: COATED}
    small = economise(areas, tables, allowance=1)
    assert small.optimal

    def built(*_):
        raise AssertionError("the table is too large")

    monkeypatch.setattr(economy_problem, "_MOST_COLOURS", 500)
    monkeypatch.setattr(economy_problem, "close_pairs", built)
    worth = (small.after.by_passes, small.total_after)
    for allowance in (3, 6):
        found = economise(areas, tables, allowance=allowance)
        assert not found.optimal
        assert found.fewest == 0
        assert found.least <= found.total_before
        assert (found.after.by_passes, found.total_after) < worth
        for change in found.changes:
            row = COATED.row_of(change.tints)
            off = delta_e(change.area.target, COATED.lab)
            assert off[row] <= off.min() + allowance + 1e-9
        worth = (found.after.by_passes, found.total_after)


def test_of_too_many_recipes_the_nearest_are_offered(monkeypatch):
    monkeypatch.setattr(economy, "_MOST_OFFERED", 12 * 30)
    areas, tables = list(coated(12)), {COATED.palette.digest: COATED}
    far = replace(areas[0], tints=(0.0, 0.0, 0.0, 100.0))
    found = economise([far, *areas[1:]], tables, allowance=6)
    assert not found.optimal
    assert found.after.by_passes < found.before.by_passes
    for change in found.changes:
        off = delta_e(change.area.target, COATED.lab)
        assert change.delta_e_after <= np.sort(off)[29] or not change.changed


def test_ten_thousand_areas_take_less_than_half_a_gigabyte():
    """Tables over all pairs of areas took 24 GB. The line says what can be planned instead."""
    code = """
import sys
from pathlib import Path
sys.path[:0] = ["tests", "tests/planning"]
from test_economy import TABLES, crowded
from tuimatch.planning.economy import economise
found = economise(crowded(10_000), TABLES, allowance=2, seconds=10)
assert found.after.by_passes <= found.before.by_passes
assert found.certainty().endswith("too many areas to search completely, plan one page")
# Not ru_maxrss: that starts with what the process that started this one had.
print(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])
"""
    done = in_fresh_interpreter(code)
    assert done.returncode == 0, done.stderr
    kilobytes = int(done.stdout)
    assert kilobytes < 500_000
