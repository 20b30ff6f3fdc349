"""Economy at 10, 30 and 60 areas: what it saves, the time it takes, and what the sets win.

    python tests/bench/bench_economy.py

Targets are recipes of the palette moved at random by a few units of Lab (fixed seed), all with
different labels, each area beginning with its nearest recipe. The ratio is the time of one integer
programme over everything to that of the search by sets of brushes; both are exact.
"""

from time import perf_counter

import numpy as np

from tuimatch.colour.colorimetry import delta_e
from tuimatch.palette import file as palette_file
from tuimatch.planning import economy_search
from tuimatch.planning.areas import Area
from tuimatch.planning.economy import economise
from tuimatch.recipe import recipes

SECONDS = 60.0
CASES = [
    ("newsprint-quarters", count, allowance)
    for allowance in (1.0, 3.0, 6.0, 10.0)
    for count in (10, 30, 60)
] + [("coated-tenths", count, 1.0) for count in (10, 30, 60)]


def project(table, count):
    rng = np.random.default_rng(1)
    targets = table.lab[rng.integers(len(table), size=count)] + rng.normal(0, 4, (count, 3))
    for key, target in enumerate(targets):
        nearest = int(np.argmin(delta_e(target, table.lab)))
        lab = tuple(float(x) for x in target)
        yield Area(key, f"area {key}", lab, table.palette, table.tints_of(nearest))


def timed(areas, tables, allowance, most_in_sets):
    usual, economy_search.MOST_IN_SETS = economy_search.MOST_IN_SETS, most_in_sets
    try:
        start = perf_counter()
        found = economise(areas, tables, allowance=allowance, seconds=SECONDS)
        return found, perf_counter() - start
    finally:
        economy_search.MOST_IN_SETS = usual


def main():
    print("palette             areas  bears  passes      total ΔE         exact  seconds   ratio")
    for stem, count, allowance in CASES:
        table = recipes.mix(palette_file.load(stem))
        tables = {table.palette.digest: table}
        areas = list(project(table, count))
        found, seconds = timed(areas, tables, allowance, economy_search.MOST_IN_SETS)
        ratio = ""
        brushes = sum(len(ink.tints) for ink in table.palette.inks)
        if brushes <= economy_search.MOST_IN_SETS:
            _, whole = timed(areas, tables, allowance, -1)
            ratio = f"{whole / seconds:6.1f}"
        print(
            f"{stem:19} {count:5} {allowance:6.0f}  "
            f"{found.before.by_passes:2} → {found.after.by_passes:2}  "
            f"{found.total_before:7.1f} → {found.total_after:7.1f}  "
            f"{'yes' if found.optimal else 'no':>5}  {seconds:7.2f}  {ratio:>6}",
            flush=True,
        )


if __name__ == "__main__":
    main()
