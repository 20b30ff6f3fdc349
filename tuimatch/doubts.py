"""What is legal in a palette but doubtful: slips that no check of the file can refuse."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from tuimatch.colorimetry import Array, delta_e, xyz_to_lab
from tuimatch.halftone import ladder_areas, primaries
from tuimatch.palette import Palette
from tuimatch.recipes import Recipes, mix, predict
from tuimatch.text import percent

# Below this, two colours count as one (common practice, no source).
ALIKE = 1.0
# Solids of two inks nearer than this are hardly two inks (common practice, no source).
HARDLY_DIFFERENT = 5.0
# A lighter tint by less than this is the noise of measuring (TR 002 repeats differ by up to 0.8).
_NOISE = 0.5

# CIEDE2000 below 1 bounds how far two colours can lie apart in CIELAB, from its own formula:
# S_L is at most 1.75; S_C and S_H at most 1 + 0.045 C', and C' at most 1.5 C; R_T at most
# 2 sin 60°.
_REACH_L = 1.75
_REACH_AB = 1 / np.sqrt(1 - np.sin(np.radians(60)))

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
    found = [*_lighter_tints(palette), *_lighter_overprints(palette), *_like_inks(palette)]
    if count := alike(recipes.lab):
        about = "about " if len(recipes) > MOST_COMPARED else ""
        found.append(
            f"{about}{count:,} of {len(recipes):,} recipes cannot be told from another (ΔE below 1)"
        )
    return tuple(found)


def alike(lab: Array) -> int:
    """How many colours have another one nearer than CIEDE2000 1.

    Exact up to `MOST_COMPARED` colours; beyond, every so many are compared with all and the count
    is what that comes to.

    Args:
        lab: CIELAB, shape (N, 3).
    """
    order = np.argsort(lab[:, 0], kind="stable")
    sorted_lab = lab[order]
    if len(lab) <= MOST_COMPARED:
        return int(_any_near(sorted_lab).sum())
    chosen = np.linspace(0, len(lab) - 1, _SAMPLE).astype(np.intp)
    lightness = sorted_lab[:, 0]
    found = 0
    for i in chosen:
        first, last = np.searchsorted(lightness, (lightness[i] - _REACH_L, lightness[i] + _REACH_L))
        others = np.delete(np.arange(first, last), i - first)
        others = others[_could_be_near(sorted_lab[i], sorted_lab[others])]
        found += bool((delta_e(sorted_lab[i], sorted_lab[others]) < ALIKE).any())
    return round(found / len(chosen) * len(lab))


def _any_near(lab: Array) -> npt.NDArray[np.bool_]:
    """Which colours, ascending in L, have another one near; shape (N,)."""
    near = np.zeros(len(lab), dtype=np.bool_)
    for step in range(1, len(lab)):
        lower, upper = lab[:-step], lab[step:]
        # Sorted by lightness: once no pair so many places apart can be near, none further can.
        close = upper[:, 0] - lower[:, 0] < _REACH_L
        if not close.any():
            break
        pairs = np.flatnonzero(close & ~(near[:-step] & near[step:]))
        pairs = pairs[_could_be_near(lower[pairs], upper[pairs])]
        pairs = pairs[delta_e(lower[pairs], upper[pairs]) < ALIKE]
        near[pairs] = near[pairs + step] = True
    return near


def _could_be_near(first: Array, second: Array) -> npt.NDArray[np.bool_]:
    """Where CIEDE2000 below 1 is not ruled out by the distance in a and b."""
    distance = np.hypot(first[..., 1] - second[..., 1], first[..., 2] - second[..., 2])
    chroma = np.hypot(first[..., 1], first[..., 2]) + np.hypot(second[..., 1], second[..., 2])
    return np.asarray(distance < _REACH_AB * (1 + 0.045 * 1.5 * chroma / 2))


def _lighter_tints(palette: Palette) -> list[str]:
    found = []
    areas = ladder_areas(palette)
    for i, ink in enumerate(palette.inks):
        steps = np.zeros((len(areas[i]), len(palette.inks)), dtype=np.intp)
        steps[:, i] = np.arange(len(steps))
        lab = xyz_to_lab(predict(palette, steps))
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
