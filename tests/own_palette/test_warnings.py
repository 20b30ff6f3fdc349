"""Doubtful palettes: each doubt is raised by what causes it and by nothing else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.colorimetry import delta_e
from tuimatch.own_palette import warnings as module
from tuimatch.own_palette.warnings import alike, doubts
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.recipe.recipes import mix


@pytest.fixture
def newsprint() -> Palette:
    return palette_file.load("newsprint-quarters")


def without_count(palette: Palette) -> list[str]:
    return [line for line in doubts(palette) if "cannot be told" not in line]


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_the_shipped_palettes_have_no_slips(name: str) -> None:
    assert without_count(palette_file.load(name)) == []


def test_a_tint_lighter_than_a_paler_one(newsprint: Palette) -> None:
    yellow, magenta, cyan = newsprint.inks
    tints = dict(magenta.measured)
    tints[50.0], tints[75.0] = tints[75.0], tints[50.0]
    swapped = replace(magenta, measured=tuple(tints.items()))
    found = without_count(replace(newsprint, inks=(yellow, swapped, cyan)))
    assert found == ["magenta 75 % is lighter than 50 % (L 61.3 after 55.9)"]
    tints = dict(cyan.measured) | {25.0: (85.0, 0.0, 0.0)}
    brighter = replace(cyan, measured=tuple(tints.items()))
    found = without_count(replace(newsprint, inks=(yellow, magenta, brighter)))
    assert found == ["cyan 25 % is lighter than the paper (L 85.0 after 80.1)"]


def test_white_ink_on_dark_paper_goes_the_other_way() -> None:
    text = """name = "Chalk"
kind = "measured"
source = "invented"
[paper]
name = "slate"
lab = [30, 0, -5]
[[inks]]
name = "white"
symbol = "W"
lab = [85, 0, 0]
tints = [50, 75, 100]
measured = { 50 = [60, 0, -2], 75 = [55, 0, -1] }
"""
    found = doubts(palette_file.parse(text, file="chalk.toml", stem="chalk"))
    assert found == ("white 75 % is darker than 50 % (L 55.0 after 60.0)",)


def test_an_overprint_lighter_than_its_inks(newsprint: Palette) -> None:
    overprints = dict(newsprint.overprints)
    overprints[(1, 2)] = (60.0, 6.56, -22.07)
    found = without_count(replace(newsprint, overprints=tuple(overprints.items())))
    assert found == [
        "the overprint magenta + cyan is lighter than magenta alone (L 60.0 after 52.6)"
    ]


def test_inks_that_hardly_differ(newsprint: Palette) -> None:
    yellow, magenta, cyan = newsprint.inks
    twin = replace(cyan, solid=tuple(x + 1 for x in magenta.solid))  # type: ignore[arg-type]
    found = without_count(replace(newsprint, inks=(yellow, magenta, twin)))
    assert any(line.startswith("magenta and cyan hardly differ (ΔE ") for line in found)


def counted(lab: np.ndarray) -> int:
    """By comparing every colour with every other."""
    differences = delta_e(lab[:, None], lab[None])
    np.fill_diagonal(differences, np.inf)
    return int((differences < 1).any(axis=1).sum())


@pytest.mark.parametrize("name", ["newsprint-quarters", "newsprint-sixty-four", "screen-quarters"])
def test_the_count_is_that_of_comparing_all(name: str) -> None:
    recipes = mix(palette_file.load(name))
    count = counted(recipes.lab)
    assert alike(recipes.lab) == count
    said = [line for line in doubts(recipes.palette, recipes) if "cannot be told" in line]
    assert said == (
        [f"{count:,} of {len(recipes):,} recipes cannot be told from another (ΔE below 1)"]
        if count
        else []
    )


@given(st.integers(0, 2**32), st.sampled_from([3.0, 10.0, 40.0]), st.sampled_from([0.0, 60, -60]))
def test_no_near_pair_is_missed_anywhere(seed: int, spread: float, b: float) -> None:
    # Blues at b = -60 are where CIEDE2000 bends most.
    lab = np.random.default_rng(seed).normal((50, 20, b), (spread, spread, spread), (60, 3))
    lab[:, 0] = np.clip(lab[:, 0], 0, 100)
    assert alike(lab) == counted(lab)


def test_a_sample_stands_for_many(monkeypatch: pytest.MonkeyPatch) -> None:
    lab = mix(palette_file.load("coated-tenths")).lab
    exact = alike(lab)
    monkeypatch.setattr(module, "MOST_COMPARED", 1000)
    assert alike(lab) == pytest.approx(exact, rel=0.1)
