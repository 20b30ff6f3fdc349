"""Plates: one picture an ink, black where ink goes, for a press, a duplicator or a copy shop.

With dots a plate is a TIFF of 1 bit (Group 4), without them a PNG whose grey is the tint, for
presses that make the dots themselves. Marks stand outside the picture: crosses in circles to bring
the plates into register, and the name of the ink.

Marks, ink limits and angles are the printer's to settle.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tuimatch.plates.layers import file_name
from tuimatch.plates.painting import Painting, Progress
from tuimatch.plates.screening import Screening, dots
from tuimatch.text import percent, printable

if TYPE_CHECKING:
    from PIL import Image

_MARGIN, _CIRCLE, _CROSS = 12.0, 2.5, 4.5  # millimetres
_MM_PER_INCH = 25.4


def write_plates(
    folder: Path,
    painting: Painting,
    screening: Screening,
    *,
    dpi: int,
    marks: bool,
    told: Progress,
) -> list[Path]:
    """Write a plate for each ink into a folder that is there; an ink that is not used has none.

    Args:
        folder: The folder.
        painting: The page.
        screening: How fine the dots are, or that there are none.
        dpi: Pixels of the page to the inch.
        marks: Whether the plates have register marks.
        told: Called with how much is done, 0…1.

    Raises:
        OSError: They cannot be written.
    """
    palette = painting.recipes.palette
    used = [i for i in range(len(palette.inks)) if painting.tints(i)[: len(painting.rows)].any()]
    written = []
    for number, ink in enumerate(used):

        def part(done: float, number: int = number) -> None:
            told((number + done) / len(used))

        image = _plate(painting, ink, screening, part)
        if marks:
            name = palette.inks[ink].name
            angle = "" if screening.period is None else f", {percent(palette.angles[ink])}°"
            image = with_marks(image, f"{palette.name}: {name}{angle}", dpi)
        stem = f"{number + 1}-{file_name(palette.inks[ink].name)}"
        if screening.period is None:
            path = folder / f"{stem}.png"
            image.save(path, "PNG", dpi=(dpi, dpi))
        else:
            path = folder / f"{stem}.tif"
            image.save(path, "TIFF", compression="group4", dpi=(dpi, dpi))
        written.append(path)
    told(1.0)
    return written


def _plate(painting: Painting, ink: int, screening: Screening, told: Progress) -> Image.Image:
    from PIL import Image

    size = painting.width, painting.height
    tints = painting.tints(ink)
    if screening.period is None:
        grey = np.rint(255 * (1 - tints)).astype(np.uint8)
        pixels = np.empty(painting.map.shape, dtype=np.uint8)
        for band in painting.bands():
            pixels[band] = grey[painting.map[band]]
        return Image.frombuffer("L", size, pixels, "raw", "L", 0, 1)
    inked = dots(painting, ink, tints, screening.period, told)
    return Image.frombytes("1", size, np.packbits(~inked, axis=1).tobytes())


def with_marks(image: Image.Image, says: str, dpi: int) -> Image.Image:
    """A plate with register marks around it and, above the picture, a line that says what it is."""
    from PIL import Image, ImageDraw, ImageFont

    def pixels(millimetres: float) -> int:
        return max(round(millimetres / _MM_PER_INCH * dpi), 1)

    margin = pixels(_MARGIN)
    white = 1 if image.mode == "1" else 255
    whole = Image.new(image.mode, (image.width + 2 * margin, image.height + 2 * margin), white)
    whole.paste(image, (margin, margin))
    pen = ImageDraw.Draw(whole)
    thin, circle, cross = pixels(0.1), pixels(_CIRCLE), pixels(_CROSS)
    centre_x, centre_y, half = whole.width // 2, whole.height // 2, margin // 2
    for x, y in (
        (centre_x, half),
        (centre_x, whole.height - half),
        (half, centre_y),
        (whole.width - half, centre_y),
    ):
        pen.ellipse((x - circle, y - circle, x + circle, y + circle), outline=0, width=thin)
        pen.line((x - cross, y, x + cross, y), fill=0, width=thin)
        pen.line((x, y - cross, x, y + cross), fill=0, width=thin)
    says, size, room = printable(says), max(pixels(3.5), 8), centre_x - 2 * cross - margin
    font = ImageFont.load_default(size=size)
    while size > 6 and font.getlength(says) > room:  # it ends before the mark in the middle
        size -= 1
        font = ImageFont.load_default(size=size)
    pen.text((margin, half), says, fill=0, font=font, anchor="lm")
    return whole
