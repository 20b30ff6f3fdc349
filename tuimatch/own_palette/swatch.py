"""Reading a swatch: a box of a picture filled with one tint of one ink on paper.

Its fused colour is the mean in linear light. Its share of ink is found from the two colours it is
made of, the paper and the ink: every pixel counts by its place between them, because the edges of
dots may be smoothed. Whether the smoothing was done in linear light or on the encoded values shows
in where those pixels lie, and each is counted in the way it was made. With greys it does not show:
they are counted in linear light, and what the other way would have given widens the uncertainty.

The box need not hold whole dots: means fade out toward its edges (raised cosine), so that dots
which the edges cut hardly count. How far the ninths of the box differ tells how sure the share is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import Array, encode_srgb
from tuimatch.errors import SwatchError
from tuimatch.palette.model import Triple
from tuimatch.picture.picture import LINEAR, Box, Bytes, Picture
from tuimatch.text import hexed

# Side of the smallest box: below it there are too few dots to count.
LEAST_SIDE = 16
# How much of a cell of a grid is left out at each side, so that a box is within its swatch.
INSET = 0.25

_SAMPLE = 200_000
_VALUES = np.arange(256) / 255

# Distances are between encoded colours, as fractions of full scale in each channel.
_FLAT = 10 / 255
_NEAR_END = 0.1
_OFF_LINE = 12 / 255
_UNSURE_BLEND = 1.5 / 255

# Two readings of one colour differ by less, in steps of 255.
_SAME = 10

# Shares of the pixels.
_LEAST_PURE = 0.002
_MOST_OFF_LINE = 0.01
_MOST_BETWEEN = 0.03
_MOST_UNEVEN = 0.15
# Eight bits, and pixels that lie half on an edge, cannot tell a share more finely than this.
_LEAST_UNCERTAINTY = 0.002

Float = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Swatch:
    """What a swatch holds.

    Attributes:
        srgb: The fused colour, 8-bit sRGB with decimals.
        paper: The colour of the paper, 0…255; `ink` likewise.
        share: Share of ink, 0…1.
        uncertainty: How far the true share may lie from it, in about 9 of 10 cases.
    """

    srgb: Triple
    paper: Triple
    ink: Triple
    share: float
    uncertainty: float


def read(
    picture: Picture,
    box: Box | None = None,
    *,
    paper: Triple | None = None,
    ink: Triple | None = None,
) -> Swatch:
    """Read one swatch.

    Args:
        picture: The picture.
        box: Its x, y, width and height; the whole picture unless given.
        paper: The colour of the paper, 0…255, where it is known; `ink` likewise.

    Raises:
        SwatchError: The box does not hold a tint of two colours; the message says why.
        PictureError: The box is not within the picture.
    """
    x, y, width, height = picture.checked(box or (0, 0, picture.width, picture.height))
    if min(width, height) < LEAST_SIDE:
        raise SwatchError(
            f"the swatch is {width} × {height} pixels; give at least {LEAST_SIDE} × {LEAST_SIDE}"
        )
    if picture.alpha is not None and picture.alpha[y : y + height, x : x + width].min() < 255:
        raise SwatchError("the swatch is partly transparent; put it on its paper colour")
    pixels = picture.pixels[y : y + height, x : x + width]
    ends = _ends(pixels, paper, ink)
    if isinstance(ends, float):
        fused = _fused(pixels)
        low, high = np.array(paper), np.array(ink)
        return Swatch(_triple(fused), _triple(low / 255), _triple(high / 255), ends, 0.0)
    return _measured(pixels, *ends)


def read_grid(
    picture: Picture,
    rows: int,
    columns: int,
    box: Box | None = None,
    *,
    paper: Triple | None = None,
    inks: tuple[Triple, ...] = (),
) -> tuple[tuple[Swatch, ...], ...]:
    """Read swatches that stand in rows and columns of equal size.

    Args:
        picture: The picture.
        rows: How many rows; `columns` likewise.
        box: What the grid fills; the whole picture unless given.
        paper: The colour of the paper, where it is known.
        inks: The colour of the ink of each row, where they are known.

    Raises:
        SwatchError: One of them does not hold a tint of two colours, or is on another paper than
            the first, or of another ink than the first of its row; the message says which.
        PictureError: The box is not within the picture.
    """
    if inks and len(inks) != rows:
        raise SwatchError(f"{len(inks)} inks for {rows} rows; give the ink of each row")
    found: list[tuple[Swatch, ...]] = []
    for row, boxes in enumerate(grid_boxes(picture, rows, columns, box)):
        read_row: list[Swatch] = []
        for column, cell in enumerate(boxes):
            try:
                ink = inks[row] if inks else None
                one = read(picture, cell, paper=paper, ink=ink)
                read_row.append(one)
                _refuse_other("paper", one.paper, [*found, read_row][0][0].paper)
                _refuse_other("ink", one.ink, read_row[0].ink)
            except SwatchError as error:
                raise SwatchError(f"row {row + 1}, column {column + 1}: {error}") from error
        found.append(tuple(read_row))
    return tuple(found)


def _refuse_other(what: str, here: Triple, first: Triple) -> None:
    if max(abs(a - b) for a, b in zip(here, first, strict=True)) > _SAME:
        shown = list(map(hexed, (here, first)))
        raise SwatchError(
            f"its {what} is {shown[0]}, that of the first is {shown[1]}; "
            "give the colours it is made of"
        )


def grid_boxes(
    picture: Picture, rows: int, columns: int, box: Box | None = None
) -> tuple[tuple[Box, ...], ...]:
    """The box that is read of each swatch of a grid: its cell without `INSET` at each side."""
    x, y, width, height = picture.checked(box or (0, 0, picture.width, picture.height))
    if min(rows, columns) < 1:
        raise SwatchError(f"a grid of {rows} rows and {columns} columns; give at least one of each")

    def spans(start: int, length: int, parts: int) -> list[tuple[int, int]]:
        each = length / parts
        return [
            (start + round((i + INSET) * each), round((1 - 2 * INSET) * each)) for i in range(parts)
        ]

    return tuple(
        tuple((left, top, wide, high) for left, wide in spans(x, width, columns))
        for top, high in spans(y, height, rows)
    )


# The two colours.


def _ends(
    pixels: Bytes, paper: Triple | None, ink: Triple | None
) -> tuple[Array, Array, bool | None] | float:
    """Encoded paper and ink, and whether what lies between was blended in linear light.

    None instead of the last where it cannot be told. A share instead of all where the swatch is
    flat and both colours are known.
    """
    colours, shares = _distinct(pixels)
    most = colours[int(np.argmax(shares))]
    known = [None if given is None else np.array(given) / 255 for given in (paper, ink)]
    reach = np.abs(colours - most).max(axis=1)
    if shares[reach > _FLAT].sum() < _LEAST_PURE:
        if known[0] is not None and known[1] is not None:
            for share, end in enumerate(known):
                if np.abs(most - end).max() <= _FLAT:
                    return float(share)
        raise SwatchError(f"one flat colour, {hexed(most * 255)}; a tint shows ink and paper")
    first, last = _line(colours, shares, known)
    t, off, linear = _along(colours, shares, first, last)
    # A swatch of many colours has them everywhere; edges and stray pixels are few.
    stray = (off > _OFF_LINE) | (t < -_NEAR_END) | (t > 1 + _NEAR_END)
    if shares[stray].sum() > _MOST_OFF_LINE:
        third = colours[stray][int(np.argmax(shares[stray]))]
        found = "{}, {} and {}".format(*(hexed(one * 255) for one in (first, last, third)))
        raise SwatchError(f"more than two colours: {found}; give one ink alone on paper")
    return first, last, linear


def _distinct(pixels: Bytes) -> tuple[Array, Array]:
    """The encoded colours of a sample, shape (D, 3), and the share of each, shape (D,)."""
    flat = pixels.reshape(-1, 3)
    # An odd stride meets every phase of a screen.
    sample = flat[:: max(1, len(flat) // _SAMPLE) | 1].astype(np.uint32)
    packed = (sample[:, 0] << 16) | (sample[:, 1] << 8) | sample[:, 2]
    found, counts = np.unique(packed, return_counts=True)
    colours = np.stack([found >> 16, found >> 8 & 255, found & 255], axis=1) / 255
    return colours, counts / counts.sum()


def _line(colours: Array, shares: Array, known: list[Array | None]) -> tuple[Array, Array]:
    """Encoded paper and ink: those known, else the pure colours at both ends of the swatch."""
    paper, ink = known
    if paper is not None and ink is not None:
        return paper, ink
    mean = shares @ colours
    spread = (colours - mean) * np.sqrt(shares)[:, None]
    axis = np.linalg.svd(spread, full_matrices=False)[2][0]
    # The paper is the lighter one.
    axis *= -1 if axis @ (0.2126, 0.7152, 0.0722) > 0 else 1
    place = colours @ axis
    order = np.argsort(place)
    reached = np.cumsum(shares[order])
    # Where fewer pixels than this lie further out, they are stray pixels, not the end.
    low = place[order][int(np.searchsorted(reached, _LEAST_PURE / 2))]
    high = place[order][int(np.searchsorted(reached, 1 - _LEAST_PURE / 2))]
    margin = _NEAR_END * (high - low)
    ends = []
    for name, near in (("paper", place <= low + margin), ("ink", place >= high - margin)):
        pure = int(np.argmax(np.where(near, shares, 0)))
        if shares[pure] < _LEAST_PURE and shares[near].sum() < 10 * _LEAST_PURE:
            raise SwatchError(f"no pixel is pure {name}; give its colour, or draw it larger")
        ends.append(colours[pure])
    return (ends[0] if paper is None else paper), (ends[1] if ink is None else ink)


def _along(
    colours: Array, shares: Array, paper: Array, ink: Array
) -> tuple[Array, Array, bool | None]:
    """Where each colour lies between paper and ink, how far beside, and in which blending.

    Returns:
        Places 0…1, shape (D,); encoded distances, shape (D,); whether linear, None if not sure.
    """
    in_encoded = _place(colours, paper, ink)
    beside_encoded = np.abs(colours - (paper + in_encoded[:, None] * (ink - paper))).max(axis=1)
    light, light_paper, light_ink = (_light(value) for value in (colours, paper, ink))
    in_linear = _place(light, light_paper, light_ink)
    line = light_paper + in_linear[:, None] * (light_ink - light_paper)
    beside_linear = np.abs(colours - encode_srgb(np.clip(line, 0, 1))).max(axis=1)

    between = (in_encoded > _NEAR_END) & (in_encoded < 1 - _NEAR_END)
    if not between.any():
        return in_linear, beside_linear, True
    weights = shares[between] / shares[between].sum()
    encoded, linear = (
        float(np.sqrt(weights @ beside[between] ** 2)) for beside in (beside_encoded, beside_linear)
    )
    if abs(encoded - linear) <= _UNSURE_BLEND:
        # Both lie on one line, as all greys do.
        return in_linear, np.minimum(beside_encoded, beside_linear), None
    if linear < encoded:
        return in_linear, beside_linear, True
    return in_encoded, beside_encoded, False


def _place(values: Array, start: Array, end: Array) -> Array:
    """Projection on the way from start to end, as a fraction of it."""
    way = end - start
    return np.asarray((values - start) @ way / (way @ way))


# The share.


def _measured(pixels: Bytes, paper: Array, ink: Array, linear: bool | None) -> Swatch:
    if linear is False:
        placed = _placed(pixels, _VALUES, paper, ink)
    else:
        placed = _placed(pixels, LINEAR, _light(paper), _light(ink))
    share = float(_faded(placed))
    ninths = [
        _faded(ninth)
        for band in np.array_split(placed, 3)
        for ninth in np.array_split(band, 3, axis=1)
    ]
    unevenness = float(np.std(ninths))
    _refuse_between(placed, unevenness)
    # Where the blending of edges does not show, the other way of counting them may be the true one.
    doubt = (
        abs(share - float(_faded(_placed(pixels, _VALUES, paper, ink)))) if linear is None else 0.0
    )
    return Swatch(
        srgb=_triple(_fused(pixels)),
        paper=_triple(paper),
        ink=_triple(ink),
        share=min(max(share, 0.0), 1.0),
        uncertainty=max(float(np.hypot(2 * unevenness / 3, doubt)), _LEAST_UNCERTAINTY),
    )


def _placed(pixels: Bytes, scale: Array, paper: Array, ink: Array) -> Float:
    """Where each pixel lies between paper and ink, shape (height, width)."""
    way = ink - paper
    way = way / (way @ way)
    # A projection is a sum over the channels, so each channel needs no more than a table.
    tables = (scale[None] * way[:, None] - (paper * way)[:, None]).astype(np.float32)
    placed: Float = tables[0][pixels[..., 0]]
    placed += tables[1][pixels[..., 1]]
    placed += tables[2][pixels[..., 2]]
    return placed


def _refuse_between(placed: Float, unevenness: float) -> None:
    """Refuse what is not a tint though all its colours lie between two."""
    if unevenness > _MOST_UNEVEN:
        raise SwatchError(
            "its parts differ: a gradient or several tints; give a box within one tint"
        )
    between = (placed > _NEAR_END) & (placed < 1 - _NEAR_END)
    # The edge of a dot is one or two pixels wide; where all nine pixels of a square lie between,
    # there is a third colour, a gradient or a blur.
    rows = between[:-2] & between[1:-1] & between[2:]
    squares = rows[:, :-2] & rows[:, 1:-1] & rows[:, 2:]
    if squares.mean() > _MOST_BETWEEN:
        raise SwatchError(
            f"{squares.mean():.0%} of it lies between two colours: a third colour, a blur or dots "
            "too fine for the picture; export it larger, without smoothing"
        )


def _faded(values: Float) -> Float:
    """The mean of (height, width, …) that fades out toward the edges."""
    height, width = values.shape[:2]
    return np.asarray(np.tensordot(_fade(width), np.tensordot(_fade(height), values, 1), 1))


def _fade(length: int) -> Float:
    weights = np.sin(np.pi * (np.arange(length) + 0.5) / length) ** 2
    return np.asarray(weights / weights.sum(), dtype=np.float32)


def _fused(pixels: Bytes) -> Array:
    """The encoded mean in linear light, shape (3,)."""
    table = LINEAR.astype(np.float32)
    light = [_faded(table[pixels[..., channel]]) for channel in range(3)]
    return encode_srgb(np.array(light, dtype=np.float64))


def _light(encoded: Array) -> Array:
    return np.asarray(np.interp(encoded, _VALUES, LINEAR))


def _triple(encoded: Array) -> Triple:
    r, g, b = (float(x) * 255 for x in encoded)
    return r, g, b
