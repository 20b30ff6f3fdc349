"""A coloured page read as its flats: which colours fill areas, how much of the page, beside what.

A flat is a colour that fills a square of 3 × 3 pixels somewhere, has at least a given share of the
page, and is more than the seam between two others. Every other pixel is the smoothing of an
edge or a speck of lossy compression. It goes to a flat that it touches; where it touches several,
to the one whose colour is nearest to its own. Pixels are taken in the order of their distance from
the flats, so each is looked at once.

Line art is kept out by its colours. It lies over the flats in print too, so two flats that only a
line divides are neighbours: where along a row or a column no more than the breadth of a line lies
between them, they touch.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from tuimatch.errors import PictureError
from tuimatch.picture import picture
from tuimatch.picture.picture import Bytes, Picture
from tuimatch.text import hexed

if TYPE_CHECKING:
    from tuimatch.colour.target import Target

RGB = tuple[int, int, int]
Codes = npt.NDArray[np.uint32]
Ints = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]

# Percent of the page: at 600 dpi a square 3.5 mm wide on A4 is 0.02 %.
LEAST_SHARE = 0.005
MOST_FLATS = 240
# A picture with more colours than this is not looked at further: it is not a page of flats.
_MOST_LOOKED_AT = 2000
# No edge is smoothed over more pixels than this; what is further from every flat belongs to none.
_MOST_STEPS = 500
# A page of flats is nearly all flats; the rest is the smoothing of its edges.
_LEAST_FLAT = 0.5
# Half of it in squares of three makes a third of its pixels like the one before.
_LEAST_ALIKE = 0.2
_MUCH_SMOOTHED = 0.05
# The least part of its pixels in the middle of a square; the colour of a seam has hardly any.
_LEAST_CORE = 0.03
# A colour so near to a larger flat, with no more of its pixels in such middles, is noise of it.
_NOISE_DELTA_E, _NOISE_CORE = 3.0, 0.75
# The broadest line that is looked through, as a part of the longer side: 1.2 mm on A4.
_LINE_BREADTH = 1 / 250
_LEAST_LINE = 6
# Where two flats meet in a point, smoothing makes a pixel or two of border.
_LEAST_BORDER = 3
_BAND = 128

# Half as opaque as can be: below it a pixel has no colour.
_OPAQUE = 128
# The code of a pixel without a colour; larger than that of any colour.
_NO_CODE = np.uint32(1 << 24)
# How many pixels at once are given to the flats beside them.
_PART = 500_000

# What a pixel of the map is when it is neither a flat nor kept out.
_REST, _CLEAR, _EDGE, _QUEUED, _LINE = 255, 254, 253, 252, 251


@dataclass(frozen=True)
class Flat:
    """A colour that fills areas of the page.

    Attributes:
        srgb: The colour, 0…255.
        pixels: How many it has, smoothed edges included.
        share: Its part of the page, 0…1.
        place: A pixel that lies within one of its areas, x and y; the first in reading order.
    """

    srgb: RGB
    pixels: int
    share: float
    place: tuple[int, int]

    @property
    def colour(self) -> str:
        """The colour as CSS writes it: ``#f3e3a1``."""
        return hexed(self.srgb)


@dataclass(frozen=True)
class Neighbours:
    """Two flats that touch, or that a thin line of kept colour divides.

    Attributes:
        first: The place of one in the list of flats.
        second: The place of the other, always larger.
        border: How long they touch, in pixels.
    """

    first: int
    second: int
    border: int


