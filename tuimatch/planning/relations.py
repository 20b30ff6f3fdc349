"""The relations to keep between two colours of a page, and how much recipes break them.

- Where the colours given differ by `APART` or more, their recipes differ by `APART` or more.
- Where one colour given is lighter by `LIGHTER` or more, its recipe is lighter too.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, delta_e
from tuimatch.match.limits import Mask
from tuimatch.palette.model import Triple

Flags = np.bool_ | Mask
Signs = np.intp | npt.NDArray[np.intp]

# Neighbours that differ so far in CIEDE2000, or in L, are meant to be told apart.
APART, LIGHTER = 5.0, 2.0
# Where that cannot be kept, two recipes nearer than one of these break it further; all of them
# together weigh as much as a relation broken.
NEARER = (4.0, 3.0, 2.0, 1.0)
# What differs by less is the noise of the arithmetic.
TIE = 1e-9


@dataclass(frozen=True)
class Relation:
    """What is to stay between two colours of the page.

    Attributes:
        first: The place of one of them.
        second: The place of the other.
        apart: Whether their recipes must differ by `APART`.
        lighter: 1 where the first must be lighter, -1 where the second must, 0 for neither.
    """

    first: int
    second: int
    apart: bool
    lighter: int


def relations(given: Sequence[Triple], neighbours: Iterable[tuple[int, int]]) -> list[Relation]:
    """What is to stay between neighbours; those that hardly differ have nothing to keep.

    Args:
        given: Lab of each colour as it stands on the page.
        neighbours: Their places, two by two.
    """
    found = []
    for first, second in neighbours:
        one, other = given[first], given[second]
        apart = bool(delta_e(one, other) >= APART)
        more = one[0] - other[0]
        lighter = int(np.sign(more)) if abs(more) >= LIGHTER else 0
        if apart or lighter:
            found.append(Relation(first, second, apart, lighter))
    return found


def breaks(apart: Flags, lighter: Signs, first: Array, second: Array) -> Array:
    """How much recipes break of a relation: 1 where they do, up to 1 more where they are nearer.

    Args:
        apart: Whether they must differ by `APART`.
        lighter: 1 where the first must be lighter, -1 where the second must, 0 for neither.
        first: Lab, last axis 3; all four broadcast.
        second: The same of the others.
    """
    far = delta_e(first, second)
    darker = lighter * (first[..., 0] - second[..., 0]) <= TIE
    wrong = (apart & (far < APART - TIE)) | ((lighter != 0) & darker)
    return np.asarray(wrong + apart * np.mean([far < near for near in NEARER], axis=0))


def broken(relation: Relation, first: Array, second: Array) -> Mask:
    """Which recipes break a relation, of Lab arrays that broadcast, last axis 3."""
    return breaks(np.bool_(relation.apart), np.intp(relation.lighter), first, second) >= 1
