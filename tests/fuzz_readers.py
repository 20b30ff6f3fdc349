"""Hunts for what a reader of foreign data cannot take, guided by which code each input reaches.

Run by hand for as long as you like; it stops at the first input that brings out anything but the
one-line refusal, and keeps that input as ``crash-…`` where it was started::

    python -m pip install atheris
    PYTHONPATH=.:tests python tests/fuzz_readers.py READER SECONDS [FOLDER]

READER is one of those in `readers`. FOLDER keeps what was found to reach new code, for the next
run. Pictures are decoded in this process, without the limits of the one that `picture` starts.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import atheris
import numpy as np

with atheris.instrument_imports(include=["tuimatch", "tomllib", "coloraide", "PIL"]):
    from PIL import Image

    from tuimatch.cli import take
    from tuimatch.colour import target
    from tuimatch.errors import TuimatchError
    from tuimatch.match import typed_colours
    from tuimatch.own_palette import cgats, swatch, swatch_list
    from tuimatch.own_palette.characterise import characterise
    from tuimatch.palette import file as palette_file
    from tuimatch.picture import decoding
    from tuimatch.picture.picture import Picture
    from tuimatch.tui import keys_file

from rendered import tint
from support import MEASURED, SCREEN
from test_fuzz import CHART, LIST

SWATCHES = (
    '[[swatches]]\nink = "paper"\nsrgb = "#fffdf5"\n[[swatches]]\nink = "a"\nsrgb = "#e4007c"\n'
)
KEYS = {"match.take": "enter", "match.quit": "q", "list.down": "down,j"}
COLOURS = [
    *(b"#d94f2a", b"tomato", b"rgb(217 79 42)", b"hsl(120deg 50% 50%)", b"hwb(10 20% 30%)"),
    *(b"lab(53 51 46)", b"lch(50% none 3rad)", b"oklch(0.6 0.17 40)", b"d9 4f 2a", b"10, 20, 30"),
    *(b"color(display-p3 1 0 0)", b"color(xyz-d50 0.1 0.2 0.3 / 100%)"),
]

COLOUR_LIST = "#d9803f lamp glass\n#a8503f, Oda's coat\ntomato\nrgb(217 79 42)\n"
CSV = b'"rgb(217 79 42)","signal ""flag"""\n#fff;white\n#000\tblack\n'
TAKEN = [
    b'{"palette": "a", "intent": "absolute", "page": "9", "flats": [{"colour": "#d9803f", '
    b'"label": "lamp", "recipe": "yellow 50"}]}',
    b'{"palette": "a", "intent": "relative", "target": {"text": "tomato"}, '
    b'"candidates": [{"recipe": "yellow 50"}]}\n',
]


def look_at(raw: bytes) -> None:
    image, alpha, _ = decoding.decode(BytesIO(raw), "a.png")
    opened = Picture("a.png", np.asarray(image), None if alpha is None else np.asarray(alpha))
    if opened.width * opened.height < 1_000_000:
        opened.view(10, 10)
        opened.target(0, 0, 5)
        swatch.read(opened)


def pictures() -> list[bytes]:
    made = []
    for kind, mode, how in (
        *(("PNG", "RGBA", {}), ("PNG", "P", {}), ("PNG", "I;16", {}), ("GIF", "P", {})),
        *(("JPEG", "RGB", {"progressive": True}), ("JPEG", "CMYK", {}), ("BMP", "RGB", {})),
        *(("WEBP", "RGB", {"lossless": True}), ("TIFF", "CMYK", {"compression": "tiff_lzw"})),
    ):
        buffer = BytesIO()
        Image.fromarray(tint(size=(20, 18))).convert(mode).save(buffer, kind, **how)
        made.append(buffer.getvalue())
    return made


def readers() -> dict[str, tuple[Callable[[bytes], object], list[bytes]]]:
    """What reads the bytes, and good inputs to begin with."""

    def of_text(read: Callable[[str], object]) -> Callable[[bytes], object]:
        return lambda raw: read(raw.decode("utf-8", errors="replace"))

    def keys_of(raw: bytes) -> object:
        path = Path(folder.name) / "keys.toml"
        path.write_bytes(raw)
        return keys_file.read(path, KEYS)

    def labels_of(raw: bytes) -> object:
        path = Path(folder.name) / "labels.txt"
        path.write_bytes(raw)
        return typed_colours.read_file(path)

    return {
        "palette": (
            of_text(lambda text: palette_file.parse(text, file="a", stem="a")),
            [MEASURED.encode(), SCREEN.encode()],
        ),
        "list": (
            of_text(lambda text: swatch_list.parse(text, file="a", stem="a", toml="[" in text)),
            [LIST, SWATCHES.encode()],
        ),
        "keys": (keys_of, [b'[keys]\nmatch.take = "x,ctrl+t"\n"list.down" = "minus"\n']),
        "chart": (
            of_text(lambda text: characterise(cgats.parse(text, file="a"), [25, 100])),
            [CHART, CHART.replace(b"END_DATA\n", b"0 0 100 0 5 5 5\n0 0 0 100 9 9 9\nEND_DATA\n")],
        ),
        "picture": (look_at, pictures()),
        "colour": (of_text(target.parse), COLOURS),
        "colours": (of_text(typed_colours.read), [COLOUR_LIST.encode(), b"colour,label\n" + CSV]),
        "labels": (labels_of, [COLOUR_LIST.encode(), CSV]),
        "take": (of_text(take.read), TAKEN),
    }


def main() -> None:
    name, seconds, *kept = sys.argv[1:]
    read, seeds = readers()[name]

    def one(raw: bytes) -> None:
        try:
            read(raw)
        except TuimatchError as error:
            if not str(error) or not str(error).isprintable():
                raise RuntimeError("no line that can be printed") from error

    begun = Path(folder.name) / "begun"
    begun.mkdir()
    for number, seed in enumerate(seeds):
        (begun / str(number)).write_bytes(seed)
    options = [f"-max_total_time={seconds}", "-max_len=4096", "-rss_limit_mb=0", "-verbosity=0"]
    atheris.Setup([sys.argv[0], *options, "-print_final_stats=1", *kept, str(begun)], one)
    atheris.Fuzz()  # ends the process


if __name__ == "__main__":
    folder = tempfile.TemporaryDirectory()
    main()
