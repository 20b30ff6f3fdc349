"""The wanted colour: any text CSS Color 4 can write, and the habits people have."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from coloraide import Color

from tuimatch.colorimetry import d65_to_d50, displayed, lab_to_xyz, srgb_to_xyz, xyz_to_lab
from tuimatch.errors import TargetError
from tuimatch.palette import Triple
from tuimatch.text import has_unsafe

MAX_LENGTH = 120
HINT = "give a colour such as #d94f2a, tomato, rgb(217 79 42), lab(53 51 46) or oklch(0.6 0.17 40)"

_HEX = re.compile(r"#?((?:[0-9a-f]{3,4}){1,2}|[0-9a-f]{2}(?: [0-9a-f]{2}){2,3})", re.I)
_THREE_NUMBERS = re.compile(r"(\d{1,3})(?:\s*,\s*|\s+)(\d{1,3})(?:\s*,\s*|\s+)(\d{1,3})")
# CSS spaces whose coordinates are sRGB written another way: no adaptation of the library's own
# comes between the text and our matrix.
_SRGB_LIKE = {"srgb", "hsl", "hwb"}


@dataclass(frozen=True)
class Target:
    """A wanted colour.

    Attributes:
        text: As it was given; every run of white space is one space, none around it.
        lab: CIELAB, D50; never changed by what a screen can show.
        srgb: What a screen shows, 0…255.
        clipped: Whether sRGB cannot hold the colour.
    """

    text: str
    lab: Triple
    srgb: tuple[int, int, int]
    clipped: bool


def parse(text: str) -> Target:
    """Read a colour.

    Raises:
        TargetError: It is no colour, is not opaque, or lies outside what eyes can see.
    """
    shown = " ".join(text.split())
    if len(shown) > MAX_LENGTH:
        raise TargetError(shown, f"is too long for a colour; {HINT}")
    if not shown or has_unsafe(shown):
        raise TargetError(shown, f"is no colour; {HINT}")
    written = _regular(shown)
    try:
        colour = Color(written)
    except ValueError as error:
        raise TargetError(shown, f"is no colour; {HINT}") from error
    alpha = colour.alpha(nans=False)
    if alpha < 1:
        opaque = int(alpha * 100)  # never rounded up to 100
        raise TargetError(
            shown, f"is {opaque}% opaque; ink has no transparency, so give the colour as it looks"
        )
    if written.startswith("rgb"):
        colour.clip()  # CSS Color 4, 5.1: values outside the range of rgb() are clamped to it
    lab = _lab(colour)
    if not all(map(np.isfinite, lab)) or not _plausible(lab):
        raise TargetError(
            shown, "lies outside the colours a surface can have; give L from 0 to 100"
        )
    return from_lab(lab, shown)


def from_lab(lab: Triple, text: str) -> Target:
    """The target with a known Lab, named by a text."""
    screen = displayed(lab_to_xyz(lab))
    r, g, b = (int(x) for x in screen.srgb)
    return Target(text, lab, (r, g, b), bool(screen.clipped))


def _regular(text: str) -> str:
    """What CSS would have written: no quotes, no semicolon, '#' before hex digits."""
    text = text.strip("'\"; \t").removesuffix(";").strip()
    if hexadecimal := _HEX.fullmatch(text):
        digits = hexadecimal[1]
        # "10 20 30" are three numbers; "d9 4f 2a" and "#10 20 30" are hex digits in pairs.
        if " " not in digits or text.startswith("#") or not digits.replace(" ", "").isdigit():
            return "#" + digits.replace(" ", "").lower()
    numbers = _THREE_NUMBERS.fullmatch(text)
    if numbers and max(map(int, numbers.groups())) <= 255:
        return f"rgb({numbers[1]} {numbers[2]} {numbers[3]})"
    # Names are written with spaces by people; functions keep theirs.
    return text.lower() if "(" in text else re.sub(r"[\s_-]+", "", text).lower()


def _lab(colour: Color) -> Triple:
    space = colour.space()
    with np.errstate(all="ignore"):
        try:
            if space in _SRGB_LIKE:
                lab = xyz_to_lab(srgb_to_xyz(colour.convert("srgb").coords(nans=False)))
            elif space in ("lab", "lch"):
                lab = np.array(colour.convert("lab").coords(nans=False))
            else:
                lab = xyz_to_lab(d65_to_d50(colour.convert("xyz-d65").coords(nans=False)))
        except OverflowError:  # a coordinate such as 1e200
            lab = np.full(3, np.inf)
    lightness, a, b = (float(x) for x in lab)
    return lightness, a, b


def _plausible(lab: Triple) -> bool:
    return -0.01 <= lab[0] <= 100.01 and max(abs(lab[1]), abs(lab[2])) <= 250
