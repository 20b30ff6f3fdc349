"""From a recipe to its colour: Murray-Davies, Demichel, Yule-Nielsen and Neugebauer.

All colours are XYZ (D50, Y of the perfect diffuser = 1). Areas and mixtures are reckoned in v, the
n-th root of each of three channels of light (`channels`), where n is the Yule-Nielsen factor (Yule
& Nielsen 1951). Areas are fractions 0…1 with one value for each channel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, lab_to_xyz, srgb_to_xyz
from tuimatch.palette.model import Ink, Palette, Triple
from tuimatch.recipe.channels import ENCODED, SHARP, Channels, sharp_light, xyz_channels
from tuimatch.recipe.monotone_cubic import MonotoneCubic
from tuimatch.recipe.residual import Residual

# Below this, v of paper and solid differ too little to divide by: the ink does not show there.
_LEAST_DENOMINATOR = 1e-3

# A solid that leaves less of the paper's light than this in a channel: sharp channels do harm.
_LEAST_LEFT = 0.01

# Black is mixed last, in XYZ^(1/2), with the colours of the other inks without and with it.
_BLACK = xyz_channels(2)

# Below this a colour has practically no light; a logarithm needs some.
_DARKEST = 1e-6

# Rows predicted at once: six inks have 64 overprints, so a block stays below 20 MB.
_BLOCK = 8192


def channels_of(palette: Palette) -> Channels:
    """The channels of light in which a palette is reckoned.

    Sharp channels were found with yellow, magenta and cyan, and with measured tints. A palette that
    asks for them but has other inks, no measured tint, or a solid that leaves under 1 % of the
    paper's light in a channel is reckoned in X, Y and Z.
    """
    if palette.fused == "resized":
        return ENCODED
    if palette.channels == "sharp" and palette.is_process and palette.has_measured_tints:
        light = sharp_light(_without(primaries(palette), palette.black))
        if (light >= _LEAST_LEFT * light[0]).all():
            return SHARP
    return xyz_channels(palette.n)


def nominal_area(tint: npt.ArrayLike, gain: float) -> Array:
    """Effective area of unmeasured tints: a = t + 4·g·t·(1 − t), any shape, within 0…1.

    Args:
        tint: Nominal areas as fractions.
        gain: g, the tone value increase at t = 0.5.
    """
    t = np.asarray(tint, dtype=np.float64)
    return np.clip(t + 4 * gain * t * (1 - t), 0, 1)


def measured_area(
    paper: Array, tint: Array, solid: Array, channels: Channels, nominal: npt.ArrayLike
) -> Array:
    """Effective area of a measured tint, a = (v_paper − v_tint) / (v_paper − v_solid).

    Murray & Davies (1936) with the Yule-Nielsen factor; kept within 0…1. Shape (…, 3).

    Args:
        paper: XYZ of the paper, shape (3,); `solid` likewise.
        tint: XYZ of the tint or of several, shape (…, 3).
        channels: The channels that have an area each.
        nominal: The area to use in a channel where paper and solid hardly differ.
    """
    v_paper, v_tint, v_solid = map(channels.to_v, (paper, tint, solid))
    denominator = v_paper - v_solid
    usable = np.abs(denominator) >= _LEAST_DENOMINATOR
    area = (v_paper - v_tint) / np.where(usable, denominator, 1)
    return np.where(usable, np.clip(area, 0, 1), nominal)


def area_curve(
    ink: Ink, paper: Array, solid: Array, channels: Channels
) -> Callable[[npt.ArrayLike], Array]:
    """Effective areas of an ink over its nominal tints in percent: from shape (W,) to (W, 3).

    An ink without measured tints has the nominal area. Otherwise the areas are those of the tints
    that were measured, and the monotone cubic between. Where the file gives a gain besides, a tint
    of the ladder that was not measured has the area of that gain.

    Args:
        ink: The ink.
        paper: XYZ of the paper, shape (3,).
        solid: XYZ of its solid, shape (3,).
        channels: The channels that have an area each.
    """
    gain = ink.gain or 0

    def nominal(tints: npt.ArrayLike) -> Array:
        return np.repeat(nominal_area(np.asarray(tints) / 100, gain)[:, None], 3, axis=1)

    measured = dict((*ink.measured, *ink.ramp))
    if not measured:
        return nominal
    tints = sorted({0.0, 100.0, *measured, *(() if ink.gain is None else ink.tints)})
    areas = nominal(tints)
    rows = [tints.index(tint) for tint in measured]
    areas[rows] = measured_area(
        paper, _lab_xyz(list(measured.values())), solid, channels, areas[rows]
    )
    return MonotoneCubic(tints, areas)


def ladder_areas(palette: Palette, channels: Channels) -> list[Array]:
    """Effective areas of every ink's ladder, none of the ink first: arrays (tints + 1, 3)."""
    paper = paper_xyz(palette)
    return [
        area_curve(ink, paper, solid, channels)(ink.steps)
        for ink, solid in zip(palette.inks, solid_xyz(palette), strict=True)
    ]


