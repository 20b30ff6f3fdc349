"""Swatches of known coverage, drawn here: screens of any angle, dot shape and edge."""

from __future__ import annotations

from functools import lru_cache
from math import cos, radians, sin

import numpy as np

from tuimatch.colour.colorimetry import decode_srgb, encode_srgb
from tuimatch.picture.picture import Picture

SHAPES = ("round", "square", "line")
EDGES = ("hard", "linear", "encoded")
INK, PAPER = (228, 0, 124), (255, 253, 245)


def spot(shape: str, u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Height of a dot above its cell, highest where it grows from."""
    if shape == "round":
        return np.cos(2 * np.pi * u) + np.cos(2 * np.pi * v)
    if shape == "square":
        return -np.maximum(np.abs(u - np.rint(u)), np.abs(v - np.rint(v)))
    return -np.abs(u - np.rint(u))


@lru_cache
def heights(shape: str) -> np.ndarray:
    """Heights over one cell, sorted: a quantile of them is the threshold of a coverage."""
    at = (np.arange(1000) + 0.5) / 1000
    return np.sort(spot(shape, *np.meshgrid(at, at)).ravel())


def covered(
    shape: str, coverage: float, angle: float, period: float, size: tuple[int, int], smooth: int
) -> np.ndarray:
    """How much of each pixel is ink, shape (height, width); `smooth` samples along each side."""
    width, height = size
    x = (np.arange(width * smooth) + 0.5) / smooth
    y = (np.arange(height * smooth) + 0.5) / smooth
    c, s = cos(radians(angle)) / period, sin(radians(angle)) / period
    known = heights(shape)
    limit = known[min(int((1 - coverage) * len(known)), len(known) - 1)]

    def row(y: np.ndarray) -> np.ndarray:  # one at a time stays in the processor's cache
        u = x * c + y[:, None] * s + 0.123
        v = y[:, None] * c - x * s + 0.345
        ink = spot(shape, u, v) >= limit
        return ink.reshape(smooth, width, smooth).mean(axis=(0, 2))

    return np.array([row(one) for one in y.reshape(height, smooth)])


# The same dots are drawn with one edge after another, and for one test after another.
dots = lru_cache(maxsize=32)(covered)


def tint(
    shape: str = "round",
    coverage: float = 0.25,
    angle: float = 45,
    period: float = 12,
    edge: str = "hard",
    size: tuple[int, int] = (300, 300),
    paper: tuple[int, int, int] = PAPER,
    ink: tuple[int, int, int] = INK,
) -> np.ndarray:
    """8-bit sRGB pixels of one tint; soft edges are blended in light or on encoded values."""
    share = dots(shape, coverage, angle, period, size, 1 if edge == "hard" else 8)[..., None]
    start, end = np.array([paper, ink]) / 255
    if edge == "linear":
        start, end = decode_srgb(start), decode_srgb(end)
    mixed = start + share * (end - start)
    return np.rint(255 * (encode_srgb(mixed) if edge == "linear" else mixed)).astype(np.uint8)


def true_share(shape: str, coverage: float, angle: float, period: float, edge: str) -> float:
    """What a tint covers: hard dots cover whole pixels, so far more of them are counted."""
    if edge != "hard":
        return coverage
    return float(covered(shape, coverage, angle, period, (2000, 2000), 1).mean())


def picture(pixels: np.ndarray) -> Picture:
    return Picture("made.png", pixels)
