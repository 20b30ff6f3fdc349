"""Opening a picture safely, and what can be asked of it: the mean of an area, and a small view.

However the file stores them, pixels become 8-bit sRGB, turned as the camera meant it: an embedded
ICC profile is applied (Pillow's LittleCMS, relative colorimetric), 16 bit is rounded to 8, palettes
and grey are written out, of several frames the first counts. Means are taken in linear light, and
a pixel counts in them by how opaque it is: what is transparent has no colour.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from stat import S_ISREG
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageOps, UnidentifiedImageError

from tuimatch import target
from tuimatch.colorimetry import Array, decode_srgb, encode_srgb, srgb_to_xyz, xyz_to_lab
from tuimatch.errors import PictureError
from tuimatch.target import Target

MAX_BYTES = 200_000_000
# Opening takes up to 13 bytes a pixel, WebP twice that: below 512 MB at this size.
MAX_PIXELS = 32_000_000
FORMATS = ("PNG", "JPEG", "WEBP", "TIFF", "GIF", "BMP")

_BAND = 256

# Encoded 8-bit sRGB to linear light.
LINEAR: Array = decode_srgb(np.arange(256) / 255)

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
        pixels = self.pixels[rows, columns].reshape(-1, 3)
        weights = None if self.alpha is None else self.alpha[rows, columns].reshape(-1)
        if weights is not None and not weights.any():
            raise PictureError(self.file, "is transparent there; choose a place that has a colour")
        # Counting each of the 256 values is faster than decoding every pixel.
        counts = np.stack([np.bincount(pixels[:, c], weights, 256) for c in range(3)])
        return np.asarray(counts @ LINEAR / counts[0].sum())

    def target(self, x: int, y: int, size: int = 1) -> Target:
        """The mean of a square around a pixel as a wanted colour; its text reads back as it.

        Raises:
            PictureError: The pixel is not within the picture, or nothing there is opaque.
        """
        self.checked((x, y, 1, 1))
        left, top = max(x - (size - 1) // 2, 0), max(y - (size - 1) // 2, 0)
        right, bottom = min(x + size // 2 + 1, self.width), min(y + size // 2 + 1, self.height)
        mean = self.mean((left, top, right - left, bottom - top))
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
    try:
        known = path.stat()
        if not S_ISREG(known.st_mode):
            raise PictureError(path, "is no file; give a picture file")
        if known.st_size > MAX_BYTES:
            raise PictureError(path, f"is over {MAX_BYTES // 1_000_000} MB; give a smaller one")
        with path.open("rb") as file:
            return _decoded(path, file)
    except OSError as error:
        raise PictureError(
            path, f"cannot be read ({error.strerror or error}); give a picture file"
        ) from error


def _decoded(path: Path, file: Any) -> Picture:
    kinds = ", ".join(FORMATS)
    try:
        with warnings.catch_warnings():
            # Pillow warns of every oddity in a file; only what it refuses matters here.
            warnings.simplefilter("ignore")
            return _as_srgb(path, _loaded(path, file))
    except PictureError:
        raise
    except UnidentifiedImageError as error:
        raise PictureError(path, f"is no picture of a known kind; give {kinds}") from error
    except Image.DecompressionBombError as error:
        raise PictureError(path, _too_large(MAX_PIXELS)) from error
    except Exception as error:
        # A decoder fed with damaged data may raise anything at all.
        raise PictureError(
            path, f"is damaged ({type(error).__name__}); give a whole {kinds} picture"
        ) from error


def _loaded(path: Path, file: Any) -> Image.Image:
    image = Image.open(file, formats=FORMATS)
    width, height = image.size
    most = MAX_PIXELS // 2 if image.format == "WEBP" else MAX_PIXELS
    if width * height > most:
        raise PictureError(path, _too_large(most, width, height))
    image.load()
    return image


def _too_large(most: int, *size: int) -> str:
    said = f" ({size[0]:,} × {size[1]:,})" if size else ""
    return f"has over {most // 1_000_000} million pixels{said}; cut it or scale it down"


def _as_srgb(path: Path, image: Image.Image) -> Picture:
    """The first frame as 8-bit sRGB, turned; each step lets go of the picture before it."""
    profile = image.info.get("icc_profile")
    transparent = "transparency" in image.info and image.mode in ("P", "L", "RGB")
    ImageOps.exif_transpose(image, in_place=True)
    if image.mode.startswith("I"):
        image = _eight_bit(path, image)
    elif transparent or image.mode == "PA":
        image = image.convert("RGBA")
    elif image.mode == "P":
        image = image.convert("RGB")
    if image.mode not in ("1", "L", "LA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr"):
        raise PictureError(path, f"is of kind {image.mode}; save it as 8 or 16 bit RGB")
    alpha = None
    if image.mode in ("LA", "RGBA"):
        alpha = _array(image.getchannel("A"))
        image = image.convert(image.mode[:-1])
        if alpha.min() == 255:
            alpha = None
    image, note = _through_profile(image, profile)
    return Picture(str(path), _array(image), alpha, (note,) if note else ())


def _array(image: Image.Image) -> Bytes:
    """The pixels of an 8-bit picture; in bands, as a picture at once takes three times its size."""
    width, height = image.size
    channels = len(image.getbands())
    pixels = np.empty((height, width, channels), dtype=np.uint8)
    for top in range(0, height, _BAND):
        bottom = min(top + _BAND, height)
        pixels[top:bottom] = np.asarray(image.crop((0, top, width, bottom))).reshape(
            bottom - top, width, channels
        )
    return pixels if channels > 1 else pixels[:, :, 0]


def _eight_bit(path: Path, image: Image.Image) -> Image.Image:
    """A 16-bit grey picture as 8 bit."""
    values = np.asarray(image)
    if values.min() < 0 or values.max() > 65535:
        raise PictureError(path, "has over 16 bits a channel; save it as 8 or 16 bit")
    return Image.fromarray(((values.astype(np.uint32) + 128) // 257).astype(np.uint8))


def _through_profile(image: Image.Image, profile: bytes | None) -> tuple[Image.Image, str]:
    """The picture as sRGB, and what there is to say of the way."""
    if not profile:
        note = "CMYK without a profile: its colours are a guess" if image.mode == "CMYK" else ""
        return image.convert("RGB"), note
    from PIL import ImageCms

    try:
        embedded = ImageCms.ImageCmsProfile(BytesIO(profile))
        space = {"RGB": "RGB", "GRAY": "L", "CMYK": "CMYK"}[embedded.profile.xcolor_space.strip()]
        if (space == "CMYK") != (image.mode == "CMYK"):
            raise ValueError(space)
        image = image if image.mode == space else image.convert(space)
        converted = ImageCms.profileToProfile(
            image,
            embedded,
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
            # The coarse tables LittleCMS likes to make are out by ten steps in the darks.
            flags=ImageCms.Flags.NOOPTIMIZE,
        )
        assert converted is not None  # only `inPlace` gives None
        return converted, ""
    except (ImageCms.PyCMSError, OSError, KeyError, ValueError):
        return image.convert("RGB"), "its colour profile cannot be used: taken as sRGB"


def _edges(length: int, parts: int) -> npt.NDArray[np.intp]:
    return np.asarray(np.arange(parts + 1) * length // parts)
