"""Decoding a picture file, in a process of its own that the system stops at a limit.

A small file can make a decoder work for minutes or fill the memory: thousands of scans, of tags, of
comments. No list of such tricks is ever complete, so the process has limits of time and memory.
(Windows does not have such limits; there only pictures that are too large are refused.)

Run as a process it reads the file from standard input and writes a line of JSON, then the colours
as PPM, then how opaque each pixel is as PGM (netpbm): the quickest that Pillow writes.
"""

from __future__ import annotations

import json
import sys
import warnings
from contextlib import suppress
from io import BytesIO
from typing import BinaryIO, NamedTuple, cast

from PIL import Image, ImageOps, UnidentifiedImageError

from tuimatch.errors import PictureError

# Of 512 MB for both processes: the picture comes here when the other has freed nearly all of it.
MOST_MEMORY = 470_000_000
MOST_SECONDS = 6

# Decoding takes up to 13 bytes a pixel, WebP 18: below the limit at this size.
MAX_PIXELS = 36_000_000
FORMATS = ("PNG", "JPEG", "WEBP", "TIFF", "GIF", "BMP")


class Decoded(NamedTuple):
    """A picture as its file means it.

    Attributes:
        image: RGB, 8 bits a channel, turned.
        alpha: How opaque each pixel is; None if all of them are.
        notes: What the artist should know of how it was read.
    """

    image: Image.Image
    alpha: Image.Image | None
    notes: tuple[str, ...]


def decode(file: BinaryIO, name: str) -> Decoded:
    """Decode a picture.

    Args:
        file: An open file, or bytes.
        name: What to call it in a refusal.

    Raises:
        PictureError: It is too large, damaged or of an unknown kind.
    """
    kinds = ", ".join(FORMATS)
    try:
        with warnings.catch_warnings():
            # Pillow warns of every oddity in a file; only what it refuses matters here.
            warnings.simplefilter("ignore")
            return _as_srgb(_loaded(file, name), name)
    except PictureError:
        raise
    except UnidentifiedImageError as error:
        raise PictureError(name, f"is not a picture of a known kind; give {kinds}") from error
    except Image.DecompressionBombError as error:
        raise PictureError(name, _too_large(MAX_PIXELS)) from error
    except MemoryError as error:
        raise PictureError(name, too_costly()) from error
    except Exception as error:
        # A decoder fed with damaged data may raise anything at all.
        raise PictureError(
            name, f"is damaged ({type(error).__name__}); give a whole {kinds} picture"
        ) from error


def too_costly() -> str:
    """What to say of a file that needed more than the limits allow."""
    return (
        f"takes over {MOST_MEMORY // 1_000_000} MB or {MOST_SECONDS} s to open, "
        "or breaks the decoder; save it again as a plain PNG"
    )


def _loaded(file: BinaryIO, name: str) -> Image.Image:
    image = Image.open(file, formats=FORMATS)
    width, height = image.size
    most = MAX_PIXELS // 2 if image.format == "WEBP" else MAX_PIXELS
    if width * height > most:
        raise PictureError(name, _too_large(most, width, height))
    image.load()
    return image


def _too_large(most: int, *size: int) -> str:
    said = f" ({size[0]:,} × {size[1]:,})" if size else ""
    return f"has over {most // 1_000_000} million pixels{said}; cut it or scale it down"


def _as_srgb(image: Image.Image, name: str) -> Decoded:
    """The first frame as 8-bit sRGB, turned; each step lets go of the picture before it."""
    profile = image.info.get("icc_profile")
    transparent = "transparency" in image.info and image.mode in ("P", "L", "RGB")
    ImageOps.exif_transpose(image, in_place=True)
    if image.mode.startswith("I"):
        image = _eight_bit(image, name)
    elif transparent or image.mode == "PA":
        image = image.convert("RGBA")
    elif image.mode == "P":
        image = image.convert("RGB")
    if image.mode not in ("1", "L", "LA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr"):
        raise PictureError(name, f"is of kind {image.mode}; save it as 8 or 16 bit RGB")
    alpha = None
    if image.mode in ("LA", "RGBA"):
        alpha = image.getchannel("A")
        image = image.convert(image.mode[:-1])
        if alpha.getextrema() == (255, 255):
            alpha = None
    image, note = _through_profile(image, profile)
    return Decoded(image, alpha, (note,) if note else ())


def _eight_bit(image: Image.Image, name: str) -> Image.Image:
    """A 16-bit grey picture as 8 bit."""
    image = image.convert("I")
    least, most = cast("tuple[int, int]", image.getextrema())
    if least < 0 or most > 65535:
        raise PictureError(name, "has over 16 bits a channel; save it as 8 or 16 bit")
    return image.point([(value + 128) // 257 for value in range(65536)], "L")


def _through_profile(image: Image.Image, profile: bytes | None) -> tuple[Image.Image, str]:
    """The picture as sRGB, and what there is to say of the way."""
    if not profile:
        note = "CMYK without a profile: its colours are a guess" if image.mode == "CMYK" else ""
        return image if image.mode == "RGB" else image.convert("RGB"), note
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


# The process.


def command() -> list[str]:
    """What starts the process; it finds the modules where this one does, nowhere else."""
    code = f"import sys; sys.path[:] = {sys.path!r}; from {__name__} import main; main()"
    return [sys.executable, "-I", "-c", code]


def main() -> None:
    """Decode standard input; see the module."""
    _limit_itself()
    out = sys.stdout.buffer
    try:
        image, alpha, notes = decode(sys.stdin.buffer, "picture")
    except PictureError as error:
        out.write(json.dumps({"problem": error.problem}).encode() + b"\n")
        return
    image.info.clear()  # which may be larger than the picture
    head = {"size": image.size, "opaque": alpha is None, "notes": notes}
    out.write(json.dumps(head).encode() + b"\n")
    for part in (image, alpha) if alpha else (image,):
        part.save(out, "PPM")


def _limit_itself() -> None:
    try:
        import resource
    except ImportError:  # Windows
        return
    for which, most in (
        (resource.RLIMIT_AS, MOST_MEMORY),
        (resource.RLIMIT_CPU, MOST_SECONDS),
        (resource.RLIMIT_CORE, 0),
    ):
        # Where it cannot be set, a stricter limit holds already, or the system has none.
        with suppress(ValueError, OSError):
            resource.setrlimit(which, (most, most))
