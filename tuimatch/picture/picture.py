"""A picture in memory, and what can be asked of it: the mean of an area, and a small view.

However the file stores them, pixels are 8-bit sRGB, turned as the camera meant it: an embedded
ICC profile is applied (Pillow's LittleCMS, relative colorimetric), 16 bit is cut to 8, palettes
and grey are written out, of several frames the first counts (`decoding`). Means are taken in linear
light, and a pixel counts in them by how opaque it is: what is transparent has no colour.
"""

from __future__ import annotations

import json
import os
import subprocess
from dataclasses import dataclass
from functools import partial
from io import BufferedReader
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np
import numpy.typing as npt

from tuimatch.colour import target
from tuimatch.colour.colorimetry import Array, decode_srgb, encode_srgb, srgb_to_xyz, xyz_to_lab
from tuimatch.colour.target import Target
from tuimatch.errors import PictureError
from tuimatch.files import in_file
from tuimatch.picture import decoding
from tuimatch.text import hexed

MAX_BYTES = 200_000_000
_PIPE = 1 << 20  # bytes that the process may be ahead, where the system lets it choose
_NETPBM_LINES = 3  # kind, size and range stand before the values
_COUNTED = 1_000_000  # pixels at once

# Encoded 8-bit sRGB to linear light.
LINEAR: Array = decode_srgb(np.arange(256) / 255)

# A mean this near to an 8-bit colour in linear light is that colour: one step is 1e-4 at least.
_EXACT = 1e-9

Bytes = npt.NDArray[np.uint8]
Box = tuple[int, int, int, int]


