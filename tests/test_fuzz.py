"""Whatever foreign data come in, nothing but the one-line refusal comes out.

More cases than the default in a longer run: ``--hypothesis-profile=long`` (tests/conftest.py).
"""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import TypeVar

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from rendered import tint

from tuimatch.colour import target
from tuimatch.errors import TuimatchError
from tuimatch.own_palette import cgats, swatch, swatch_list
from tuimatch.own_palette.characterise import characterise
from tuimatch.palette import file as palette_file
from tuimatch.picture import decoding
from tuimatch.picture.picture import Picture

Result = TypeVar("Result")


def read_or_refused(read: Callable[[], Result]) -> Result | None:
    """What was read, or None after a refusal of one printable line; all else is a failure."""
    try:
        return read()
    except TuimatchError as error:
        message = str(error)
    assert message
    assert message.isprintable()
    return None


def damaged(data: st.DataObject, whole: bytes) -> bytes:
    """The bytes of a good file with up to eight small wounds."""
    raw = bytearray(whole)
    for _ in range(data.draw(st.integers(1, 8))):
        at = data.draw(st.integers(0, len(raw)))
        raw[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
    return bytes(raw)


CHART = b"""CGATS.17
ORIGINATOR "nobody"
BEGIN_DATA_FORMAT
SAMPLE_ID CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B
END_DATA_FORMAT
BEGIN_DATA
"A 1" 0 0 0 90 0 2 # paper
"A 2" 100 0 0 55.5 -36 -5.0e1
END_DATA
"""
CHART_WORDS = [
    *("BEGIN_DATA_FORMAT", "END_DATA_FORMAT", "BEGIN_DATA", "END_DATA", "ILLUMINANT", "D65"),
    *("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", "CMY_C", "CMY_M", "CMY_Y"),
    *("LAB_L", "LAB_A", "LAB_B", "XYZ_X", "XYZ_Y", "XYZ_Z", "0", "100", "50", "-1", "1e9", "1,5"),
    *('"', '""', "#", "\n", "\r", "\x1b[2J", "\x00", "\u2028"),
]


@given(
    st.one_of(
        st.text(),
        st.lists(st.sampled_from(CHART_WORDS)).map(" ".join),
        st.lists(st.sampled_from(CHART_WORDS)).map("\n".join),
    )
)
def test_any_text_as_a_chart(text: str) -> None:
    chart = read_or_refused(lambda: cgats.parse(text, file="chart.txt"))
    assert chart is None or (len(chart) and np.isfinite(chart.lab).all())


@given(st.data())
def test_a_damaged_chart(data: st.DataObject) -> None:
    text = damaged(data, CHART).decode("utf-8-sig", errors="replace")
    read_or_refused(lambda: cgats.parse(text, file="chart.txt"))


@given(
    st.lists(
        st.tuples(
            *[st.sampled_from([0.0, 50, 100])] * 3,
            st.lists(st.floats(0, 100), min_size=3, max_size=3),
        ),
        max_size=30,
    )
)
def test_a_chart_of_any_patches_makes_a_palette_or_is_refused(
    rows: list[tuple[float, float, float, list[float]]],
) -> None:
    rows = [
        *rows,
        *((100.0 * (i == 0), 100.0 * (i == 1), 100.0 * (i == 2), [i, 0, i]) for i in range(4)),
    ]
    lines = "\n".join(f"{c} {m} {y} {' '.join(map(repr, lab))}" for c, m, y, lab in rows)
    text = (
        "BEGIN_DATA_FORMAT CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        f"BEGIN_DATA\n{lines}\nEND_DATA\n"
    )
    made = read_or_refused(lambda: characterise(cgats.parse(text, file="chart.txt"), [25, 50, 100]))
    assert made is None or made.check is None or np.isfinite(made.check.largest)


PALETTES = [palette_file.find(name).read_bytes() for name in palette_file.shipped_names()]


@given(st.data())
def test_a_damaged_palette(data: st.DataObject) -> None:
    text = damaged(data, data.draw(st.sampled_from(PALETTES))).decode("utf-8", errors="replace")
    read_or_refused(lambda: palette_file.parse(text, file="own.toml", stem="own"))


TOML_WORDS = [
    *("[paper]", "[[inks]]", "[[overprints]]", "[[swatches]]", "name = ", "kind = ", '"screen"'),
    *('"measured"', "tints = ", "[25, 100]", "labels = ", "measured = ", "{ 25 = [1, 2, 3] }"),
    *("lab = ", "srgb = ", "#ffe800", '"#ffe800"', "nan", "inf", "-1", "1e400", "true", "[", "]"),
    *("yule_nielsen = ", "channels = ", "share = ", "ink = ", '"\\u001b"', '"x"', "\n", "\n", "\n"),
]


@given(st.one_of(st.text(), st.lists(st.sampled_from(TOML_WORDS)).map("".join)))
def test_any_text_as_a_palette_or_a_list_of_swatches(text: str) -> None:
    read_or_refused(lambda: palette_file.parse(text, file="own.toml", stem="own"))
    read_or_refused(lambda: swatch_list.parse(text, file="own.toml", stem="own", toml=True))


LIST = (
    b"ink,srgb,symbol,label,share\npaper,#fffdf5,,,\nyellow,#ffe800,Y,fine,23.4\nred,#e4007c,,,40\n"
)


@given(st.data())
def test_a_damaged_list_of_swatches(data: st.DataObject) -> None:
    text = damaged(data, LIST).decode("utf-8", errors="replace")
    read_or_refused(lambda: swatch_list.parse(text, file="own.csv", stem="own", toml=False))


@given(st.text())
def test_any_text_as_a_list_of_swatches(text: str) -> None:
    read_or_refused(lambda: swatch_list.parse(text, file="own.csv", stem="own", toml=False))
    header = "ink,srgb,symbol,label,share\n"
    read_or_refused(
        lambda: swatch_list.parse(header + text, file="own.csv", stem="own", toml=False)
    )


COLOUR_WORDS = [
    *("#", "d94f2a", "tomato", "rgb(", "lab(", "oklch(", "color(", "hsl(", "display-p3", "srgb"),
    *(")", " ", ",", "/", "%", "none", "nan", "inf", "-", "1e400", "0", "50", "217", "0.6", "deg"),
    *("xyz-d65", "color-mix(in lab,", "calc(1)", "var(--x)", "\x1b", "\u202e", "\n"),
]


@given(st.one_of(st.text(), st.lists(st.sampled_from(COLOUR_WORDS)).map("".join)))
def test_any_text_as_a_colour(text: str) -> None:
    found = read_or_refused(lambda: target.parse(text))
    assert found is None or np.isfinite(found.lab).all()


def encoded(kind: str, **how: object) -> bytes:
    buffer = BytesIO()
    Image.fromarray(tint(size=(24, 20))).save(buffer, kind, **how)
    return buffer.getvalue()


PICTURES = [
    encoded("PNG"),
    encoded("JPEG"),
    encoded("JPEG", progressive=True),
    encoded("WEBP", lossless=True),
    encoded("TIFF"),
    encoded("TIFF", compression="tiff_lzw"),
    encoded("GIF"),
    encoded("BMP"),
]


def decoded(raw: bytes) -> Picture:
    """The picture as `picture.read` makes it, but in this process: another takes long to start."""
    image, alpha, notes = decoding.decode(BytesIO(raw), "a.png")
    return Picture("a.png", np.asarray(image), None if alpha is None else np.asarray(alpha), notes)


@given(st.data())
def test_a_damaged_picture(data: st.DataObject) -> None:
    raw = damaged(data, data.draw(st.sampled_from(PICTURES)))
    opened = read_or_refused(lambda: decoded(raw))
    if opened is not None:
        read_or_refused(lambda: opened.target(opened.width // 2, opened.height // 2, 5))
        read_or_refused(lambda: swatch.read(opened))
        opened.view(10, 10)


@given(content=st.binary(), start=st.sampled_from([b"", *(whole[:40] for whole in PICTURES)]))
def test_any_bytes_as_a_picture(content: bytes, start: bytes) -> None:
    read_or_refused(lambda: decoded(start + content))


@given(
    pixels=st.one_of(
        st.binary(min_size=768, max_size=768),
        st.lists(
            st.sampled_from([b"\0\0\0", b"\xff\xff\xff", b"\x80\x80\x80"]),
            min_size=256,
            max_size=256,
        ).map(b"".join),
    )
)
def test_any_pixels_as_a_swatch(pixels: bytes) -> None:
    array = np.frombuffer(pixels, dtype=np.uint8).reshape(16, 16, 3)
    found = read_or_refused(lambda: swatch.read(Picture("a", array)))
    assert found is None or 0 <= found.share <= 1