@dataclass(frozen=True, eq=False)
class Flats:
    """A page as flats.

    Attributes:
        page: The picture.
        flats: The largest first.
        neighbours: By their places in the list.
        map: The place of each pixel's flat in the list; larger than any where it has none, shape
            (height, width).
        kept_out: The colours of the line art that were found.
        kept_share: The part of the page that these take, 0…1.
        smoothed: How many pixels are smoothed edges or specks.
    """

    page: Picture
    flats: tuple[Flat, ...]
    neighbours: tuple[Neighbours, ...]
    map: Bytes
    kept_out: tuple[str, ...]
    kept_share: float
    smoothed: int

    @property
    def notes(self) -> list[str]:
        """What the artist should know of how the page was read."""
        said = list(self.page.notes)
        part = self.smoothed / (self.page.width * self.page.height)
        if part > _MUCH_SMOOTHED:
            said.append(
                f"{part:.0%} of it is smoothed edges or specks; small flats may be lost in them, "
                "so give a PNG without smoothing"
            )
        return said

    def painted(self, colours: Sequence[RGB]) -> Bytes:
        """The page with other colours in its flats, 8-bit sRGB, shape (height, width, 3).

        Args:
            colours: One for each flat; what is not a flat keeps the colour it has.
        """
        table = np.zeros((256, 3), dtype=np.uint8)
        table[: len(self.flats)] = np.array(colours, dtype=np.uint8).reshape(-1, 3)
        painted = np.empty_like(self.page.pixels)
        for top in range(0, self.page.height, _BAND):
            places, band = self.map[top : top + _BAND], painted[top : top + _BAND]
            for channel in range(3):  # far quicker than three at once
                np.take(table[:, channel], places, out=band[..., channel])
            row, column = np.nonzero(places >= len(self.flats))
            band[row, column] = self.page.pixels[top + row, column]
        return painted


def read(
    path: Path,
    keep: Sequence[Target] = (),
    *,
    least_share: float = LEAST_SHARE,
    reduce_to: int | None = None,
) -> Flats:
    """Read a page.

    Args:
        path: A picture.
        keep: The colours of the line art.
        least_share: The least share of the page that a flat must have, percent.
        reduce_to: Reduce the picture to so many colours first.

    Raises:
        PictureError: It cannot be read, or does not consist of flats.
    """
    page = picture.read(path)
    if reduce_to is not None:
        page = reduced(page, reduce_to)
    return find(page, keep, least_share=least_share)


def reduced(page: Picture, colours: int) -> Picture:
    """A picture with no more than so many colours, by Pillow's median cut, not dithered."""
    from PIL import Image

    few = Image.fromarray(page.pixels).quantize(
        colours, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE
    )
    note = f"reduced to {colours} colours"
    return Picture(page.file, np.asarray(few.convert("RGB")), page.alpha, (*page.notes, note))


def find(page: Picture, keep: Sequence[Target] = (), *, least_share: float = LEAST_SHARE) -> Flats:
    """The flats of a picture; see `read`.

    Raises:
        PictureError: It does not consist of flats.
    """
    if (alike := _alike(page)) < _LEAST_ALIKE:
        raise PictureError(page.file, _no_flats(0, alike))
    found = _colours(page)
    enough = found.pixels * 100 >= least_share * page.width * page.height
    found = found.at(enough & (found.cores >= _LEAST_CORE * found.pixels))
    # The most frequent first; a picture with more colours is not looked at further.
    found = found.at(np.lexsort((found.first, -found.pixels))[:_MOST_LOOKED_AT])
    lines = _kept(found.codes, keep)
    flat = ~_noise(found)
    of_flats = int(found.pixels[flat | lines].sum())
    flat &= ~lines
    count = int(flat.sum())
    if not count or count > MOST_FLATS or of_flats < _LEAST_FLAT * _coloured(page):
        raise PictureError(page.file, _no_flats(count, of_flats / max(_coloured(page), 1)))
    found_flats = found.at(flat)
    kept = np.union1d(found.codes[lines], [_code(target.srgb) for target in keep])
    map_ = _Map(page, found_flats.codes, kept.astype(np.uint32)[: _LINE - count])
    map_.spread()
    return map_.flats(found_flats.first)


