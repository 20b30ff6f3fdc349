"""A page of the invented comic as an artist would hand it over: flats, and line art over them.

Page 10 of "Nine Lamps of Ferrow": the harbour at evening, Oda on the quay, the boat that comes in.
Most things on it have a light and a shade, 5 to 15 L apart, side by side.
"""

from __future__ import annotations

import math

from PIL import Image, ImageDraw

# The page in its own units.
WIDTH, HEIGHT = 1000, 1414
INK = "#000000"
PAPER = "#ffffff"
# A real page: A4 at 600 dpi, 34.8 million pixels.
FULL_SIZE = 4961

Points = tuple[tuple[float, float], ...]


def _ellipse(x: float, y: float, across: float, down: float, start: int = 0, end: int = 360):
    """Points on an ellipse, from one angle in degrees to another."""
    turns = [math.radians(start + (end - start) * i / 48) for i in range(49)]
    return tuple((x + across * math.cos(t), y + down * math.sin(t)) for t in turns)


def _box(left: float, top: float, right: float, bottom: float) -> Points:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


# Label, colour, shape; what comes later lies over what came before.
SHAPES: tuple[tuple[str, str, Points], ...] = (
    # The harbour.
    ("sky, high", "#8fa3b0", _box(40, 40, 960, 200)),
    ("sky, middle", "#c3b3a4", _box(40, 190, 960, 290)),
    ("sky, low", "#e2a878", _box(40, 280, 960, 360)),
    ("cloud, lit", "#f0dcb8", _ellipse(300, 150, 170, 46)),
    ("cloud, shade", "#d8bfa0", _ellipse(300, 164, 168, 32, 0, 180)),
    ("sun", "#f6d070", _ellipse(560, 330, 60, 60)),
    ("sea, evening", "#6f8a90", _box(40, 350, 960, 450)),
    ("sun on water", "#e6c078", _box(520, 350, 600, 450)),
    ("sea, near", "#577480", _box(40, 440, 960, 500)),
    ("quay, light", "#a39b8c", _box(40, 470, 620, 540)),
    ("quay, shade", "#857e76", _box(40, 520, 620, 560)),
    ("house, lit", "#d8b890", _box(690, 200, 810, 480)),
    ("house, shade", "#b3957a", _box(810, 200, 900, 480)),
    ("roof, lit", "#b0614a", ((680, 205), (820, 205), (790, 130), (710, 130))),
    ("roof, shade", "#91503f", ((815, 205), (905, 205), (870, 130), (788, 130))),
    ("window, lit", "#f2d860", _box(720, 260, 770, 330)),
    ("lamp post, light", "#6f7f76", _box(150, 240, 166, 480)),
    ("lamp post, shade", "#56645c", _box(166, 240, 182, 480)),
    ("lamp glass, lit", "#f4e6a8", _ellipse(166, 215, 34, 40)),
    ("lamp glass, shade", "#d6c684", _ellipse(166, 215, 32, 38, 0, 180)),
    # Oda.
    ("fog, far", "#d7dad2", _box(40, 600, 480, 1374)),
    ("fog, near", "#bcc3bf", _box(40, 900, 480, 1374)),
    ("Oda's coat, light", "#a8503f", _ellipse(260, 1330, 190, 260, 180, 360)),
    ("Oda's coat, shade", "#8a4038", (*_ellipse(260, 1330, 185, 255, 270, 360), (260, 1330))),
    ("Oda's skin, light", "#d3a37c", _ellipse(260, 880, 110, 140)),
    ("Oda's skin, shade", "#b9855f", _ellipse(260, 880, 108, 138, 270, 450)),
    ("Oda's hair, light", "#6b4c40", _ellipse(260, 800, 130, 100, 170, 370)),
    ("Oda's hair, shade", "#543b33", (*_ellipse(270, 800, 118, 96, 270, 370), (270, 800))),
    ("Oda's scarf, light", "#e0aa44", _box(150, 1010, 372, 1080)),
    ("Oda's scarf, shade", "#c48f30", _box(260, 1036, 372, 1080)),
    ("Oda's eye", "#f4f1e8", _ellipse(215, 880, 26, 14)),
    # The boat.
    ("storm sky", "#66727a", _box(520, 600, 960, 1050)),
    ("sea, rough", "#4f7a7c", _box(520, 1030, 960, 1374)),
    ("foam", "#dcdfd4", _ellipse(740, 1220, 200, 40)),
    ("hull, light", "#b55a3e", ((560, 1080), (920, 1080), (860, 1210), (620, 1210))),
    ("hull, shade", "#964a36", ((590, 1145), (890, 1145), (860, 1210), (620, 1210))),
    ("sail, light", "#e6d3a4", ((730, 640), (730, 1060), (580, 1060))),
    ("sail, shade", "#cbb585", ((738, 660), (738, 1060), (900, 1060))),
    ("gull", "#e9e6dc", _ellipse(860, 700, 46, 16)),
    ("gull, shade", "#cfcdc6", _ellipse(860, 702, 44, 13, 0, 180)),
)
LABELS = {colour: label for label, colour, _ in SHAPES} | {PAPER: "paper"}


def draw(width: int = WIDTH, *, line: float = 0, smooth: bool = False) -> Image.Image:
    """The page.

    Args:
        width: Of the picture in pixels.
        line: Breadth of the line art in units of the page; none where it is 0.
        smooth: Whether edges are smoothed, as a drawing program does it unless told otherwise.
    """
    scale = width / WIDTH * (2 if smooth else 1)
    size = (round(WIDTH * scale), round(HEIGHT * scale))
    image = Image.new("RGB", size, PAPER)
    brush = ImageDraw.Draw(image)
    for _, colour, shape in SHAPES:
        points = [(x * scale, y * scale) for x, y in shape]
        brush.polygon(points, fill=colour)
        if line:
            brush.line([*points, points[0]], fill=INK, width=max(1, round(line * scale)))
    return image.reduce(2) if smooth else image


def labels_text() -> str:
    """The labels as a file for `--labels`."""
    return "".join(f"{colour} {label}\n" for colour, label in LABELS.items())
