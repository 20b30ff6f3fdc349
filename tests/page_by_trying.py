"""The best match of a small page, by trying every choice there is."""

from __future__ import annotations

from itertools import product
from math import inf

import numpy as np

from tuimatch.colour.colorimetry import delta_e
from tuimatch.planning.page_match import Wanted
from tuimatch.planning.relations import Relation
from tuimatch.recipe.recipes import Recipes


def passes(of: Recipes, rows: tuple[int, ...]) -> int:
    return len({(ink, step) for row in rows for ink, step in enumerate(of.steps[row]) if step})


def breaks_tables(of: Recipes, kept: list[Relation]) -> list[np.ndarray]:
    """How much each two recipes break of each relation: 1, and a quarter nearer than 4, 3, 2, 1."""
    far = delta_e(of.lab[:, None], of.lab[None])
    more = of.lab[:, None, 0] - of.lab[None, :, 0]
    tables = []
    for relation in kept:
        lost = np.zeros(far.shape, dtype=bool)
        if relation.apart:
            lost |= far < 5 - 1e-9
        if relation.lighter:
            lost |= relation.lighter * more <= 1e-9
        nearer = sum((far < near).astype(float) for near in (4, 3, 2, 1)) / 4
        tables.append(lost + relation.apart * nearer)
    return tables


def breaks_of(of: Recipes, kept: list[Relation], rows: tuple[int, ...]) -> float:
    """How much a choice breaks."""
    tables = breaks_tables(of, kept)
    pairs = zip(kept, tables, strict=True)
    return round(sum(float(table[rows[r.first], rows[r.second]]) for r, table in pairs), 6)


def best_by_trying(
    page: list[Wanted],
    of: Recipes,
    kept: list[Relation],
    allowed: np.ndarray,
    tolerance: float | None,
    most_passes: int | None,
) -> tuple[float, float]:
    """The least that must be broken and the least cost with it; infinite where nothing will do."""
    far = [delta_e(one.aim, of.lab) for one in page]
    offered = []
    for one, own in zip(page, far, strict=True):
        rows = [row for row in range(len(of)) if allowed[row]]
        if tolerance is not None:
            rows = [row for row in rows if own[row] <= own[rows].min() + tolerance + 1e-9]
        offered.append(rows if one.locked is None else [one.locked])
    costs = [(np.sqrt(one.share) * own).tolist() for one, own in zip(page, far, strict=True)]
    tables = [
        (relation.first, relation.second, table.tolist())
        for relation, table in zip(kept, breaks_tables(of, kept), strict=True)
    ]
    best = (inf, inf)
    for rows in product(*offered):
        if most_passes is not None and passes(of, rows) > most_passes:
            continue
        lost = sum(table[rows[first]][rows[second]] for first, second, table in tables)
        best = min(best, (lost, sum(own[row] for own, row in zip(costs, rows, strict=True))))
    return round(best[0], 6) if best[0] < inf else inf, best[1]
