"""A malicious file takes at most 512 MB and 10 s of work, whatever reads it.

Each reader gets its file in a process of its own, which the system stops at these limits; what it
took beyond the modules is measured there, the process that decodes pictures included.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from random import Random
from struct import pack

import numpy as np
import pytest
from PIL import Image
from rendered import tint
from support import SCREEN, in_fresh_interpreter

resource = pytest.importorskip("resource")
pytestmark = pytest.mark.skipif(
    not Path("/proc/self/statm").exists(), reason="needs /proc to know what the modules take"
)

LIMITED = """
import sys
from pathlib import Path
from resource import *
from tuimatch.colour import target
from tuimatch.errors import TuimatchError
from tuimatch.own_palette import cgats, swatch, swatch_list
from tuimatch.own_palette.characterise import characterise
from tuimatch.palette import file as palette_file
from tuimatch.picture import flats, picture
from tuimatch.tui import keys_file

def read(path):
    {reader}

target.parse("red")
def peak():
    # Not ru_maxrss: that starts with what the process that started this one had.
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])
before = peak()
mapped = int(Path("/proc/self/statm").read_text().split()[0]) * getpagesize()
setrlimit(RLIMIT_AS, (mapped + 512_000_000,) * 2)
setrlimit(RLIMIT_CPU, (int(sum(getrusage(RUSAGE_SELF)[:2])) + 10,) * 2)
try:
    read(Path({path!r}))
    said = "read"
except TuimatchError as error:
    said = str(error)
