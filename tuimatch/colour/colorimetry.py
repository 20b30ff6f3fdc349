"""The one door to colour-science: CIELAB, sRGB, the D50 adaptation, CIEDE2000, dichromacy.

Everything is compared in CIELAB with the D50 white of the ICC profile connection space. Arrays have
the colour on their last axis; XYZ is scaled so that the perfect diffuser has Y = 1; encoded sRGB
runs from 0 to 1.

Importing this module imports colour-science, which takes about half a second: import it late, or in
a thread.
"""

from __future__ import annotations

import sys
import warnings
from types import ModuleType
from typing import Any, Literal, NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# colour-science loads these where it finds them, which multiplies its import for nothing that is
# used here; where it does not find them it leaves stand-ins behind.
_UNUSED = ("scipy", "matplotlib", "pandas")


def _unused_modules() -> dict[str, ModuleType]:
    return {n: module for n, module in sys.modules.items() if n.split(".")[0] in _UNUSED}


with warnings.catch_warnings():
    # It also warns of packages it can do without; the artist need not see that.
    warnings.simplefilter("ignore")
    _before = _unused_modules()
    sys.modules.update(dict.fromkeys(_UNUSED))  # type: ignore[arg-type]
    try:
        import colour
        from colour.difference.delta_e import intermediate_attributes_CIE2000
    finally:
        # Code that needs one of them later must find the real one.
        for _name in _unused_modules():
            del sys.modules[_name]
        sys.modules.update(_before)

# ICC.1, profile connection space.
D50: Array = np.array([0.9642, 1.0, 0.8249])
_D50_XY = colour.XYZ_to_xy(D50)

# sRGB, IEC 61966-2-1: primaries and D65 white by chromaticity. The matrix is derived from them at
# full precision, as CSS Color 4 does, so that sRGB white is exactly Lab 100, 0, 0.
_PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
_D65_XY = np.array([0.3127, 0.3290])
_D65 = colour.xy_to_XYZ(_D65_XY)
# Linear Bradford, ICC.1, annex on chromatic adaptation.
_D65_TO_D50 = colour.adaptation.matrix_chromatic_adaptation_VonKries(_D65, D50, "Bradford")
_RGB_TO_XYZ: Array = np.asarray(
    _D65_TO_D50 @ colour.normalised_primary_matrix(_PRIMARIES, _D65_XY), dtype=np.float64
)
_XYZ_TO_RGB: Array = np.asarray(np.linalg.inv(_RGB_TO_XYZ), dtype=np.float64)
Dichromacy = Literal["protan", "deutan", "tritan"]
_DICHROMACIES: dict[Dichromacy, Array] = {
    "protan": np.asarray(colour.CVD_MATRICES_MACHADO2010["Protanomaly"][1.0]),
    "deutan": np.asarray(colour.CVD_MATRICES_MACHADO2010["Deuteranomaly"][1.0]),
    "tritan": np.asarray(colour.CVD_MATRICES_MACHADO2010["Tritanomaly"][1.0]),
}


def lab_to_xyz(lab: npt.ArrayLike) -> Array:
    """CIELAB to XYZ, both D50, shape (…, 3). CIE 15:2018, ISO/CIE 11664-4."""
    return np.asarray(colour.Lab_to_XYZ(lab, _D50_XY), dtype=np.float64)


def xyz_to_lab(xyz: npt.ArrayLike) -> Array:
    """XYZ to CIELAB, both D50, shape (…, 3). CIE 15:2018, ISO/CIE 11664-4."""
    return np.asarray(colour.XYZ_to_Lab(xyz, _D50_XY), dtype=np.float64)


def decode_srgb(encoded: npt.ArrayLike) -> Array:
    """Encoded sRGB to linear light, any shape. IEC 61966-2-1."""
    return np.asarray(colour.models.eotf_sRGB(encoded), dtype=np.float64)


def encode_srgb(linear: npt.ArrayLike) -> Array:
    """Linear light to encoded sRGB, any shape; values below 0 mirrored. IEC 61966-2-1."""
    linear = np.asarray(linear, dtype=np.float64)
    return np.asarray(np.sign(linear) * colour.models.eotf_inverse_sRGB(np.abs(linear)))


def srgb_to_xyz(encoded: npt.ArrayLike) -> Array:
    """Encoded sRGB to D50 XYZ, shape (…, 3)."""
    return np.asarray(decode_srgb(encoded) @ _RGB_TO_XYZ.T)


