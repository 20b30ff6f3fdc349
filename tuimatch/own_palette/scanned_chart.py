"""A palette from the scan of a chart for measuring (`chart.measuring`).

The frame around the patches is found by its corners, the scan set straight by them, and each patch
read as the mean of its middle in linear light. Colours are as the scanner gives them in sRGB: a
scanner is not an instrument, and a palette is no truer than the colours it is made of.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tuimatch.chart.measuring import PATCH, Grid
from tuimatch.colour.colorimetry import Array, encode_srgb, srgb_to_xyz, xyz_to_lab
from tuimatch.errors import SwatchError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette, Triple
from tuimatch.picture.picture import LINEAR, Picture
from tuimatch.text import printable

# Pixels for a millimetre of the chart set straight, and what is left out at each side of a patch.
_FINE, _MARGIN = 10, 0.25
_LEAST_SIDE = 300  # of the frame in the scan, in pixels
_DARK = 0.5  # of the way from paper to the darkest of the scan: what is darker is frame


def read(scan: Picture, grid: Grid, palette: Palette, *, name: str, stem: str) -> Palette:
    """The palette that a scan shows.

    Args:
        scan: The picture of the printed chart, with all of its frame and some paper around it.
        grid: What is where on it.
        palette: The palette that the chart was made for: its inks, ladders, labels and angles stay.
        name: What to call the new palette.
        stem: What the palette will be called by.

    Raises:
        SwatchError: The frame is not found, or the list has other inks or lacks a patch.
        PaletteError: What was read does not make a palette.
    """
    if tuple(ink.name for ink in palette.inks) != grid.inks:
        raise SwatchError(
            f"the list is for {', '.join(grid.inks)}; give the palette that the chart was made for"
        )
    labs = _patches(scan, grid)
    none = tuple(0.0 for _ in grid.inks)

    def measured(tints: tuple[float, ...]) -> Triple:
        if tints not in labs:
            raise SwatchError(f"the chart lacks {palette.recipe_text(tints)}; draw it again")
        return labs[tints]

    inks = []
    for place, ink in enumerate(palette.inks):
        alone = {
            tint: labs[one]
            for tint in ink.tints
            if tint < 100 and (one := (*none[:place], tint, *none[place + 1 :])) in labs
        }
        solid = measured((*none[:place], 100.0, *none[place + 1 :]))
        screen = ink.screen or (ink.solid if palette.rules.colour == "srgb" else None)
        inks.append(
            replace(
                ink, solid=solid, measured=tuple(alone.items()), gain=None, ramp=(), screen=screen
            )
        )
    overprints, mixtures = [], []
    for tints, lab in labs.items():
        used = tuple(place for place, tint in enumerate(tints) if tint)
        if len(used) > 1 and all(tint in (0, 100) for tint in tints):
            overprints.append((used, lab))
        elif len(used) > 1:
            mixtures.append((tints, lab))
    made = replace(
        palette,
        stem=stem,
        name=printable(name)[:80].strip() or stem,
        about=printable(f"Read from a scan of a chart for {palette.name}.")[:400],
        kind="measured",
        source=printable(Path(scan.file).name)[:400] or "a scan",
        paper=measured(none),
        paper_screen=palette.paper_screen
        or (palette.paper if palette.rules.colour == "srgb" else None),
        inks=tuple(inks),
        overprints=tuple(sorted(overprints, key=lambda item: (len(item[0]), item[0]))),
        mixtures=tuple(mixtures),
        yule_nielsen=None,
        fused="eye",
        channels="sharp" if palette.is_process else "xyz",
    )
    return palette_file.with_text(made, scan.file)


def _patches(scan: Picture, grid: Grid) -> dict[tuple[float, ...], Triple]:
    """Lab of each recipe on the chart; of several patches of one, the mean light."""
    straight = _straight(scan, grid)
    light: dict[tuple[float, ...], list[Array]] = {}
    inner = round(_MARGIN * PATCH * _FINE)
    side = round(PATCH * _FINE) - 2 * inner
    for place, tints in grid.tints.items():
        x, y = (round(v * _FINE) + inner for v in grid.corner(*place))
        mean = straight[:, y : y + side, x : x + side].mean(axis=(1, 2))
        light.setdefault(tints, []).append(srgb_to_xyz(encode_srgb(mean)))
    found = {}
    for tints, xyz in light.items():
        lightness, a, b = np.round(xyz_to_lab(np.mean(xyz, axis=0)), 2).tolist()
        found[tints] = (lightness, a, b)
    return found


def _straight(scan: Picture, grid: Grid) -> npt.NDArray[np.float32]:
    """The inside of the frame, its outer corners in the corners, as linear light.

    Shape (3, height, width). Mixing encoded values would darken every edge of a dot.
    """
    from PIL import Image

    corners = [float(v) for corner in _corners(scan) for v in corner]
    width, height = (round(side * _FINE) for side in grid.size)
    linear = LINEAR.astype(np.float32)
    straight = np.empty((3, height, width), dtype=np.float32)
    for channel in range(3):
        light = Image.fromarray(linear[scan.pixels[..., channel]])
        straight[channel] = np.asarray(
            light.transform(
                (width, height), Image.Transform.QUAD, corners, Image.Resampling.BILINEAR
            )
        )
    return straight


def _corners(scan: Picture) -> list[tuple[int, int]]:
    """The frame's outer corners: top left, bottom left, bottom right, top right.

    Nothing on the chart reaches further than its frame, so the corners are what lies furthest
    toward each corner of the scan.

    Raises:
        SwatchError: There is no frame.
    """
    luma = scan.pixels @ np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
    paper, darkest = np.percentile(luma[::4, ::4], [90, 1])
    dark = luma < paper - _DARK * (paper - darkest)
    # A speck of dust is smaller than a square of 3 x 3, a frame is not.
    dark = _eroded(_eroded(dark, 0), 1)
    rows, columns = np.nonzero(dark)
    if not len(rows):
        raise _no_frame(scan)
    total, difference = columns + rows, columns - rows
    places = [total.argmin(), difference.argmin(), total.argmax(), difference.argmax()]
    corners = [(int(columns[p]), int(rows[p])) for p in places]
    (left, top), (_, foot), (right, _), (_, _) = corners
    if min(right - left, foot - top) < _LEAST_SIDE:
        raise _no_frame(scan)
    # The erosion took a pixel at each side.
    outward = ((-1, -1), (-1, 2), (2, 2), (2, -1))
    return [(x + dx, y + dy) for (x, y), (dx, dy) in zip(corners, outward, strict=True)]


def _eroded(mask: npt.NDArray[np.bool_], axis: int) -> npt.NDArray[np.bool_]:
    mask = np.moveaxis(mask, axis, 0)
    inner = np.zeros_like(mask)
    inner[1:-1] = mask[:-2] & mask[1:-1] & mask[2:]
    return np.moveaxis(inner, 0, axis)


def _no_frame(scan: Picture) -> SwatchError:
    return SwatchError(
        f"{scan.file}: cannot find the frame of the chart; scan all of it, with paper around it"
    )
