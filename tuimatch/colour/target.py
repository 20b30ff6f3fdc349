"""The wanted colour, in CIELAB and as a screen shows it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tuimatch.colour import css_text
from tuimatch.colour.colorimetry import (
    Array,
    d65_to_d50,
    displayed,
    lab_to_xyz,
    srgb_to_xyz,
    xyz_to_lab,
)
from tuimatch.colour.intent import Intent
from tuimatch.errors import TargetError
from tuimatch.palette.model import Triple


@dataclass(frozen=True)
class Target:
    """A wanted colour.

    Attributes:
        text: As it was given; every run of white space is one space, none around it.
        lab: CIELAB, D50; never changed by what a screen can show.
        srgb: What a screen shows, 0…255.
        clipped: Whether sRGB cannot hold the colour.
        taken: How it is taken, whatever the question says: a recipe's colour is on paper already.
    """

    text: str
    lab: Triple
    srgb: tuple[int, int, int]
    clipped: bool
    taken: Intent | None = None


def parse(text: str) -> Target:
    """Read a colour.

    Raises:
        TargetError: It is not a colour, is not opaque, or is not one a surface can have.
    """
    written = css_text.read(text)
    lab = _lab(written)
    if not np.isfinite(lab).all() or not -0.01 <= lab[0] <= 100.01 or np.abs(lab[1:]).max() > 250:
        raise TargetError(
            written.text,
            "is not a colour a surface can have; give L from 0 to 100, a and b within 250",
        )
    return from_lab((float(lab[0]), float(lab[1]), float(lab[2])), written.text)


def from_lab(lab: Triple, text: str, taken: Intent | None = None) -> Target:
    """The target with a known Lab, named by a text."""
    screen = displayed(lab_to_xyz(lab))
    r, g, b = (int(x) for x in screen.srgb)
    return Target(text, lab, (r, g, b), bool(screen.clipped), taken)


def _lab(written: css_text.ColourText) -> Array:
    if written.space == "lab":
        return np.array(written.coordinates)
    with np.errstate(all="ignore"):  # what overflows is refused by the caller
        if written.space == "srgb":
            return xyz_to_lab(srgb_to_xyz(written.coordinates))
        return xyz_to_lab(d65_to_d50(written.coordinates))