def xyz_to_srgb(xyz: npt.ArrayLike) -> Array:
    """D50 XYZ to encoded sRGB, shape (…, 3); outside 0…1 where sRGB cannot hold the colour."""
    return encode_srgb(np.asarray(xyz, dtype=np.float64) @ _XYZ_TO_RGB.T)


def seen_with_dichromacy(xyz: npt.ArrayLike, kind: Dichromacy) -> Array:
    """What a dichromat sees, as the XYZ (D50) that looks the same to others, shape (…, 3).

    Machado, Oliveira & Fernandes (2009), the matrices at severity 1, on linear sRGB; what the
    matrix takes out of sRGB is clipped, as the method is one for displays.
    """
    linear = np.asarray(xyz, dtype=np.float64) @ _XYZ_TO_RGB.T
    return np.asarray(np.clip(linear @ _DICHROMACIES[kind].T, 0, 1) @ _RGB_TO_XYZ.T)


def d65_to_d50(xyz: npt.ArrayLike) -> Array:
    """XYZ under D65 to XYZ under D50 by linear Bradford, shape (…, 3)."""
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ _D65_TO_D50.T)


class Displayed(NamedTuple):
    """What a screen can show of colours.

    Attributes:
        srgb: Whole numbers 0…255, shape (…, 3).
        clipped: Where sRGB cannot hold the colour, shape (…).
    """

    srgb: npt.NDArray[np.uint8]
    clipped: npt.NDArray[np.bool_]


def displayed(xyz: npt.ArrayLike) -> Displayed:
    """D50 XYZ of shape (…, 3) as 8-bit sRGB, clipped where it must be.

    A colour counts as clipped when a channel leaves 0…1 by more than half an 8-bit step.
    """
    encoded = xyz_to_srgb(xyz)
    half = 0.5 / 255
    clipped = np.any((encoded < -half) | (encoded > 1 + half), axis=-1)
    # A half is rounded up in spite of the noise of the arithmetic: 0.5 is 128.
    levels = np.floor(np.clip(encoded, 0, 1) * 255 + 0.5 + 1e-9)
    return Displayed(levels.astype(np.uint8), np.asarray(clipped))


class Difference(NamedTuple):
    """How samples differ from a target by CIEDE2000; every array has shape (…).

    Attributes:
        delta_e: The plain difference, kL = kC = kH = 1.
        lightness: ΔL' / S_L; positive where the sample is lighter.
        chroma: ΔC' / S_C; positive where the sample is more vivid.
        hue: ΔH' / S_H; positive where the sample's hue angle is larger.
        rotation: R_T, the interaction of chroma and hue in the blues.
    """

    delta_e: Array
    lightness: Array
    chroma: Array
    hue: Array
    rotation: Array

    def at(self, positions: npt.NDArray[np.intp]) -> Difference:
        """The same differences, those at some positions along their first axis, in that order."""
        return Difference(*(term[positions] for term in self))

    def weighted(self, k_l: float = 1, k_c: float = 1, k_h: float = 1) -> Array:
        """CIEDE2000 with parametric factors kL, kC, kH, shape (…). ISO/CIE 11664-6:2022."""
        return _delta_e(self.lightness / k_l, self.chroma / k_c, self.hue / k_h, self.rotation)


def difference(target: npt.ArrayLike, samples: npt.ArrayLike) -> Difference:
    """CIEDE2000 and its terms between Lab arrays that broadcast, last axis 3.

    ISO/CIE 11664-6:2022; the terms are colour-science's, checked on table 1 of Sharma, Wu & Dalal
    (2005).
    """
    target, samples = np.broadcast_arrays(
        np.asarray(target, dtype=np.float64), np.asarray(samples, dtype=np.float64)
    )
    terms: Any = intermediate_attributes_CIE2000(target, samples)
    lightness = np.asarray(terms.delta_L_p / terms.S_L)
    chroma = np.asarray(terms.delta_C_p / terms.S_C)
    hue = np.asarray(terms.delta_H_p / terms.S_H)
    rotation = np.asarray(terms.R_T)
    return Difference(_delta_e(lightness, chroma, hue, rotation), lightness, chroma, hue, rotation)


def delta_e(first: npt.ArrayLike, second: npt.ArrayLike) -> Array:
    """CIEDE2000 between Lab arrays that broadcast, last axis 3; shape (…)."""
    return difference(first, second).delta_e


def _delta_e(lightness: Array, chroma: Array, hue: Array, rotation: Array) -> Array:
    squared = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    return np.asarray(np.sqrt(np.maximum(squared, 0)))
