"""A page as it is expected to print: the predicted colours, through the dots or flat.

A preview on a screen is not a contract proof.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tuimatch.plates import png
from tuimatch.plates.painting import Painting, Progress
from tuimatch.plates.screening import Screening, overprints
from tuimatch.recipe.dots import Press

if TYPE_CHECKING:
    from PIL import Image


def write_proof(
    path: Path, painting: Painting, screening: Screening, *, dpi: int, told: Progress
) -> None:
    """Write the proof as PNG, tagged as sRGB.

    Args:
        path: The file.
        painting: The page.
        screening: How fine the dots are, or that there are none.
        dpi: Pixels of the page to the inch.
        told: Called with how much is done, 0…1.

    Raises:
        OSError: It cannot be written.
    """
    from PIL.PngImagePlugin import PngInfo

    # Drawing takes half of the time, writing the other half.
    image = draw(painting, screening, lambda done: told(done / 2))
    info = PngInfo()
    info.add(b"sRGB", b"\x00")  # perceptual; ISO/IEC 15948, the sRGB chunk
    with path.open("wb") as file:
        png.save(image, file, dpi, lambda: told(0.5), pnginfo=info)
    told(1.0)


def draw(painting: Painting, screening: Screening, told: Progress) -> Image.Image:
    """The proof as RGB, made a band at a time, so that a large page does not fill the memory."""
    from PIL import Image

    recipes, row_of_place = painting.recipes, painting.row_of_place
    if screening.period is None:
        table, step, bits = recipes.srgb[row_of_place], 1, None
    else:
        press = Press(recipes)
        different, place = np.unique(row_of_place, return_inverse=True)
        gained = np.array([press.areas(int(row)) for row in different])[place]
        areas = [gained[:, ink] for ink in range(gained.shape[1])]
        bits = overprints(painting, areas, screening.period, told)
        colours = np.array([press.colours(int(row)) for row in different])
        step = colours.shape[1]
        table = colours[place].reshape(-1, 3)
    image = Image.new("RGB", (painting.width, painting.height))
    for band in painting.bands():
        codes = painting.map[band].astype(np.int32) * step
        if bits is not None:
            codes += bits[band]
        pixels = table[codes]
        painting.draw_lines(band, pixels)
        image.paste(Image.fromarray(pixels), (0, band.start))
    return image
