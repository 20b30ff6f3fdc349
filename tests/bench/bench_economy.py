"""Economy at 10, 22 and 60 areas: what it saves, and what proving it takes.

    python tests/bench/bench_economy.py

Targets are recipes of the palette moved at random by a few units of Lab (fixed seed), all with
different labels, each area beginning with its nearest recipe. The ratio is the time of the whole to
that of the good answer it begins with, which proves nothing; what that alone reaches stands beside.
"""

from time import process_time

import numpy as np

from tuimatch.colour.colorimetry import delta_e
from tuimatch.palette import file as palette_file
from tuimatch.planning import economy
from tuimatch.planning.areas import Area
from tuimatch.planning.economy import economise
from tuimatch.planning.economy_search import Found
from tuimatch.planning.economy_start import good_start
from tuimatch.recipe import recipes

SECONDS = 20.0
CASES = [
    (stem, count, allowance)
    for stem in ("newsprint-quarters", "coated-tenths")
    for allowance in (1.0, 2.0, 4.0)
    for count in (10, 22, 60)
]


def project(table, count):
    rng = np.random.default_rng(1)
    targets = table.lab[rng.integers(len(table), size=count)] + rng.normal(0, 4, (count, 3))
    for key, target in enumerate(targets):
        nearest = int(np.argmin(delta_e(target, table.lab)))
        lab = tuple(float(x) for x in target)
        yield Area(key, f"area {key}", lab, table.palette, table.tints_of(nearest))


def timed(areas, tables, allowance):
    start = process_time()
    found = economise(areas, tables, allowance=allowance, seconds=SECONDS)
    return found, process_time() - start


def begun(areas, tables, allowance):
    """The good answer alone."""
    usual = economy.search
    economy.search = lambda problem: Found(good_start(problem), 0, problem.nearest)
    try:
        return timed(areas, tables, allowance)
    finally:
        economy.search = usual


def main():
    print(
        "palette             areas  extra  passes      total ΔE         exact  seconds  begun with"
    )
    for stem, count, allowance in CASES:
        table = recipes.mix(palette_file.load(stem))
        tables = {table.palette.digest: table}
        areas = list(project(table, count))
        found, seconds = timed(areas, tables, allowance)
        first, moment = begun(areas, tables, allowance)
        print(
            f"{stem:19} {count:5} {allowance:6.0f}  "
            f"{found.before.by_passes:2} → {found.after.by_passes:2}  "
            f"{found.total_before:7.1f} → {found.total_after:7.1f}  "
            f"{'yes' if found.optimal else 'no':>5}  {seconds:7.2f}  "
            f"{first.after.by_passes:2}, {first.total_after:6.1f}, ratio {seconds / moment:5.1f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
