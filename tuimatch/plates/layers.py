"""A painted page as layers to go on with in a drawing program: OpenRaster, or PNGs in a folder.

The paper lies at the bottom, then each ink in its colour on transparent ground, in laying order,
each multiplied onto what lies below it (W3C Compositing and Blending Level 1); the line art lies on
top. Without dots a tint is the ink at that opacity.

OpenRaster is the baseline of freedesktop.org's specification 0.0.5: a ZIP file that begins with an
uncompressed `mimetype`, `stack.xml` with the layers from the top, a merged image and a thumbnail.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr

import numpy as np
import numpy.typing as npt

from tuimatch.colour.colorimetry import displayed
from tuimatch.plates import png
from tuimatch.plates.painting import Bytes, Painting, Progress
from tuimatch.plates.screening import Screening, overprints
from tuimatch.recipe.recipes import Recipes
from tuimatch.text import hexed, printable

if TYPE_CHECKING:
    from PIL import Image

_THUMBNAIL = 256
_OPAQUE = 255


@dataclass(frozen=True)
class Colours:
    """What the layers are painted with, 8-bit sRGB.

    Attributes:
        paper: The ground.
        inks: In laying order.
    """

    paper: tuple[int, int, int]
    inks: tuple[tuple[int, int, int], ...]

    @classmethod
    def of(cls, recipes: Recipes) -> Colours:
        """The drawing program's; as the solids look where a palette of print does not give them."""
        palette = recipes.palette.canvas or recipes.palette
        if palette.rules.colour == "srgb":
            return cls(_rgb(palette.paper), tuple(_rgb(ink.solid) for ink in palette.inks))
        solids = [
            tuple(100.0 if i == ink else 0.0 for i in range(len(palette.inks)))
            for ink in range(len(palette.inks))
        ]
        shown = displayed(recipes.halftone.colour_of([(0.0,) * len(palette.inks), *solids])).srgb
        paper, *inks = (_rgb(one.tolist()) for one in shown)
        return cls(paper, tuple(inks))


class Layers:
    """The layers of a page.

    Args:
        painting: The page.
        colours: Those of a screen.
        screening: How fine the dots are.
        told: Called with how much of the dots is done, 0…1.
    """

    def __init__(
        self, painting: Painting, colours: Colours, screening: Screening, told: Progress
    ) -> None:
        self.painting, self.colours = painting, colours
        palette = painting.recipes.palette
        self._tints = [painting.tints(ink) for ink in range(len(palette.inks))]
        # With dots: which inks cover each pixel. Without: each pixel's recipe says how strongly.
        self._bits: Bytes | None = None
        if screening.period is not None:
            self._bits = overprints(painting, self._tints, screening.period, told)

    @property
    def names(self) -> list[str]:
        """What the layers are called, from the ground up."""
        inks = [ink.name for ink in self.painting.recipes.palette.inks]
        lines = [f"line art {hexed(line.colour)}" for line in self.painting.lines]
        return [self.painting.recipes.palette.paper_name, *inks, *lines]

    def images(self) -> Iterator[Image.Image]:
        """The layers from the ground up; the ground RGB, others RGBA."""
        return map(self.image, range(len(self.names)))

    def image(self, number: int) -> Image.Image:
        """One layer, counted from the ground."""
        from PIL import Image

        painting, inks = self.painting, self.colours.inks
        if not number:
            return Image.new("RGB", (painting.width, painting.height), self.colours.paper)
        if number <= len(inks):
            return self._rgba(inks[number - 1], self._opacity(number - 1), self._codes)
        line = painting.lines[number - 1 - len(inks)]
        return self._rgba(line.colour, np.arange(256, dtype=np.uint32), line.cover)

    def merged(self) -> Image.Image:
        """All layers together, RGB."""
        from PIL import Image

        painting = self.painting
        table = np.rint(self._merged_table() * 255).astype(np.uint8)
        merged = Image.new("RGB", (painting.width, painting.height))
        for band in painting.bands():
            pixels = table[self._codes[band]]
            painting.draw_lines(band, pixels)
            merged.paste(Image.fromarray(pixels), (0, band.start))
        return merged

    @property
    def _codes(self) -> Bytes:
        return self.painting.map if self._bits is None else self._bits

    def _opacity(self, ink: int) -> npt.NDArray[np.uint32]:
        """How much an ink covers, 0…255, for each value of `_codes`, shape (256,)."""
        if self._bits is None:
            return np.rint(self._tints[ink] * _OPAQUE).astype(np.uint32)
        return np.where(np.arange(256) >> ink & 1, _OPAQUE, 0).astype(np.uint32)

    def _merged_table(self) -> npt.NDArray[np.float64]:
        """The inks multiplied onto the paper for each value of `_codes`, 0…1, shape (256, 3).

        W3C Compositing and Blending Level 1: with backdrop b and source s of opacity α,
        co = (1 − α) · b + α · (b · s).
        """
        merged = np.repeat(np.array(self.colours.paper)[None] / 255, 256, axis=0)
        for ink, colour in enumerate(self.colours.inks):
            alpha = self._opacity(ink)[:, None] / 255
            merged = (1 - alpha) * merged + alpha * (merged * (np.array(colour) / 255))
        return merged

    def _rgba(
        self, colour: tuple[int, int, int], opacity: npt.NDArray[np.uint32], codes: Bytes
    ) -> Image.Image:
        from PIL import Image

        red, green, blue = colour
        solid = np.uint32(red | green << 8 | blue << 16)
        # A transparent pixel has no colour, so that it takes no room in a file.
        table = np.where(opacity > 0, solid | opacity << np.uint32(24), 0).astype("<u4")
        pixels = np.empty(codes.shape, dtype="<u4")
        for band in self.painting.bands():
            pixels[band] = table[codes[band]]
        size = self.painting.width, self.painting.height
        return Image.frombuffer("RGBA", size, pixels, "raw", "RGBA", 0, 1)


