"""What measured mixtures correct: its laws, and its shortcuts against the plain way."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import exp, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.colorimetry import delta_e, xyz_to_lab
from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.recipe.halftone import Halftone
from tuimatch.recipe.recipes import mix
from tuimatch.recipe.residual import Residual, kernel


@st.composite
def residuals(draw: st.DrawFn) -> tuple[Residual, np.ndarray, np.ndarray]:
    inks, seed = draw(st.integers(1, 5)), draw(st.integers(0, 2**32))
    random = np.random.default_rng(seed)
    patches = random.uniform(size=(draw(st.integers(1, 30)), inks))
    r = random.normal(scale=0.1, size=(len(patches), 3))
    return Residual(patches, r), patches, r


def by_definition(patches: np.ndarray, r: np.ndarray, tints: np.ndarray) -> np.ndarray:
    """The formula written out, kernel entry by kernel entry."""

    def entry(t: np.ndarray, other: np.ndarray) -> float:
        found = 1.0
        for one, two in zip(t, other, strict=True):
            found *= (1 + sqrt(3) * abs(one - two)) * exp(-sqrt(3) * abs(one - two))
        return found

    known = np.array([[entry(a, b) for b in patches] for a in patches])
    weights = np.linalg.inv(known + 0.01 * np.eye(len(patches))) @ r
    return np.exp(np.array([[entry(t, p) for p in patches] for t in tints]) @ weights)


@given(residuals(), st.integers(0, 2**32))
def test_the_correction_is_that_of_its_definition(
    made: tuple[Residual, np.ndarray, np.ndarray], seed: int
) -> None:
    residual, patches, r = made
    tints = np.random.default_rng(seed).uniform(size=(4, patches.shape[1]))
    np.testing.assert_allclose(residual.factor(tints), by_definition(patches, r, tints), rtol=1e-9)


@given(residuals())
def test_a_whole_table_by_products_equals_the_plain_kernel(
    made: tuple[Residual, np.ndarray, np.ndarray],
) -> None:
    residual, patches, _ = made
    ladders = [np.linspace(0, 1, 2 + i % 3) for i in range(patches.shape[1])]
    plainly = residual.factor(np.array(list(product(*ladders))))
    np.testing.assert_allclose(residual.table(ladders).reshape(-1, 3), plainly, rtol=0, atol=1e-12)


@given(residuals(), st.integers(1, 4))
def test_leaving_a_group_out_is_fitting_without_it(
    made: tuple[Residual, np.ndarray, np.ndarray], parts: int
) -> None:
    residual, patches, r = made
    groups = np.arange(len(patches)) % (parts + 1) - 1
    found = residual.without(groups)
    for group in set(groups.tolist()) - {-1}:
        out = groups == group
        if out.all():
            expected = np.ones((len(patches), 3))
        else:
            expected = Residual(patches[~out], r[~out]).factor(patches[out])
        np.testing.assert_allclose(found[out], expected, rtol=1e-6)


@given(st.integers(0, 2**32))
def test_the_kernel_is_one_at_the_patch_itself_and_falls_with_distance(seed: int) -> None:
    a, b, c = np.sort(np.random.default_rng(seed).uniform(size=(3, 1)), axis=0)
    assert kernel(a[None], a[None])[0, 0] == 1
    assert kernel(a[None], c[None])[0, 0] <= kernel(a[None], b[None])[0, 0] <= 1


# In a palette.


@pytest.fixture
def newsprint() -> Palette:
    return palette_file.load("newsprint-quarters")


@pytest.mark.parametrize("name", ["newsprint-quarters", "coated-tenths"])
def test_a_measured_mixture_is_met_and_what_is_known_stays(name: str) -> None:
    palette = palette_file.load(name)
    halftone, plain = Halftone(palette), Halftone(replace(palette, mixtures=()))
    tints = np.array([t for t, _ in palette.mixtures])
    labs = np.array([lab for _, lab in palette.mixtures])
    with_them = delta_e(labs, xyz_to_lab(halftone.colour_of(tints)))
    assert with_them.max() < 0.1
    assert with_them.max() < 0.2 * delta_e(labs, xyz_to_lab(plain.colour_of(tints))).max()
    alone = np.zeros((len(palette.inks), len(palette.inks)))
    np.fill_diagonal(alone, 50)
    moved = delta_e(xyz_to_lab(halftone.colour_of(alone)), xyz_to_lab(plain.colour_of(alone)))
    assert moved.max() < 0.15


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_one_recipe_and_the_whole_table_agree(name: str) -> None:
    recipes = mix(palette_file.load(name))
    rows = np.linspace(0, len(recipes) - 1, 200).astype(int)
    found = recipes.halftone.colour_of(recipes.tints[rows])
    np.testing.assert_allclose(found, recipes.xyz[rows], rtol=0, atol=1e-12)


def test_mixtures_left_out_are_predicted_by_the_others(newsprint: Palette) -> None:
    labs = np.array([lab for _, lab in newsprint.mixtures])
    found = Halftone(newsprint).mixtures_left_out()
    for i, (tints, _) in enumerate(newsprint.mixtures):
        others = tuple(mixture for j, mixture in enumerate(newsprint.mixtures) if j != i)
        expected = Halftone(replace(newsprint, mixtures=others)).colour_of([tints])[0]
        np.testing.assert_allclose(found[i], expected, rtol=1e-9)
    assert delta_e(labs, xyz_to_lab(found)).max() > 0.2


def test_mixtures_are_recipes_as_a_person_writes_them(newsprint: Palette) -> None:
    text = palette_file.to_toml(newsprint)
    assert '[measured_mixtures]\n"yellow 50, magenta 50" = [' in text
    assert palette_file.parse(text, file="a", stem=newsprint.stem).mixtures == newsprint.mixtures


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('"yellow 50" = [1, 2, 3]', "yellow 50: is not a mixture"),
        ('"yellow 50, teal 50" = [1, 2, 3]', "is not a mixture"),
        ('"yellow 50, magenta 101" = [1, 2, 3]', "is not a mixture"),
        ('"yellow 50, magenta 0" = [1, 2, 3]', "is not a mixture"),
        ('"yellow 50, yellow 50" = [1, 2, 3]', "is not a mixture"),
        ('"yellow 50 magenta 50" = [1, 2, 3]', "is not a mixture"),
        ('"yellow 50, magenta 50, " = [1, 2, 3]', "is not a mixture"),
        ('"yellow 100, cyan 100" = [1, 2, 3]', r"is all solids; give it in \[\[overprints\]\]"),
        ('"cyan 50, yellow 100" = [1, 2, 3]', "appears twice; keep one"),
        ('"yellow 10, cyan 50" = [1, 2]', "give three numbers"),
    ],
)
def test_what_is_not_a_mixture_is_refused(newsprint: Palette, line: str, message: str) -> None:
    text = palette_file.to_toml(newsprint) + line + "\n"
    with pytest.raises(PaletteError, match=message):
        palette_file.parse(text, file="a.toml", stem="a")