class View(NamedTuple):
    """A picture made small.

    Attributes:
        pixels: 8-bit sRGB, shape (rows, columns, 3); two rows make a row of half blocks.
        x: Where each column starts in the picture, and where the last ends, shape (columns + 1,).
        y: The same for rows.
    """

    pixels: Bytes
    x: npt.NDArray[np.intp]
    y: npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture in memory.

    Attributes:
        file: Where it comes from.
        pixels: 8-bit sRGB, shape (height, width, 3).
        alpha: How opaque each pixel is, 0…255, shape (height, width); None if all of them are.
        notes: What the artist should know of how it was read.
    """

    file: str
    pixels: Bytes
    alpha: Bytes | None = None
    notes: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        """Columns of pixels."""
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        """Rows of pixels."""
        return int(self.pixels.shape[0])

    def checked(self, box: Box) -> Box:
        """A box (x, y, width, height) that lies within the picture.

        Raises:
            PictureError: It does not.
        """
        x, y, width, height = box
        inside = x >= 0 and y >= 0 and x + width <= self.width and y + height <= self.height
        if width < 1 or height < 1 or not inside:
            raise PictureError(
                self.file,
                f"the box {x},{y},{width},{height} is not within it; "
                f"the picture is {self.width} × {self.height}",
            )
        return box

    def mean(self, box: Box) -> Array:
        """The mean of a box in linear light, shape (3,).

        Raises:
            PictureError: The box is not within the picture, or nothing in it is opaque.
        """
        x, y, width, height = self.checked(box)
        rows, columns = slice(y, y + height), slice(x, x + width)
        pixels = self.pixels[rows, columns]
        alpha = None if self.alpha is None else self.alpha[rows, columns]
        # Counting each of the 256 values is faster than decoding every pixel; by bands, because
        # counting takes eight bytes for each.
        counts = np.zeros((3, 256))
        for top in range(0, height, step := max(1, _COUNTED // width)):
            weights = None if alpha is None else alpha[top : top + step].reshape(-1)
            for channel, count in enumerate(counts):
                values = pixels[top : top + step, :, channel].reshape(-1)
                count += np.bincount(values, weights, 256)
        if not counts.any():
            raise PictureError(self.file, "is transparent there; choose a place that has a colour")
        return np.asarray(counts @ LINEAR / counts[0].sum())

    def target(self, x: int, y: int, size: int = 1) -> Target:
        """The mean of a square around a pixel as a wanted colour; its text reads back as it.

        The text is such as ``#4b3560`` where that is exact, else ``lab(29.31 17.02 -22.40)``.

        Args:
            x: The column of the pixel.
            y: Its row.
            size: The side of the square, in pixels.

        Raises:
            PictureError: The pixel is not within the picture, or nothing there is opaque.
        """
        self.checked((x, y, 1, 1))
        left, top = max(x - (size - 1) // 2, 0), max(y - (size - 1) // 2, 0)
        right, bottom = min(x + size // 2 + 1, self.width), min(y + size // 2 + 1, self.height)
        mean = self.mean((left, top, right - left, bottom - top))
        whole = np.rint(encode_srgb(mean) * 255)
        if np.abs(decode_srgb(whole / 255) - mean).max() < _EXACT:
            return target.parse(hexed((int(whole[0]), int(whole[1]), int(whole[2]))))
        # Adding 0 turns -0 into 0.
        lab = np.round(xyz_to_lab(srgb_to_xyz(encode_srgb(mean))), 2) + 0.0
        return target.parse("lab({:.2f} {:.2f} {:.2f})".format(*lab))

    def view(self, columns: int, rows: int, ground: tuple[int, int, int] = (119, 119, 119)) -> View:
        """The picture made to fit `columns` × `rows` square pixels, never enlarged.

        Means in linear light; what is transparent shows the ground.
        """
        scale = min(columns / self.width, rows / self.height, 1)
        x = _edges(self.width, max(1, round(self.width * scale)))
        y = _edges(self.height, max(1, round(self.height * scale)))
        linear, behind = LINEAR.astype(np.float32), LINEAR[list(ground)]
        small = np.empty((len(y) - 1, len(x) - 1, 3))
        for row, (top, bottom) in enumerate(pairwise(y)):
            # One row of the view at a time: a large picture is never whole in memory as floats.
            light = linear[self.pixels[top:bottom]]
            area = np.diff(x)[:, None] * (bottom - top)
            if self.alpha is None:
                small[row] = np.add.reduceat(light.sum(axis=0), x[:-1], axis=0) / area
            else:
                opaque = self.alpha[top:bottom, :, None].astype(np.float32) / 255
                share = np.add.reduceat(opaque.sum(axis=0), x[:-1], axis=0) / area
                seen = np.add.reduceat((light * opaque).sum(axis=0), x[:-1], axis=0) / area
                small[row] = seen + behind * (1 - share)
        return View(np.rint(np.clip(encode_srgb(small), 0, 1) * 255).astype(np.uint8), x, y)


def read(path: Path) -> Picture:
    """Open a picture.

    Raises:
        PictureError: It cannot be read, is too large, damaged or of an unknown kind.
    """
    with in_file.opened(path, "a picture file", partial(PictureError, path)) as file:
        if os.fstat(file.fileno()).st_size > MAX_BYTES:
            raise PictureError(path, f"is over {MAX_BYTES // 1_000_000} MB; give a smaller one")
        return _decoded(path, file)


def _decoded(path: Path, file: BinaryIO) -> Picture:
    """The picture that a process of its own decodes."""
    with subprocess.Popen(
        decoding.command(),
        stdin=file,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        pipesize=_PIPE,
    ) as process:
        assert isinstance(process.stdout, BufferedReader)  # unless told otherwise
        head = json.loads(process.stdout.readline() or "null")
        if head is None:
            raise PictureError(path, decoding.too_costly())
        if "problem" in head:
            raise PictureError(path, head["problem"])
        width, height = head["size"]
        pixels = np.empty((height, width, 3), dtype=np.uint8)
        alpha = None if head["opaque"] else np.empty((height, width), dtype=np.uint8)
        for part in (pixels, alpha):
            if part is not None:
                for _ in range(_NETPBM_LINES):
                    process.stdout.readline()
                if process.stdout.readinto(part.data.cast("B")) < part.nbytes:
                    raise PictureError(path, decoding.too_costly())
    return Picture(str(path), pixels, alpha, tuple(head["notes"]))


def _edges(length: int, parts: int) -> npt.NDArray[np.intp]:
    return np.asarray(np.arange(parts + 1) * length // parts)
