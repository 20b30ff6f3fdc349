"""Loading palettes of 125, 14,641 and 185,220 recipes, and ranking against the plain way.

The plain way is colour-science's own CIEDE2000 over the whole table and the ten least of it; both
must name the same ten. Run by hand: ``PYTHONPATH=.:tests python tests/bench/bench_palettes.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from time import perf_counter

import colour
import numpy as np
from support import REFERENCE

from tuimatch.colour import target
from tuimatch.colour.target import Target
from tuimatch.match.ranking import rank
from tuimatch.own_palette import cgats
from tuimatch.own_palette.characterise import characterise
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette
from tuimatch.recipe.halftone import Halftone
from tuimatch.recipe.recipes import Recipes, mix

TOP = 10


def best(call: Callable[[], object], times: int = 7) -> float:
    """The least time of some calls, in milliseconds."""
    taken = []
    for _ in range(times):
        start = perf_counter()
        call()
        taken.append(perf_counter() - start)
    return 1000 * min(taken)


def largest() -> Palette:
    """Nearly as many recipes as a palette may have: four inks in twentieths."""
    solids = ((255, 232, 0), (228, 0, 124), (0, 158, 224), (30, 30, 30))
    inks = tuple(
        Ink(f"ink {i}", str(i), solid, tuple(round(100 * (t + 1) / steps, 2) for t in range(steps)))
        for i, (solid, steps) in enumerate(zip(solids, (19, 20, 20, 20), strict=True))
    )
    made = Palette("largest", "Largest", "", "screen", "", "paper", (255, 255, 255), inks)
    return palette_file.parse(palette_file.to_toml(made), file="made", stem="largest")


def plainly(wanted: Target, recipes: Recipes) -> list[int]:
    """The ten nearest rows, by colour-science over the whole table."""
    differences = colour.delta_E(np.array(wanted.lab), recipes.lab, method="CIE 2000")
    rows = np.argpartition(differences, TOP)[:TOP]
    return [int(row) for row in rows[np.argsort(differences[rows])]]


def agree(wanted: Target, recipes: Recipes) -> bool:
    """Whether both ways give the same ten; ties may stand in another order."""
    ranking = rank(wanted, recipes, top=TOP)
    differences = colour.delta_E(np.array(wanted.lab), recipes.lab, method="CIE 2000")
    least = np.sort(differences)[:TOP]
    return bool(np.allclose(differences[ranking.rows], least, rtol=0, atol=1e-8))


def compare(name: str, recipes: Recipes, wanted: list[Target]) -> None:
    """Time both ways for some colours."""
    times = np.empty((len(wanted), 2))
    for i, one in enumerate(wanted):
        assert agree(one, recipes), one
        times[i] = best(partial(rank, one, recipes, top=TOP)), best(partial(plainly, one, recipes))
    ours, plain = np.median(times, axis=0)
    faster = times[:, 1] / times[:, 0]
    print(
        f"    {name}: {ours:6.2f} ms, plainly {plain:6.2f} ms; "
        f"faster by {np.median(faster):5.2f}, at worst {faster.min():.2f}"
    )


def compare_mixing() -> None:
    """Mix 194,481 recipes with a whole chart, and by the plain kernel every twentieth of them."""
    twentieths = [5.0 * step for step in range(1, 21)]
    palette = characterise(cgats.read(REFERENCE / "TR003.ti3"), twentieths).palette
    halftone = Halftone(palette)
    steps = np.indices([21] * 4).reshape(4, -1).T[::20]
    ours = best(halftone.table, 3)
    plain = 20 * best(partial(halftone.colour_of, 5.0 * steps), 1)
    off = np.abs(halftone.table()[::20] - halftone.colour_of(5.0 * steps)).max()
    print(
        f"{palette.recipe_count:>7,} recipes, {len(palette.mixtures):,} measured mixtures: "
        f"{ours:.0f} ms, plainly {plain:.0f} ms; faster by {plain / ours:.0f}, equal to {off:.0e}"
    )


def main() -> None:
    """Print times and ratios."""
    compare_mixing()
    rng = np.random.default_rng(20)
    colours = ["#{:02x}{:02x}{:02x}".format(*rgb) for rgb in rng.integers(0, 256, (40, 3))]
    anywhere = [target.parse(colour) for colour in colours]
    shipped = [palette_file.load(name) for name in ("screen-quarters", "coated-tenths")]
    for palette in (*shipped, largest()):
        loading = best(partial(palette_file.parse, palette.text, file="f", stem="s"))
        recipes = mix(palette)
        mixing = best(partial(mix, palette), 3)
        print(f"{len(recipes):>7,} recipes: file {loading:.2f} ms, mixing {mixing:.1f} ms")
        # Colours that the inks have, and colours from all of sRGB, many of them out of reach.
        own = recipes.lab[rng.integers(0, len(recipes), 40)] + rng.uniform(-1, 1, (40, 3))
        compare("in reach", recipes, [target.from_lab(tuple(lab), "") for lab in own.tolist()])
        compare("any sRGB", recipes, anywhere)


if __name__ == "__main__":
    main()
