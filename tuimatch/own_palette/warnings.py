"""What is legal in a palette but doubtful: slips that no check of the file can refuse."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from tuimatch.colour.ciede2000_bounds import pairs, within
from tuimatch.colour.colorimetry import Array, delta_e, xyz_to_lab
from tuimatch.palette.model import Palette
from tuimatch.recipe.halftone import primaries
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.text import percent

# Below this, two colours count as one (common practice, no source).
ALIKE = 1.0
# Solids of two inks nearer than this are hardly two inks (common practice, no source).
HARDLY_DIFFERENT = 5.0
# A lighter tint by less than this is the noise of measuring (TR 002 repeats differ by up to 0.8).
_NOISE = 0.5

# With more recipes than this a sample is compared with all of them.
MOST_COMPARED = 20_000
_SAMPLE = 500


def doubts(palette: Palette, recipes: Recipes | None = None) -> tuple[str, ...]:
    """Everything doubtful about a palette, one line each.

    Args:
        palette: A checked palette.
        recipes: Its recipes where they are at hand.
    """
    recipes = mix(palette) if recipes is None else recipes
    found = [*_lighter_tints(recipes), *_lighter_overprints(palette), *_like_inks(palette)]
    if count := alike(recipes.lab):
        about = "about " if len(recipes) > MOST_COMPARED else ""
        found.append(
            f"{about}{count:,} of {len(recipes):,} recipes cannot be told from another (ΔE below 1)"
        )
    return tuple(found)


def alike(lab: Array) -> int:
    """How many colours have another one nearer than CIEDE2000 1.

    Exact up to `MOST_COMPARED` colours; beyond that a sample, spread evenly over lightness, is
    compared with all of them and the count is estimated from it.

    Args:
        lab: CIELAB, shape (N, 3).
    """
    if len(lab) <= MOST_COMPARED:
        near = np.zeros(len(lab), dtype=np.bool_)
        for one, other, _ in pairs(lab, ALIKE):
            near[one] = near[other] = True
        return int(near.sum())
    by_lightness = np.argsort(lab[:, 0], kind="stable")
    chosen = by_lightness[np.linspace(0, len(lab) - 1, _SAMPLE).astype(np.intp)]
    found = 0
    for row in chosen:
        about = within(lab[row], lab, ALIKE)
        found += bool((delta_e(lab[row], lab[about[about != row]]) < ALIKE).any())
    return round(found / len(chosen) * len(lab))


def _lighter_tints(recipes: Recipes) -> list[str]:
    found = []
    palette = recipes.palette
    for i, ink in enumerate(palette.inks):
        alone = np.zeros((len(ink.steps), len(palette.inks)))
        alone[:, i] = ink.steps
        lab = xyz_to_lab(recipes.halftone.colour_of(alone))
        # What the file says comes before what is predicted, which is kept within paper and solid.
        for tint, measured in ink.measured:
            lab[ink.steps.index(tint)] = measured
        dark = lab[-1, 0] < lab[0, 0]
        for row in range(1, len(lab)):
            rise = (lab[row, 0] - lab[row - 1, 0]) * (1 if dark else -1)
            if rise > _NOISE:
                paler = percent(ink.steps[row - 1]) + " %" if row > 1 else "the paper"
                found.append(
                    f"{ink.name} {percent(ink.steps[row])} % is "
                    f"{'lighter' if dark else 'darker'} than {paler} (L {lab[row, 0]:.1f} "
                    f"after {lab[row - 1, 0]:.1f})"
                )
    return found


def _lighter_overprints(palette: Palette) -> list[str]:
    found = []
    lab = xyz_to_lab(primaries(palette))
    for row in range(len(lab)):
        inks = [i for i in range(len(palette.inks)) if row >> i & 1]
        if len(inks) < 2:
            continue
        darkest = min(inks, key=lambda i: float(lab[1 << i, 0]))
        if lab[row, 0] - lab[1 << darkest, 0] > _NOISE:
            names = " + ".join(palette.inks[i].name for i in inks)
            found.append(
                f"the overprint {names} is lighter than {palette.inks[darkest].name} alone "
                f"(L {lab[row, 0]:.1f} after {lab[1 << darkest, 0]:.1f})"
            )
    return found


def _like_inks(palette: Palette) -> list[str]:
    lab = xyz_to_lab(primaries(palette)[1 << np.arange(len(palette.inks))])
    found = []
    for i, j in combinations(range(len(palette.inks)), 2):
        apart = float(delta_e(lab[i], lab[j]))
        if apart < HARDLY_DIFFERENT:
            found.append(
                f"{palette.inks[i].name} and {palette.inks[j].name} hardly differ (ΔE {apart:.1f})"
            )
    return found