def paper_xyz(palette: Palette) -> Array:
    """XYZ of the paper, shape (3,)."""
    return _solid_colour(palette, palette.paper)


def solid_xyz(palette: Palette) -> Array:
    """XYZ of each ink's solid on the paper, shape (inks, 3)."""
    return np.asarray(primaries(palette)[1 << np.arange(len(palette.inks))])


def primaries(palette: Palette) -> Array:
    """XYZ of the 2^k overprints of solids, shape (2^k, 3).

    Row j holds the inks whose bits are set in j: bit 0 is the first ink laid; row 0 is paper.

    - multiplied: the blend of W3C Compositing and Blending Level 1 on encoded sRGB, decoded.
    - given: as measured; one that is missing is estimated as XYZ_paper × Π (XYZ_ink / XYZ_paper).
    """
    k = len(palette.inks)
    members = (np.arange(2**k)[:, None] >> np.arange(k)) & 1 == 1
    if palette.rules.overprints == "multiplied":
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


def neugebauer(areas: Sequence[Array], v: Array) -> Array:
    """The v of overprinted screens, Σ_j w_j · v_j (Neugebauer 1937) with Demichel's shares w.

    The shares are products over the inks, so the sum is taken one ink at a time: what is left of
    the overprints once an ink is there with (1 − a) of those without it and a of those with it.

    Args:
        areas: Effective areas of each ink, arrays of shape (…, 3) that broadcast.
        v: Of the overprints of solids, shape (2^inks, 3).

    Returns:
        Shape (…, 3).
    """
    dimensions = max((area.ndim for area in areas), default=1)
    v = v.reshape(len(v), *[1] * (dimensions - 1), 3)
    for area in areas:
        v = v[0::2] * (1 - area) + v[1::2] * area
    return np.asarray(v[0])


