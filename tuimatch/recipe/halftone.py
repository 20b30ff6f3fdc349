"""From a recipe to its colour: Murray-Davies, Demichel, Yule-Nielsen and Neugebauer.

All colours are XYZ (D50, Y of the perfect diffuser = 1). v = XYZ^(1/n), channel by channel, where n
is the Yule-Nielsen factor (Yule & Nielsen 1951). Areas are fractions 0…1 with one value for each of
X, Y and Z.

A measured palette may ask for the linear red, green and blue of ITU-R BT.2020 in place of X, Y and
Z. The rules above hold for one wavelength at a time; those primaries are single wavelengths, while
X holds both ends of the spectrum, so that one ink covers "different areas" of it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import (
    BT2020_TO_XYZ,
    XYZ_TO_BT2020,
    Array,
    lab_to_xyz,
    srgb_to_xyz,
)
from tuimatch.palette.model import Channels, Palette
from tuimatch.recipe.monotone_cubic import MonotoneCubic

# Below this, v of paper and solid differ too little to divide by: the ink does not show there.
_LEAST_DENOMINATOR = 1e-3


def to_v(xyz: Array, n: float, channels: Channels = "xyz") -> Array:
    """The n-th root of each channel of the light of XYZ, shape (…, 3)."""
    if channels == "xyz":
        return np.asarray(xyz ** (1 / n))
    light = xyz @ XYZ_TO_BT2020.T
    # A colour outside the primaries is negative in a channel; mirrored, it still comes back.
    return np.asarray(np.sign(light) * np.abs(light) ** (1 / n))


def from_v(v: Array, n: float, channels: Channels = "xyz") -> Array:
    """XYZ of v, shape (…, 3)."""
    if channels == "xyz":
        return np.asarray(v**n)
    return np.asarray((np.sign(v) * np.abs(v) ** n) @ BT2020_TO_XYZ.T)


def nominal_area(tint: npt.ArrayLike, gain: float) -> Array:
    """Effective area of unmeasured tints: a = t + 4·g·t·(1 − t), any shape, within 0…1.

    Args:
        tint: Nominal areas as fractions.
        gain: g, the tone value increase at t = 0.5.
    """
    t = np.asarray(tint, dtype=np.float64)
    return np.clip(t + 4 * gain * t * (1 - t), 0, 1)


def measured_area(
    paper: Array,
    tint: Array,
    solid: Array,
    n: float,
    nominal: npt.ArrayLike,
    channels: Channels = "xyz",
) -> Array:
    """Effective area of a measured tint, a = (v_paper − v_tint) / (v_paper − v_solid).

    Murray & Davies (1936) with the Yule-Nielsen factor; kept within 0…1. Shape (…, 3).

    Args:
        paper: XYZ of the paper, shape (3,); `solid` likewise.
        tint: XYZ of the tint or of several, shape (…, 3).
        n: The Yule-Nielsen factor.
        nominal: The area to use in a channel where paper and solid hardly differ.
        channels: The channels that have an area each.
    """
    v_paper, v_tint, v_solid = (to_v(xyz, n, channels) for xyz in (paper, tint, solid))
    denominator = v_paper - v_solid
    usable = np.abs(denominator) >= _LEAST_DENOMINATOR
    area = (v_paper - v_tint) / np.where(usable, denominator, 1)
    return np.where(usable, np.clip(area, 0, 1), nominal)


def ladder_areas(palette: Palette, n: float | None = None) -> list[Array]:
    """Effective areas of every ink's ladder, none of the ink first.

    Args:
        palette: The palette.
        n: The factor for measured tints; the palette's own unless given.

    Returns:
        For each ink an array (tints + 1, 3).
    """
    n = palette.n if n is None else n
    paper = paper_xyz(palette)
    ladders = []
    for ink, solid in zip(palette.inks, solid_xyz(palette), strict=True):
        steps = np.array(ink.steps) / 100
        areas = np.repeat(nominal_area(steps, ink.gain or 0)[:, None], 3, axis=1)
        if ink.measured:
            tints, labs = zip(*ink.measured, strict=True)
            rows = np.searchsorted(ink.steps, tints)
            measured = _lab_xyz(labs)
            areas[rows] = measured_area(paper, measured, solid, n, areas[rows], palette.channels)
        ladders.append(areas)
    return ladders


def paper_xyz(palette: Palette) -> Array:
    """XYZ of the paper, shape (3,)."""
    return _solid_colour(palette, palette.paper)


def solid_xyz(palette: Palette) -> Array:
    """XYZ of each ink's solid on the paper, shape (inks, 3)."""
    return np.asarray(primaries(palette)[1 << np.arange(len(palette.inks))])


