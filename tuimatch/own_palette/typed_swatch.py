"""What can be answered for a swatch: a colour, a percent, or a picture with a box in it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import numpy as np

from tuimatch.colour import target
from tuimatch.colour.colorimetry import decode_srgb, encode_srgb
from tuimatch.errors import SwatchError, TargetError
from tuimatch.own_palette import swatch
from tuimatch.own_palette.swatch import Swatch
from tuimatch.palette.model import Triple
from tuimatch.picture import picture
from tuimatch.picture.picture import Box
from tuimatch.text import hexed

_BOX = re.compile(r"\d{1,6}(?:,\d{1,6}){3}", re.ASCII)
_WITH_BOX = re.compile(rf"(.*?)(?:\s+({_BOX.pattern}))?", re.DOTALL)
_WITH_GRID = re.compile(r"(.*)\s([1-9]\d?)[x×]([1-9]\d?)", re.ASCII | re.DOTALL)
_PERCENT = re.compile(r"(\d{1,3}\.?\d{0,6}|\.\d{1,6})\s*%?", re.ASCII)
_PICTURES = {".png", ".jpg", ".jpeg", ".webp", ".tif", ".tiff", ".gif", ".bmp"}

# How far a fused colour may lie beside the mixtures of paper and ink, and a flat box from flat.
_MOST_BESIDE = 12 / 255
_FLAT = 10


class Tint(NamedTuple):
    """A tint as it was answered.

    Attributes:
        share: Percent of ink, two decimals.
        srgb: The fused colour, 0…255.
        uncertainty: In percent; None where the share was given.
    """

    share: float
    srgb: Triple
    uncertainty: float | None


def box(text: str) -> Box:
    """A box written as x,y,width,height.

    Raises:
        SwatchError: It is not written like that.
    """
    if not _BOX.fullmatch(text):
        raise SwatchError(
            f"{text[:40]!r} is not a box; give x,y,width,height such as 40,40,200,200"
        )
    x, y, width, height = map(int, text.split(","))
    return x, y, width, height


def srgb(text: str) -> Triple:
    """A colour that a picture can hold, 0…255.

    Raises:
        TargetError: It is not a colour, or lies outside sRGB.
    """
    colour = target.parse(text)
    if colour.clipped:
        raise TargetError(colour.text, "lies outside sRGB; give a colour that a screen can show")
    return colour.srgb


def solid(text: str) -> Triple:
    """The colour of paper or solid: a colour, or a picture whose box is filled with it.

    Raises:
        TuimatchError: It is neither.
    """
    source = _picture(text)
    if source is None:
        return srgb(text)
    found = picture.read(source[0])
    x, y, width, height = found.checked(source[1] or (0, 0, found.width, found.height))
    if found.alpha is not None and found.alpha[y : y + height, x : x + width].min() < 255:
        raise SwatchError("is partly transparent; put it on its paper colour")
    pixels = found.pixels[y : y + height, x : x + width].reshape(-1, 3)
    middle = np.median(pixels, axis=0)
    # A stray pixel is not a second colour.
    if (np.abs(pixels - middle).max(axis=1) > _FLAT).mean() > 0.01:
        raise SwatchError("is not one flat colour; give x,y,width,height of a box within it")
    r, g, b = np.rint(encode_srgb(found.mean((x, y, width, height))) * 255).tolist()
    return r, g, b


def tint(text: str, paper: Triple, ink: Triple) -> Tint:
    """A tint of an ink on paper: its percent, its fused colour, or a picture of it.

    Args:
        text: As it was typed.
        paper: The colour of the paper, 0…255; `ink` likewise.

    Raises:
        TuimatchError: It is not one of these.
    """
    given = _PERCENT.fullmatch(text)
    if given:
        share = float(given[1]) / 100
        return Tint(round(100 * share, 2), fused(share, paper, ink), None)
    source = _picture(text)
    if source is None:
        colour = srgb(text)
        return Tint(round(100 * share_of(colour, paper, ink), 2), colour, None)
    found = swatch.read(picture.read(source[0]), source[1], paper=paper, ink=ink)
    return Tint(round(100 * found.share, 2), found.srgb, 100 * found.uncertainty)


def grid(text: str) -> tuple[tuple[Swatch, ...], ...] | None:
    """All swatches in a picture with a row for each ink; None where the text does not name one.

    It is the picture, perhaps a box, and the rows and columns: brushes.png 3x4.

    Raises:
        TuimatchError: They cannot be read.
    """
    match = _WITH_GRID.fullmatch(text.strip())
    source = match and _picture(match[1])
    if match is None or source is None:
        return None
    rows, columns = int(match[2]), int(match[3])
    return swatch.read_grid(picture.read(source[0]), rows, columns, source[1])


def fused(share: float, paper: Triple, ink: Triple) -> Triple:
    """What a share of ink on paper fuses to: the mixture in linear light.

    Args:
        share: The share of ink, 0…1.
        paper: The colour of the paper, 0…255; `ink` likewise.
    """
    low, high = decode_srgb(np.array([paper, ink]) / 255)
    r, g, b = (encode_srgb(low + share * (high - low)) * 255).tolist()
    return r, g, b


def share_of(colour: Triple, paper: Triple, ink: Triple) -> float:
    """The share of ink, 0…1, whose fused colour comes nearest to a colour in linear light.

    Args:
        colour: 0…255, as are `paper` and `ink`.
        paper: The colour of the paper.
        ink: The colour of the solid.

    Raises:
        SwatchError: The colour is not a mixture of the two.
    """
    low, high, at = decode_srgb(np.array([paper, ink, colour]) / 255)
    way = high - low
    if not way.any():
        raise SwatchError("paper and ink are the same colour; they make no tint")
    share = float(np.clip((at - low) @ way / (way @ way), 0, 1))
    beside = np.abs(np.array(fused(share, paper, ink)) - colour).max() / 255
    if beside > _MOST_BESIDE:
        raise SwatchError(
            f"{hexed(colour)} is not a mixture of {hexed(paper)} and {hexed(ink)}; "
            "give the mean colour of the tint, or its picture"
        )
    return share


def _picture(text: str) -> tuple[Path, Box | None] | None:
    """The file and the box, where the text names a picture rather than a colour."""
    match = _WITH_BOX.fullmatch(text.strip())
    assert match is not None  # both parts may be empty
    path = Path(match[1].strip("'\""))
    if path.suffix.lower() not in _PICTURES:
        return None
    return path, box(match[2]) if match[2] else None
