"""Whether two colours are told apart: by most people, and under the three dichromacies.

Two colours become alike for a dichromat when most people see two plainly different ones, a ΔE of 10
or more, and the dichromat sees less than 5. Below 5 two colours are not called different here; the
factor of two keeps small losses from being warned of. Both are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, Dichromacy, delta_e, seen_with_dichromacy, xyz_to_lab

DIFFER_FROM = 10.0
ALIKE_BELOW = 5.0

DICHROMACIES: tuple[Dichromacy, ...] = get_args(Dichromacy)


@dataclass(frozen=True)
class ToldApart:
    """The difference between two colours, CIEDE2000.

    Attributes:
        plain: For most people.
        dichromat: For each dichromacy, in the order of `DICHROMACIES`.
    """

    plain: float
    dichromat: tuple[float, ...]

    @property
    def alike_for(self) -> tuple[Dichromacy, ...]:
        """The dichromacies for which two different colours become alike."""
        if self.plain < DIFFER_FROM:
            return ()
        return tuple(
            kind
            for kind, difference in zip(DICHROMACIES, self.dichromat, strict=True)
            if difference < ALIKE_BELOW
        )


class Others:
    """Colours to compare with again and again: how each is seen is reckoned once."""

    def __init__(self, xyz: npt.ArrayLike) -> None:
        """Take the colours, XYZ (D50), shape (N, 3)."""
        self._seen = _as_seen(xyz)

    def told_apart(self, colour: npt.ArrayLike) -> tuple[ToldApart, ...]:
        """Compare one colour, XYZ (D50), shape (3,), with each of them."""
        differences = map(delta_e, _as_seen(colour), self._seen)
        return tuple(
            ToldApart(float(plain), tuple(map(float, dichromat)))
            for plain, *dichromat in zip(*differences, strict=True)
        )


def told_apart(colour: npt.ArrayLike, others: npt.ArrayLike) -> tuple[ToldApart, ...]:
    """Compare a colour with others.

    Args:
        colour: XYZ (D50), shape (3,).
        others: Likewise, shape (N, 3).
    """
    return Others(others).told_apart(colour)


def _as_seen(xyz: npt.ArrayLike) -> list[Array]:
    """CIELAB as most see it, then under each dichromacy."""
    return [xyz_to_lab(xyz), *(xyz_to_lab(seen_with_dichromacy(xyz, k)) for k in DICHROMACIES)]