def write_openraster(path: Path, layers: Layers, dpi: int, told: Progress) -> None:
    """Write the layers as one OpenRaster file.

    Args:
        path: The file.
        layers: What to write.
        dpi: Pixels to the inch.
        told: Called with how much is done, 0…1.

    Raises:
        OSError: It cannot be written.
    """
    names, painting = layers.names, layers.painting
    parts, steps = [], len(names) + 1

    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as whole:

        def save(image: Image.Image, source: str, done: float) -> None:
            with whole.open(source, "w") as file:
                png.save(image, file, dpi, partial(told, done / steps))

        whole.writestr("mimetype", "image/openraster")
        for number, name in enumerate(names):
            source = f"data/layer{number}.png"
            save(layers.image(number), source, number)
            inks = 0 < number <= len(painting.recipes.palette.inks)
            parts.append(_layer(name, source, "multiply" if inks else "src-over"))
        merged = layers.merged()
        save(merged, "mergedimage.png", len(names))
        merged.thumbnail((_THUMBNAIL, _THUMBNAIL))
        save(merged, "Thumbnails/thumbnail.png", steps)
        whole.writestr("stack.xml", _stack(painting, parts, dpi), zipfile.ZIP_DEFLATED)
    told(1.0)


def write_pngs(folder: Path, layers: Layers, dpi: int, told: Progress) -> None:
    """Write each layer and all together as PNGs into a folder that is there.

    Args:
        folder: The folder.
        layers: What to write.
        dpi: Pixels to the inch.
        told: Called with how much is done, 0…1.

    Raises:
        OSError: They cannot be written.
    """
    names = [f"{number}-{file_name(name)}" for number, name in enumerate(layers.names)]
    for number, name in enumerate((*names, "merged")):
        image = layers.image(number) if number < len(names) else layers.merged()
        with (folder / f"{name}.png").open("wb") as file:
            png.save(image, file, dpi, partial(told, number / (len(names) + 1)))
        del image  # before the next is made
    told(1.0)


def _rgb(srgb: Sequence[float]) -> tuple[int, int, int]:
    r, g, b = (round(value) for value in srgb)
    return r, g, b


def file_name(name: str) -> str:
    """A name of an ink or a layer as a part of a file's name on any system."""
    return re.sub(r"[^\w-]+", "-", printable(name)).strip("-")[:40] or "layer"


def _layer(name: str, source: str, operation: str) -> str:
    return (
        f'  <layer name={quoteattr(printable(name))} src={quoteattr(source)} x="0" y="0" '
        f'opacity="1.0" visibility="visible" composite-op="svg:{operation}"/>\n'
    )


def _stack(painting: Painting, parts: list[str], dpi: int) -> str:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<image version="0.0.5" w="{painting.width}" h="{painting.height}" '
        f'xres="{dpi}" yres="{dpi}">\n <stack>\n{"".join(reversed(parts))} </stack>\n</image>\n'
    )
