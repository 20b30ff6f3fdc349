"""The channels of light in which areas and mixtures are reckoned, as v = U^(1/n) of each.

The halftone rules hold for one wavelength at a time; three channels stand in for the spectrum.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tuimatch.colour.colorimetry import Array, srgb_to_xyz, xyz_to_srgb


@dataclass(frozen=True)
class Channels:
    """Three channels: how to get to them from XYZ, and back.

    Attributes:
        to_v: XYZ (D50) to v, shape (…, 3).
        from_v: v to XYZ (D50), shape (…, 3).
    """

    to_v: Callable[[Array], Array]
    from_v: Callable[[Array], Array]


def xyz_channels(n: float) -> Channels:
    """X, Y and Z with one Yule-Nielsen factor; values below 0, which light cannot have, are 0."""
    return Channels(
        to_v=lambda xyz: np.asarray(np.maximum(xyz, 0) ** (1 / n)),
        from_v=lambda v: np.asarray(np.maximum(v, 0) ** n),
    )


# Three narrower bands of light made from X, Y and Z, with a factor n for each. Of everything tried
# over 13 measured printing conditions, newsprint to gloss, this predicted mixtures of yellow,
# magenta and cyan best, each condition judged by constants found without it: 0.64 CIEDE2000 on
# average against 0.84 in X, Y and Z at n = 1.5 (tests/bench/model_figures.py has two of the 13).
_TO_SHARP: Array = np.array([[1.00, -0.25, -0.13], [-0.35, 1.00, 0.02], [0.03, 0.07, 1.00]])
_FROM_SHARP: Array = np.asarray(np.linalg.inv(_TO_SHARP))
_SHARP_N: Array = np.array([1.2, 2.4, 2.8])
_LEAST_LIGHT, _LEAST_V = 1e-5, 1e-4


def sharp_light(xyz: Array) -> Array:
    """The light in each sharp channel, U = T · XYZ, floored at 1e-5, shape (…, 3)."""
    return np.asarray(np.maximum(xyz @ _TO_SHARP.T, _LEAST_LIGHT))


def _sharp_to_xyz(v: Array) -> Array:
    return np.asarray(np.maximum(np.maximum(v, _LEAST_V) ** _SHARP_N @ _FROM_SHARP.T, 0))


SHARP = Channels(
    to_v=lambda xyz: np.asarray(sharp_light(xyz) ** (1 / _SHARP_N)), from_v=_sharp_to_xyz
)

# What a drawing program averages when it makes a page smaller: the encoded values.
ENCODED = Channels(to_v=xyz_to_srgb, from_v=srgb_to_xyz)