def primaries(palette: Palette) -> Array:
    """XYZ of the 2^k overprints of solids, shape (2^k, 3).

    Row j holds the inks whose bits are set in j: bit 0 is the first ink laid; row 0 is paper.

    - screen: the multiply blend of W3C Compositing and Blending Level 1 on encoded sRGB, decoded.
    - measured: as given; one that is missing is estimated as XYZ_paper × Π (XYZ_ink / XYZ_paper).
    """
    k = len(palette.inks)
    members = (np.arange(2**k)[:, None] >> np.arange(k)) & 1 == 1
    if palette.kind == "screen":
        paper = np.array(palette.paper) / 255
        inks = np.array([ink.solid for ink in palette.inks]) / 255
        encoded = paper * np.where(members[..., None], inks, 1).prod(axis=1)
        return srgb_to_xyz(encoded)
    paper = paper_xyz(palette)
    solids = np.array([_lab_xyz(ink.solid) for ink in palette.inks])
    # A paper without light in a channel has none to share out.
    ratios = np.divide(solids, paper, out=np.zeros_like(solids), where=paper > 0)
    found: Array = paper * np.where(members[..., None], ratios, 1).prod(axis=1)
    found[1 << np.arange(k)] = solids
    for positions, lab in palette.overprints:
        found[sum(1 << p for p in positions)] = _lab_xyz(lab)
    return found


def demichel(areas: Array) -> Array:
    """The share of each overprint, w_j = Π a_i (inks in j) × Π (1 − a_i) (inks not in j).

    Demichel (1924), for screens turned against each other.

    Args:
        areas: Shape (…, inks, channels).

    Returns:
        Shape (…, 2^inks, channels), rows as in `primaries`; they sum to 1 over the overprints.
    """
    shares = np.ones((*areas.shape[:-2], 1, areas.shape[-1]))
    for ink in range(areas.shape[-2]):
        area = areas[..., ink, None, :]
        shares = np.concatenate([shares * (1 - area), shares * area], axis=-2)
    return shares


def neugebauer(areas: Array, overprints: Array, n: float, channels: Channels = "xyz") -> Array:
    """XYZ of overprinted screens: v = Σ_j w_j · v_j, then XYZ = v^n (Neugebauer 1937).

    Args:
        areas: Effective areas, shape (…, inks, 3).
        overprints: XYZ of the overprints of solids, shape (2^inks, 3).
        n: The Yule-Nielsen factor.
        channels: The channels of the areas.

    Returns:
        Shape (…, 3).
    """
    v = np.einsum("...jc,jc->...c", demichel(areas), to_v(overprints, n, channels))
    return from_v(v, n, channels)


class Halftone:
    """The colour model of one palette, ready to be asked for any tints.

    Between the tints of a ladder the area of a measured ink is the monotone cubic through those
    that are known; an ink without measured tints keeps its rule (on a screen a = t).
    """

    def __init__(self, palette: Palette) -> None:
        self.palette = palette
        self._overprints = primaries(palette)
        self._curves = [
            _curve(ink.steps, ladder) if ink.measured else None
            for ink, ladder in zip(palette.inks, ladder_areas(palette), strict=True)
        ]

    def areas(self, ink: int, tints: npt.ArrayLike) -> Array:
        """Effective areas of an ink, shape (W, 3).

        Args:
            ink: Its position in laying order.
            tints: Nominal areas in percent, on its ladder or not, shape (W,).
        """
        curve = self._curves[ink]
        if curve is not None:
            return np.clip(curve(tints), 0, 1)
        area = nominal_area(np.asarray(tints) / 100, self.palette.inks[ink].gain or 0)
        return np.repeat(area[:, None], 3, axis=1)

    def colour_of(self, tints: npt.ArrayLike) -> Array:
        """XYZ (N, 3) of recipes of any tints.

        Args:
            tints: Nominal areas in percent, 0 for none of an ink, shape (N, inks).
        """
        columns = np.asarray(tints, dtype=np.float64).T
        areas = np.stack([self.areas(i, column) for i, column in enumerate(columns)], axis=1)
        return neugebauer(areas, self._overprints, self.palette.n, self.palette.channels)


def _curve(steps: tuple[float, ...], areas: Array) -> MonotoneCubic:
    """Areas over tints in percent; a tint of 100 is the solid, whether the ladder has it or not."""
    if steps[-1] < 100:
        steps, areas = (*steps, 100.0), np.vstack([areas, np.ones(3)])
    return MonotoneCubic(steps, areas)


def _solid_colour(palette: Palette, value: tuple[float, float, float]) -> Array:
    if palette.kind == "measured":
        return _lab_xyz(value)
    return srgb_to_xyz(np.array(value) / 255)


def _lab_xyz(lab: npt.ArrayLike) -> Array:
    # A Lab that no light can make has a negative channel; there is no root of that.
    return np.maximum(lab_to_xyz(lab), 0)