assert said.isprintable(), said
# The process that decodes has ended before the picture is looked at.
print(max(peak() - before, getrusage(RUSAGE_CHILDREN).ru_maxrss) // 1000, said)
"""

PALETTE = "palette_file.read(path)"
LIST = "swatch_list.read(path)"
KEYS = "keys_file.read(path, {'match.take': 'enter'})"
CHART = "characterise(cgats.read(path), [25, 50, 75, 100])"
FLATS = "flats.read(path, [target.parse('black')])"
SWATCH = "swatch.read(picture.read(path))"
PICKED = "picture.read(path).target(0, 0, 100_000)"
COLOUR = "target.parse(path.read_text(encoding='utf-8'))"


# Files.


def saved(image: Image.Image, kind: str = "PNG", **how: object) -> bytes:
    data = BytesIO()
    image.save(data, kind, **how)
    return data.getvalue()


def page_of(size: tuple[int, int], mode: str = "RGB", kind: str = "PNG") -> Callable[[], bytes]:
    return lambda: saved(Image.new(mode, size, 40 if mode == "I;16" else None), kind)


def page_of_a_gradient() -> bytes:
    across, down = np.meshgrid(np.arange(2000), np.arange(2000))
    return saved(
        Image.fromarray(np.stack([across // 8, down // 8, across], axis=2).astype(np.uint8))
    )


def page_of_a_palette() -> bytes:
    image = Image.new("P", (90, 90))
    image.paste(1, (0, 0, 45, 90))
    image.putpalette([255, 0, 0, 0, 255, 0])
    return saved(image, transparency=bytes([255, 90]))


def page_that_moves() -> bytes:
    frames = [Image.new("RGB", (90, 90), (shade, 0, 0)) for shade in range(0, 250, 10)]
    return saved(frames[0], "GIF", save_all=True, append_images=frames[1:])


def page_of_many_flats() -> bytes:
    code = np.arange(2000) * 4001
    tiles = np.stack([code >> 16, code >> 8 & 255, code & 255], axis=1).astype(np.uint8)
    return saved(Image.fromarray(tiles.reshape(40, 50, 3).repeat(40, axis=0).repeat(40, axis=1)))


def text(*parts: str) -> Callable[[], bytes]:
    return lambda: "".join(parts).encode()


def chart(rows: list[str]) -> bytes:
    head = "BEGIN_DATA_FORMAT CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
    solids = [
        " ".join(str(100 * (j == i)) for j in range(4)) + f" {50 + i} 0 {i}" for i in range(5)
    ]
    return "\n".join([head + "BEGIN_DATA", *solids, *rows, "END_DATA\n"]).encode()


def ramp() -> bytes:
    return chart([f"{i / 200:.4f} 0 0 0 {90 - i / 500:.3f} 0 1" for i in range(1, 20_000)])


def mixed() -> bytes:
    """As many patches as there may be, no two tints alike, with ramps as long as they may be."""
    random = Random(1)
    rows = [
        " ".join(f"{random.uniform(1, 99):.4f}" for _ in range(4))
        + f" {random.uniform(0, 90):.2f} 1 1"
        for _ in range(98_900)
    ]
    for ink in range(4):
        for step in range(1, 255):
            tints = [f"{step / 2.55:.4f}" if i == ink else "0" for i in range(4)]
            rows.append(" ".join(tints) + f" {90 - step / 5:.2f} 0 1")
    return chart(rows)


def jpeg_of_many_scans() -> bytes:
    """A progressive JPEG whose last scan, a refinement, comes 2,000 times (ITU-T T.81)."""
    buffer = BytesIO()
    Image.new("RGB", (4000, 4000), "red").save(buffer, "JPEG", progressive=True)
    whole = buffer.getvalue()
    end = whole.rindex(b"\xff\xd9")
    scan = whole[whole.rindex(b"\xff\xda") : end]
    return whole[:end] + 2000 * scan + whole[end:]


def png(*chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG of these chunks (PNG, ISO/IEC 15948)."""
    parts = [
        pack(">I", len(data)) + kind + data + pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def png_header(side: int) -> tuple[bytes, bytes]:
    return b"IHDR", pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)


def zeros(count: int) -> bytes:
    return zlib.compress(bytes(count), 9)


def png_bomb() -> bytes:
    return png(png_header(50_000), (b"IDAT", zeros(10_000_000)), (b"IEND", b""))


def png_as_large_as_allowed_and_a_profile_that_unpacks_to_more() -> bytes:
    return png(
        png_header(6_000),
        (b"iCCP", b"a\0\0" + zeros(400_000_000)),
        (b"IDAT", zeros(6_000 * (1 + 3 * 6_000))),
        (b"IEND", b""),
    )


def gif_of_one_long_comment() -> bytes:
    buffer = BytesIO()
    Image.new("P", (8, 8)).save(buffer, "GIF")
    whole = buffer.getvalue()
    at = whole.index(b"\x2c")
    return whole[:at] + b"\x21\xfe" + 8_000_000 * b"\x01a" + b"\0" + whole[at:]


def tiff_of_overlapping_tags() -> bytes:
    """Forty tags that all claim the same hundred megabytes (TIFF 6.0)."""
    size = 100_000_000
    width = b"".join(pack("<HHII", tag, 4, 1, 8) for tag in (256, 257))
    tags = b"".join(pack("<HHII", 1000 + i, 7, size, 8) for i in range(40))
    return b"II" + pack("<HIH", 42, 8, 42) + width + tags + bytes(size + 100)


def largest_tint() -> bytes:
    """In black, whose smoothing does not show, so that both ways of counting are tried."""
    buffer = BytesIO()
    pixels = tint("square", 0.3, period=21, edge="linear", size=(700, 700), **BLACK_ON_WHITE)
    pixels = np.tile(pixels, (8, 8, 1))
    Image.fromarray(pixels).save(buffer, "PNG", compress_level=1)
    return buffer.getvalue()


def page(pixels: np.ndarray) -> bytes:
    buffer = BytesIO()
    Image.fromarray(pixels).save(buffer, "PNG", compress_level=1)
    return buffer.getvalue()


def noise(height: int = 6_000, width: int = 6_000) -> np.ndarray:
    return np.random.default_rng(1).integers(0, 256, (height, width, 3), dtype=np.uint8)


def page_of_noise() -> bytes:
    return page(noise())


def page_of_many_colours() -> bytes:
    """Four million squares of 3 × 3, hardly two of a colour."""
    return page(noise(2_000, 2_000).repeat(3, axis=0).repeat(3, axis=1))


def page_half_of_noise() -> bytes:
    """Flat enough to be one, and no pixel of the other half near a flat."""
    pixels = noise()
    pixels[:3_100] = 200
    return page(pixels)


def page_of_a_long_way() -> bytes:
    """A way of specks, one pixel broad, that winds between walls that have no colour."""
    pixels = np.concatenate([noise(), np.zeros((6_000, 6_000, 1), dtype=np.uint8)], axis=2)
    pixels[:3_100] = 200, 200, 200, 255
    pixels[3_100::2, :, 3] = 255
    pixels[3_101::4, 0, 3] = 255
    pixels[3_103::4, -1, 3] = 255
    return page(pixels)


BLACK_ON_WHITE = {"paper": (255, 255, 255), "ink": (0, 0, 0)}
LONG_KEY = "a" + ".a" * 40_000 + " = 1\n"

FILES: dict[str, tuple[str, str, Callable[[], bytes], str]] = {
    "palette of a long key": (PALETTE, "a.toml", text(LONG_KEY), "nests too deeply"),
    "palette of long tables": (
        PALETTE,
        "a.toml",
        lambda: "".join(f"[a{i}{'.a' * 30}]\n" for i in range(13_000)).encode(),
        "kind: is missing",
    ),
    "palette of many inks": (PALETTE, "a.toml", text(SCREEN, "[[inks]]\n" * 110_000), "holds 110"),
    "palette of many tints": (
        PALETTE,
        "a.toml",
        lambda: SCREEN.replace("50, 100", "1," * 490_000, 1).encode(),
        "ascending",
    ),
    "list of a long key": (LIST, "a.toml", text(LONG_KEY), "nests too deeply"),
    "list of many swatches": (LIST, "a.toml", text("[[swatches]]\n" * 76_000), "at most 1,000"),
    "list of many commas": (LIST, "a.csv", text("," * 999_999), "has no header"),
    "list of many inks": (
        LIST,
        "a.csv",
        text("ink,srgb\npaper,#ffffff\n", *(f"i{i},#000000\n" for i in range(900))),
        "names ink 7",
    ),
    "list of a long number": (
        LIST,
        "a.csv",
        text("ink,srgb,symbol,label,share\npaper,#ffffff\ny,#000000,,,", "1" * 130_000, "x\n"),
        "give a percent",
    ),
    "list of many long numbers": (
        LIST,
        "a.toml",
        lambda: b"".join(
            b'[[swatches]]\nink="y"\nsrgb="#000000"\nshare="%sx"\n' % (b"1" * 190_000)
            for _ in range(5)
        ),
        "give a percent",
    ),
    "chart of a long number": (
        CHART,
        "a.txt",
        lambda: chart(["1" * 9_000_000 + "x 0 0 0 50 0 0"]),
        "",
    ),
    "keys of a long key": (KEYS, "a.toml", text(LONG_KEY), "nests too deeply"),
    "keys of one long name": (KEYS, "a.toml", text("[keys]\n", "a" * 99_000, "=1"), "known id"),
    "chart of many owners": (
        CHART,
        "a.txt",
        text(*(f'COPYRIGHT "owner {i}"\n' for i in range(199_000))),
        "no measurements",
    ),
    "chart of many lines": (CHART, "a.txt", text('""\n' * 3_000_000), "comes after 200,000"),
    "chart of a long ramp": (CHART, "a.txt", ramp, "has 20,001 tints of cyan alone"),
    "chart of many patches": (CHART, "a.txt", mixed, "read"),
    "jpeg of many scans": (SWATCH, "a.jpg", jpeg_of_many_scans, "to open"),
    "png bomb": (SWATCH, "a.png", png_bomb, "has over 36 million pixels"),
    "png with a profile": (
        SWATCH,
        "a.png",
        png_as_large_as_allowed_and_a_profile_that_unpacks_to_more,
        "",
    ),
    "gif of one long comment": (SWATCH, "a.gif", gif_of_one_long_comment, "to open"),
    "tiff of overlapping tags": (SWATCH, "a.tif", tiff_of_overlapping_tags, ""),
    "page of noise": (FLATS, "a.png", page_of_noise, "does not consist of flats"),
    "page of many colours": (FLATS, "a.png", page_of_many_colours, "does not consist of flats"),
    "page half of noise": (FLATS, "a.png", page_half_of_noise, "read"),
    "page of a gradient": (FLATS, "a.png", page_of_a_gradient, "does not consist of flats"),
    "page of one pixel": (FLATS, "a.png", page_of((1, 1)), "is smaller than 3 × 3"),
    "page of one row": (FLATS, "a.png", page_of((30_000, 1)), "is smaller than 3 × 3"),
    "page of a palette": (FLATS, "a.png", page_of_a_palette, "read"),
    "page of 16 bit": (FLATS, "a.png", page_of((90, 90), "I;16"), "read"),
    "page of CMYK": (FLATS, "a.jpg", page_of((90, 90), "CMYK", "JPEG"), "read"),
    "page that moves": (FLATS, "a.gif", page_that_moves, "read"),
    "page of 2,000 flats": (FLATS, "a.png", page_of_many_flats, "has 1999 colours that fill areas"),
    "page of a long way": (FLATS, "a.png", page_of_a_long_way, "read"),
    "as large a tint as allowed": (SWATCH, "a.png", largest_tint, "read"),
    "as large a square as allowed": (PICKED, "a.png", largest_tint, "read"),
    "long colour": (COLOUR, "a", text("#" * 1_000_000), "is too long"),
    "nested colour": (COLOUR, "a", text("color-mix(in lab, " * 6), "is not a colour"),
}


@pytest.mark.parametrize("name", FILES)
def test_a_hostile_file_is_read_or_refused_within_the_limits(tmp_path: Path, name: str) -> None:
    reader, file, make, said = FILES[name]
    path = tmp_path / file
    path.write_bytes(make())
    run = in_fresh_interpreter(LIMITED.format(reader=reader, path=str(path)))
    assert run.returncode == 0, run.stderr[-500:]
    megabytes, answer = run.stdout.strip().split(" ", 1)
    assert said in answer
    assert int(megabytes) <= 512
    assert [entry.name for entry in tmp_path.iterdir()] == [file]