class Halftone:
    """The colour model of one palette, ready to be asked for any tints."""

    def __init__(self, palette: Palette) -> None:
        self.palette = palette
        self._channels = channels_of(palette)
        overprints = primaries(palette)
        # With sharp channels black is mixed last.
        self._black = palette.black if self._channels is SHARP else None
        self._v = self._channels.to_v(_without(overprints, self._black))
        self._v_black = self._channels.to_v(_with(overprints, self._black))
        paper, solids = overprints[0], overprints[1 << np.arange(len(palette.inks))]
        self._curves = [
            area_curve(ink, paper, solid, _BLACK if i == self._black else self._channels)
            for i, (ink, solid) in enumerate(zip(palette.inks, solids, strict=True))
        ]
        # A correction applies to v; where there is black, to XYZ, in which black is mixed.
        self._light = xyz_channels(1) if palette.black is not None else self._channels
        self._residual = self._fitted() if palette.mixtures else None

    def areas(self, ink: int, tints: npt.ArrayLike) -> Array:
        """Effective areas of an ink, within 0…1, shape (W, 3).

        Args:
            ink: Its position in laying order.
            tints: Nominal areas in percent, on its ladder or not, shape (W,).
        """
        return np.clip(self._curves[ink](tints), 0, 1)

    def colour_of(self, tints: npt.ArrayLike) -> Array:
        """XYZ (N, 3) of recipes of any tints.

        Args:
            tints: Nominal areas in percent, 0 for none of an ink, shape (N, inks).
        """
        tints = np.asarray(tints, dtype=np.float64)
        blocks = [tints[i : i + _BLOCK] for i in range(0, max(1, len(tints)), _BLOCK)]
        return np.concatenate([self._colours(block) for block in blocks])

    def table(self) -> Array:
        """XYZ (N, 3) of every recipe of the ladders, the last ink changing fastest."""
        ladders = [np.array(ink.steps) for ink in self.palette.inks]
        areas = []
        for i, ladder in enumerate(ladders):
            shape = [1] * len(ladders)
            shape[i] = len(ladder)
            areas.append(self.areas(i, ladder).reshape(*shape, 3))
        light = self._mixed(areas)
        if self._residual is not None:
            light = light * self._residual.table([ladder / 100 for ladder in ladders])
        return self._light.from_v(light).reshape(-1, 3)

    def mixtures_left_out(self, parts: int = 10) -> Array:
        """XYZ (mixtures, 3) of the palette's measured mixtures, each predicted without its part.

        The mixtures are dealt out to so many parts, and each is predicted from the rest. It shows
        how far to trust the colours that were not measured.
        """
        mixtures = np.array([tints for tints, _ in self.palette.mixtures])
        if self._residual is None:
            return self.colour_of(mixtures)
        made_of = len([*_made_of(self.palette)])
        groups = np.concatenate([np.full(made_of, -1), np.arange(len(mixtures)) % parts])
        factors = self._residual.without(groups)[made_of:]
        light = self._mixed([self.areas(i, column) for i, column in enumerate(mixtures.T)])
        return self._light.from_v(light * factors)

    def _colours(self, tints: Array) -> Array:
        light = self._mixed([self.areas(i, column) for i, column in enumerate(tints.T)])
        if self._residual is not None:
            light = light * self._residual.factor(tints / 100)
        return self._light.from_v(light)

    def _mixed(self, areas: list[Array]) -> Array:
        """What the correction applies to, shape (…, 3), of areas that broadcast."""
        if self._black is None:
            v = neugebauer(areas, self._v)
            if self._light is self._channels:
                return v
            return self._channels.from_v(v)
        others = [area for i, area in enumerate(areas) if i != self._black]
        bare, black = (
            _BLACK.to_v(self._channels.from_v(neugebauer(others, v)))
            for v in (self._v, self._v_black)
        )
        area = areas[self._black]
        return _BLACK.from_v((1 - area) * bare + area * black)

    def _fitted(self) -> Residual:
        """The correction by the measured mixtures; patches the model is made of stay (r = 0)."""
        palette = self.palette
        known = [*_made_of(palette)]
        tints = np.array([*known, *(tints for tints, _ in palette.mixtures)])
        mixtures, labs = tints[len(known) :], [lab for _, lab in palette.mixtures]
        model = self._mixed([self.areas(i, column) for i, column in enumerate(mixtures.T)])
        measured = self._light.to_v(_lab_xyz(labs))
        r = np.zeros((len(tints), 3))
        r[len(known) :] = np.log(np.maximum(measured, _DARKEST) / np.maximum(model, _DARKEST))
        return Residual(tints / 100, r)


def _made_of(palette: Palette) -> Iterator[tuple[float, ...]]:
    """The tints of the patches that the model itself is made of: paper, tints and solids."""
    k = len(palette.inks)
    yield (0.0,) * k
    for i, ink in enumerate(palette.inks):
        for tint in sorted({100.0, *dict(ink.measured), *dict(ink.ramp)}):
            yield tuple(tint if j == i else 0.0 for j in range(k))
    for positions, _ in palette.overprints:
        yield tuple(100.0 if j in positions else 0.0 for j in range(k))


def _without(overprints: Array, ink: int | None) -> Array:
    """The overprints that lack an ink; all of them where there is no such ink."""
    rows = np.arange(len(overprints))
    return overprints if ink is None else overprints[rows >> ink & 1 == 0]


def _with(overprints: Array, ink: int | None) -> Array:
    """The overprints that hold an ink, in the same order; all of them where there is none."""
    rows = np.arange(len(overprints))
    return overprints if ink is None else overprints[rows >> ink & 1 == 1]


def _solid_colour(palette: Palette, value: Triple) -> Array:
    if palette.rules.colour == "lab":
        return _lab_xyz(value)
    return srgb_to_xyz(np.array(value) / 255)


def _lab_xyz(lab: npt.ArrayLike) -> Array:
    # A Lab that no light can make has a negative channel; there is no root of that.
    return np.maximum(lab_to_xyz(lab), 0)