def _alike(page: Picture) -> float:
    """The part of some rows' pixels that are like the one before them: a look before the work."""
    rows = page.pixels[:: max(page.height // 256, 1)]
    alike = (rows[:, 1:] == rows[:, :-1]).all(axis=2)
    return float(alike.mean()) if alike.size else 1.0


def _coloured(page: Picture) -> int:
    """How many pixels have a colour."""
    if page.alpha is None:
        return page.width * page.height
    return int(np.count_nonzero(page.alpha >= _OPAQUE))


def _no_flats(count: int, share: float) -> str:
    """Why a picture is not a page of flats, and what would be right."""
    if count > MOST_FLATS:
        why = f"has {count} colours that fill areas, over {MOST_FLATS}"
    else:
        why = f"does not consist of flats: only {share:.0%} of it is filled with single colours"
    return (
        f"{why}; give the flats without textures and smoothing, reduce it with --flats 24, "
        "or pick a colour of it with `tuimatch pick`"
    )


def _kept(codes: Codes, keep: Sequence[Target]) -> Mask:
    """Which colours are those of the line art, or too close to them to be told apart."""
    from tuimatch.colour.ciede2000_bounds import CLOSE
    from tuimatch.colour.colorimetry import delta_e

    found, lab = np.zeros(len(codes), dtype=np.bool_), _lab(codes)
    for target in keep:
        found |= delta_e(target.lab, lab) < CLOSE
    return found


def _noise(found: _Colours) -> Mask:
    """Which colours, the most frequent first, are noise of lossy compression, shape (n,)."""
    from tuimatch.colour.colorimetry import delta_e

    solid, lab = found.cores > _NOISE_CORE * found.pixels, _lab(found.codes)
    noise = np.zeros(len(lab), dtype=np.bool_)
    for place in np.flatnonzero(~solid):
        larger = lab[:place][~noise[:place] & (found.pixels[:place] > found.pixels[place])]
        noise[place] = (delta_e(larger, lab[place]) < _NOISE_DELTA_E).any()
    return noise


def _lab(codes: Codes) -> npt.NDArray[np.float64]:
    from tuimatch.colour.colorimetry import srgb_to_xyz, xyz_to_lab

    return xyz_to_lab(srgb_to_xyz(_channels(codes) / 255))


def _channels(codes: Codes) -> npt.NDArray[np.int32]:
    """Colours as channels 0…255, shape (n, 3)."""
    return np.stack([codes >> 16, codes >> 8 & 255, codes & 255], axis=1).astype(np.int32)


def _code(rgb: Sequence[int]) -> int:
    return int(rgb[0]) << 16 | int(rgb[1]) << 8 | int(rgb[2])


def _packed(page: Picture, top: int, rows: int) -> Codes:
    """A number for each colour in some rows, shape (rows, width); `_NO_CODE` for none."""
    pixels = page.pixels[top : top + rows]
    codes = pixels[..., 0].astype(np.uint32)
    for channel in (1, 2):
        codes <<= 8
        codes |= pixels[..., channel]
    if page.alpha is not None:
        codes[page.alpha[top : top + rows] < _OPAQUE] = _NO_CODE
    return codes


def _runs(codes: npt.NDArray[Any]) -> tuple[Ints, Ints]:
    """Where runs of one value begin, row by row, as places in the flat array; their lengths."""
    begins = np.ones(codes.shape, dtype=np.bool_)
    np.not_equal(codes[:, 1:], codes[:, :-1], out=begins[:, 1:])
    starts = np.flatnonzero(begins)
    return starts, np.diff(starts, append=codes.size)


class _Colours(NamedTuple):
    """Colours that fill a square of 3 × 3 somewhere; each array of shape (n,).

    Attributes:
        codes: The colours.
        pixels: How many there are of each.
        cores: In the middle of how many squares each is.
        first: The first such middle in reading order, as a place in the picture.
    """

    codes: Codes
    pixels: Ints
    cores: Ints
    first: Ints

    def at(self, which: npt.NDArray[Any]) -> _Colours:
        """Some of them."""
        return _Colours(*(values[which] for values in self))


def _colours(page: Picture) -> _Colours:
    """What fills squares, found by bands: a large page is never whole in memory as numbers."""
    pixels = np.zeros(_NO_CODE + 1, dtype=np.int32)
    codes, cores, first = [], [], []
    for top in range(0, page.height, _BAND):
        # Two rows more than are counted: the squares that begin in the last rows.
        band = _packed(page, top, _BAND + 2)
        starts, lengths = _runs(band[:_BAND])
        np.add.at(pixels, band.reshape(-1)[starts], lengths)
        if min(band.shape) < 3:
            continue
        middles = np.where(_are_middles(band), band[1:-1, 1:-1], _NO_CODE)
        starts, lengths = _runs(middles)
        coloured = middles.reshape(-1)[starts] != _NO_CODE
        row, column = np.divmod(starts[coloured], middles.shape[1])
        codes.append(middles[row, column])
        cores.append(lengths[coloured])
        first.append((row + top + 1) * page.width + column + 1)
    if not codes:
        raise PictureError(page.file, "is smaller than 3 × 3 pixels; give a page of flats")
    found, places, of = np.unique(np.concatenate(codes), return_index=True, return_inverse=True)
    return _Colours(
        found,
        pixels[found].astype(np.intp),
        np.bincount(of, np.concatenate(cores), len(found)).astype(np.intp),
        np.concatenate(first)[places],
    )


def _are_middles(codes: Codes) -> Mask:
    """Which pixels lie in the middle of a square of 3 × 3 of one colour, all but the rim."""
    same = codes[:, 1:] == codes[:, :-1]
    three = same[:, 1:] & same[:, :-1]
    below = codes[1:, 1:-1] == codes[:-1, 1:-1]
    return np.asarray(three[:-2] & three[1:-1] & three[2:] & below[1:] & below[:-1])


class _Map:
    """Which flat each pixel belongs to, being made.

    Attributes:
        count: How many flats there are; their places come first.
        size: The same with the colours kept out; their places come next.
        pixels: How many pixels each of them has, shape (256,); of `_REST` what was to spread.
        map: The places, or `_REST`, `_CLEAR` or `_EDGE`; with a rim of one pixel, so that every
            other has four beside it, shape (height + 2, width + 2).
    """

    def __init__(self, page: Picture, codes: Codes, kept: Codes) -> None:
        self.page = page
        self.count, self.size = len(codes), len(codes) + len(kept)
        self.codes = np.concatenate([codes, kept])
        self.pixels = np.zeros(256, dtype=np.intp)
        self.map = np.full((page.height + 2, page.width + 2), _EDGE, dtype=np.uint8)
        order = np.argsort(self.codes)
        ascending = self.codes[order]
        for top in range(0, page.height, _BAND):
            band = _packed(page, top, _BAND)
            starts, lengths = _runs(band)
            values = band.reshape(-1)[starts]
            near = np.minimum(np.searchsorted(ascending, values), self.size - 1)
            places = np.where(ascending[near] == values, order[near], _REST).astype(np.uint8)
            places[values == _NO_CODE] = _CLEAR
            self.pixels += np.bincount(places, lengths, 256).astype(np.intp)
            rows = np.repeat(places, lengths).reshape(band.shape)
            self.map[top + 1 : top + 1 + len(rows), 1:-1] = rows

    def spread(self) -> None:
        """Give the rest to what it touches, from its edge inward."""
        if not self.pixels[_REST]:
            return
        flat, width = self.map.reshape(-1), self.map.shape[1]
        rest = np.flatnonzero(flat == _REST)
        sides = np.array([-1, 1, -width, width])
        front = np.concatenate(
            [part[_beside_any(flat, part, sides, self.size)] for part in _parts(rest)]
        )
        for _ in range(_MOST_STEPS):
            taken = np.concatenate([self._nearest(flat, part, sides) for part in _parts(front)])
            flat[front] = taken
            self.pixels[: self.size] += np.bincount(taken, minlength=self.size)
            front = np.concatenate([_queued(flat, front + side) for side in sides])
            if not len(front):
                break

    def neighbours(self) -> tuple[Neighbours, ...]:
        """Which flats touch, looking through thin lines; leaves all line art as `_LINE`."""
        one = np.arange(256, dtype=np.uint8)
        one[self.count : self.size] = _LINE
        for band in _bands(self.map):
            np.take(one, band, out=band, mode="clip")
        longer = max(self.page.width, self.page.height)
        thin = max(_LEAST_LINE, int(longer * _LINE_BREADTH))
        borders = np.zeros((256, 256), dtype=np.intp)
        for band in chain(_bands(self.map), _bands(self.map.T)):
            starts, lengths = _runs(band)
            runs = band.reshape(-1)[starts]
            # The rim of `_EDGE` is at both ends of each row.
            runs = runs[(runs != _LINE) | (lengths > thin)].astype(np.intp)
            borders += np.bincount(runs[:-1] << 8 | runs[1:], minlength=1 << 16).reshape(256, 256)
        borders = np.triu(borders + borders.T, 1)[: self.count, : self.count]
        return tuple(
            Neighbours(int(first), int(second), int(borders[first, second]))
            for first, second in np.argwhere(borders >= _LEAST_BORDER)
        )

    def flats(self, first: Ints) -> Flats:
        """What has been found.

        Args:
            first: A pixel of each flat, as a place in the picture, shape (count,).
        """
        page, size = self.page, self.page.width * self.page.height
        colours = [(int(r), int(g), int(b)) for r, g, b in _channels(self.codes)]
        pixels = [int(count) for count in self.pixels]
        kept = [i for i in range(self.count, self.size) if pixels[i]]
        return Flats(
            page=page,
            flats=tuple(
                Flat(
                    colours[i],
                    pixels[i],
                    pixels[i] / size,
                    (place % page.width, place // page.width),
                )
                for i, place in enumerate(first.tolist())
            ),
            neighbours=self.neighbours(),
            map=self.map[1:-1, 1:-1],
            kept_out=tuple(hexed(colours[i]) for i in kept),
            kept_share=sum(pixels[i] for i in kept) / size,
            smoothed=pixels[_REST],
        )

    def _nearest(self, flat: Bytes, where: Ints, sides: Ints) -> Bytes:
        """Of the places beside each pixel the one whose colour is nearest, shape (n,)."""
        row, column = np.divmod(where, self.map.shape[1])
        own = self.page.pixels[row - 1, column - 1].astype(np.int32)
        colours = np.zeros((256, 3), dtype=np.int32)
        colours[: self.size] = _channels(self.codes)
        best = np.full(len(where), _REST, dtype=np.uint8)
        least = np.full(len(where), np.iinfo(np.int32).max, dtype=np.int32)
        for side in sides:
            place = flat[where + side]
            apart = colours[place]
            apart -= own
            far = np.einsum("ij,ij->i", apart, apart)
            nearer = (place < self.size) & (far < least)
            np.copyto(best, place, where=nearer)
            np.copyto(least, far, where=nearer)
        return best


def _beside_any(flat: Bytes, places: Ints, sides: Ints, size: int) -> Mask:
    """Which pixels have one beside them that is less than a size, shape (n,)."""
    found = np.zeros(len(places), dtype=np.bool_)
    for side in sides:
        found |= flat[places + side] < size
    return found


def _bands(places: Bytes) -> Iterator[Bytes]:
    """A map a band of rows at a time; a transposed one is copied in blocks, which is quicker."""
    for top in range(0, len(places), _BAND):
        band = places[top : top + _BAND]
        if band.flags.c_contiguous:
            yield band
            continue
        band = np.empty_like(band, order="C")
        for left in range(0, band.shape[1], _BAND):
            block = slice(left, left + _BAND)
            band[:, block] = places[top : top + _BAND, block]
        yield band


def _queued(flat: Bytes, places: Ints) -> Ints:
    """Those of some pixels that are still to fill; they are marked, so that none comes twice."""
    found: Ints = places[flat[places] == _REST]
    flat[found] = _QUEUED
    return found


def _parts(places: Ints) -> list[Ints]:
    """The same in parts, at least one, so that what is worked out for them stays small."""
    return np.array_split(places, len(places) // _PART + 1)
