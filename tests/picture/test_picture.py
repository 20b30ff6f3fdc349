"""Every way to store a picture gives the colours it means; what is not a picture is refused."""

from __future__ import annotations

import zlib
from io import BytesIO
from pathlib import Path
from struct import pack

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as nst
from PIL import Image, ImageCms

from tuimatch.colour import target
from tuimatch.colour.colorimetry import decode_srgb, encode_srgb
from tuimatch.errors import PictureError
from tuimatch.picture import picture
from tuimatch.picture.picture import Picture
from tuimatch.text import hexed

INK, PAPER = (228, 0, 124), (255, 253, 245)


def two_halves(width: int = 8, height: int = 4) -> Image.Image:
    """Paper left, ink right."""
    image = Image.new("RGB", (width, height), PAPER)
    image.paste(INK, (width // 2, 0, width, height))
    return image


def saved(folder: Path, image: Image.Image, name: str = "a.png", **how: object) -> Path:
    path = folder / name
    image.save(path, **how)
    return path


def refused(path: Path) -> str:
    with pytest.raises(PictureError) as caught:
        picture.read(path)
    message = str(caught.value)
    assert message.startswith(str(path))
    assert message.isprintable()
    return message


def read(folder: Path, image: Image.Image, name: str = "a.png", **how: object) -> Picture:
    return picture.read(saved(folder, image, name, **how))


@pytest.mark.parametrize("name", ["a.png", "a.bmp", "a.tiff", "a.webp"])
def test_kinds_that_lose_nothing(tmp_path: Path, name: str) -> None:
    how = {"lossless": True, "exact": True} if name == "a.webp" else {}
    opened = read(tmp_path, two_halves(), name, **how)
    assert np.array_equal(opened.pixels, np.asarray(two_halves()))
    assert opened.alpha is None
    assert opened.notes == ()
    assert (opened.width, opened.height) == (8, 4)


def test_palettes_grey_bits_and_frames(tmp_path: Path) -> None:
    few = two_halves().convert("P", palette=Image.Palette.ADAPTIVE, colors=4)
    assert np.array_equal(read(tmp_path, few).pixels, np.asarray(few.convert("RGB")))
    grey = Image.linear_gradient("L")
    assert np.array_equal(read(tmp_path, grey).pixels, np.asarray(grey.convert("RGB")))
    bits = grey.convert("1")
    assert np.array_equal(read(tmp_path, bits).pixels, np.asarray(bits.convert("RGB")))
    other = Image.new("RGB", (8, 4), "black")
    animated = read(
        tmp_path, two_halves(), "a.gif", save_all=True, append_images=[other], duration=50
    )
    assert np.abs(animated.pixels.astype(int) - np.asarray(two_halves())).max() <= 4


def test_sixteen_bit_grey_is_rounded(tmp_path: Path) -> None:
    values = np.array([[0, 128, 129, 257 * 100, 257 * 100 + 129, 65535]], dtype=np.uint16)
    opened = read(tmp_path, Image.fromarray(values))
    assert opened.pixels[0, :, 0].tolist() == [0, 0, 1, 100, 101, 255]


def deep_png(rows: np.ndarray) -> bytes:
    """A PNG of 16 bits a channel, written by hand: Pillow writes none."""
    height, width, channels = rows.shape
    lines = b"".join(b"\x00" + row.astype(">u2").tobytes() for row in rows)

    def chunk(kind: bytes, data: bytes) -> bytes:
        return pack(">I", len(data)) + kind + data + pack(">I", zlib.crc32(kind + data))

    kind = {3: 2, 4: 6}[channels]
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", pack(">IIBBBBB", width, height, 16, kind, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(lines))
        + chunk(b"IEND", b"")
    )


def deep_tiff(rows: np.ndarray, order: str) -> bytes:
    """A TIFF of 16 bits a channel (TIFF 6.0, tags by number), its bytes in either order."""
    height, width, channels = rows.shape
    data = rows.astype(f"{order}u2").tobytes()
    count, after = 9, 8 + 2 + 12 * 9 + 4
    short, long = 3, 4
    tags = [
        *((256, long, 1, width), (257, long, 1, height), (258, short, channels, after)),
        *((259, short, 1, 1), (262, short, 1, 2), (273, long, 1, after + 2 * channels)),
        *((277, short, 1, channels), (278, long, 1, height), (279, long, 1, len(data))),
    ]
    out = (b"II" if order == "<" else b"MM") + pack(f"{order}HIH", 42, 8, count)
    for tag, kind, many, value in tags:
        shown = pack(f"{order}HH", value, 0) if (kind, many) == (short, 1) else b""
        out += pack(f"{order}HHI", tag, kind, many) + (shown or pack(f"{order}I", value))
    return out + pack(f"{order}I", 0) + pack(f"{order}{channels}H", *[16] * channels) + data


@pytest.mark.parametrize("kind", ["png", "alpha", "<", ">"])
def test_sixteen_bit_colour_is_true_to_a_step_of_eight_bits(tmp_path: Path, kind: str) -> None:
    values = np.arange(65536).reshape(256, 256)
    rows = np.stack([values, values[::-1], values[:, ::-1]], axis=2)
    if kind == "alpha":
        rows = np.dstack([rows, values])
    path = tmp_path / "deep"
    path.write_bytes(deep_png(rows) if kind in ("png", "alpha") else deep_tiff(rows, kind))
    wanted = rows / 257
    opened = picture.read(path)
    assert np.abs(opened.pixels - wanted[..., :3]).max() < 1
    assert (opened.alpha is None) == (kind != "alpha")
    assert opened.alpha is None or np.abs(opened.alpha - wanted[..., 3]).max() < 1


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_picture_stands_as_the_camera_meant_it(tmp_path: Path, orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    pixels = read(tmp_path, two_halves(), "a.png", exif=exif).pixels
    # TIFF 6.0, tag Orientation: 5 to 8 turn rows into columns; 2, 3, 7, 8 show the first last.
    paper_first = {1: True, 2: False, 3: False, 4: True, 5: True, 6: True, 7: False, 8: False}
    assert pixels.shape[:2] == ((8, 4) if orientation >= 5 else (4, 8))
    first, last = pixels[0, 0].tolist(), pixels[-1, -1].tolist()
    assert first == list(PAPER if paper_first[orientation] else INK)
    assert last == list(INK if paper_first[orientation] else PAPER)


def test_transparent_pixels_have_no_say(tmp_path: Path) -> None:
    image = two_halves().convert("RGBA")
    mask = Image.new("L", image.size, 255)
    mask.paste(0, (4, 0, 8, 4))
    image.putalpha(mask)
    opened = read(tmp_path, image)
    assert opened.mean((0, 0, 8, 4)) == pytest.approx(decode_srgb(np.array(PAPER) / 255))
    with pytest.raises(PictureError, match="is transparent there"):
        opened.mean((4, 0, 4, 4))
    mask.paste(51, (4, 0, 8, 4))
    image.putalpha(mask)
    half = read(tmp_path, image).mean((0, 0, 8, 4))
    paper, ink = decode_srgb(np.array([PAPER, INK]) / 255)
    assert half == pytest.approx((paper + 0.2 * ink) / 1.2)


def test_grey_and_palette_transparency(tmp_path: Path) -> None:
    grey = Image.new("L", (2, 1), 100)
    grey.putpixel((1, 0), 200)
    opened = read(tmp_path, grey, transparency=200)
    assert opened.alpha is not None
    assert opened.alpha.tolist() == [[255, 0]]
    few = two_halves().convert("P", palette=Image.Palette.ADAPTIVE, colors=2)
    opened = read(tmp_path, few, transparency=few.getpixel((7, 0)))
    assert opened.alpha is not None
    assert opened.alpha[0].tolist() == [255] * 4 + [0] * 4
    opaque = two_halves().convert("RGBA")
    assert read(tmp_path, opaque).alpha is None


def srgb_profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def gamma_profile() -> bytes:
    """A grey ICC profile of gamma 1 (ICC.1:2022): its numbers are light itself."""

    def padded(data: bytes) -> bytes:
        return data + b"\0" * (-len(data) % 4)

    white = b"XYZ \0\0\0\0" + pack(">3i", *(round(v * 65536) for v in (0.9642, 1.0, 0.8249)))
    text = "light".encode("utf-16-be")
    name = b"mluc\0\0\0\0" + pack(">2I2s2s2I", 1, 12, b"en", b"US", len(text), 28) + text
    tags = [
        (b"desc", padded(name)),
        (b"cprt", padded(name)),
        (b"wtpt", white),
        (b"kTRC", padded(b"curv\0\0\0\0" + pack(">IH", 1, 256))),
    ]
    at = 128 + 4 + 12 * len(tags)
    table, body = pack(">I", len(tags)), b""
    for kind, data in tags:
        table += pack(">4s2I", kind, at + len(body), len(data))
        body += data
    size = at + len(body)
    head = pack(">I4sI4s4s4s", size, b"\0" * 4, 0x04300000, b"mntr", b"GRAY", b"XYZ ")
    head += pack(">6H4s", 2024, 1, 1, 0, 0, 0, b"acsp") + b"\0" * 28
    head += pack(">3i", *(round(v * 65536) for v in (0.9642, 1.0, 0.8249)))
    return head.ljust(128, b"\0") + table + body


def test_an_embedded_profile_is_applied(tmp_path: Path) -> None:
    same = read(tmp_path, two_halves(), icc_profile=srgb_profile())
    assert np.abs(same.pixels.astype(int) - np.asarray(two_halves())).max() <= 1
    light = read(tmp_path, Image.linear_gradient("L"), icc_profile=gamma_profile())
    assert light.notes == ()
    wanted = np.rint(encode_srgb(np.arange(256) / 255) * 255)
    assert np.abs(light.pixels[:, 0, 0] - wanted).max() <= 1


@pytest.mark.parametrize("profile", [b"no profile at all", srgb_profile()[:200], gamma_profile()])
def test_a_profile_that_does_not_fit_is_said(tmp_path: Path, profile: bytes) -> None:
    image = two_halves().convert("CMYK")
    opened = read(tmp_path, image, "a.tiff", icc_profile=profile)
    assert opened.notes == ("its colour profile cannot be used: taken as sRGB",)
    assert opened.pixels.shape == (4, 8, 3)


def test_cmyk_without_a_profile_is_a_guess(tmp_path: Path) -> None:
    opened = read(tmp_path, Image.new("CMYK", (2, 2), (0, 255, 0, 0)), "a.tiff")
    assert opened.notes == ("CMYK without a profile: its colours are a guess",)
    assert opened.pixels[0, 0].tolist() == [255, 0, 255]


def test_what_is_no_picture(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.png"
    assert "cannot be read (No such file" in refused(path)
    assert "is not a plain file" in refused(tmp_path) or "Is a directory" in refused(tmp_path)
    path.write_bytes(b"not a picture \x1b[2J")
    assert "is not a picture of a known kind; give PNG, JPEG" in refused(path)
    whole = saved(tmp_path, two_halves(200, 200)).read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    assert "is damaged" in refused(path)
    path.write_bytes(whole)
    monkeypatch.setattr(picture, "MAX_BYTES", 100)
    assert "is over" in refused(path)
    monkeypatch.undo()
    floating = saved(tmp_path, Image.new("F", (2, 2)), "f.tiff")
    assert "is of kind F; save it as 8 or 16 bit RGB" in refused(floating)


def test_a_small_file_that_claims_to_be_vast_is_refused_before_it_is_unpacked(
    tmp_path: Path,
) -> None:
    path = saved(tmp_path, Image.new("1", (1, 1)))
    raw = bytearray(path.read_bytes())
    for side in (100_000, 7_000):
        raw[16:24] = pack(">II", side, side)
        raw[29:33] = pack(">I", zlib.crc32(raw[12:29]))
        path.write_bytes(raw)
        assert "has over 36 million pixels" in refused(path)


PIXELS = nst.arrays(np.uint8, st.tuples(st.integers(1, 12), st.integers(1, 12), st.just(3)))


@given(PIXELS, st.data())
def test_the_mean_is_that_of_the_light(pixels: np.ndarray, data: st.DataObject) -> None:
    height, width = pixels.shape[:2]
    x, y = data.draw(st.integers(0, width - 1)), data.draw(st.integers(0, height - 1))
    w, h = data.draw(st.integers(1, width - x)), data.draw(st.integers(1, height - y))
    wanted = decode_srgb(pixels[y : y + h, x : x + w] / 255).mean(axis=(0, 1))
    assert Picture("a", pixels).mean((x, y, w, h)) == pytest.approx(wanted, abs=1e-12)


@given(PIXELS, st.data(), st.integers(1, 9))
def test_a_target_is_what_its_text_says(pixels: np.ndarray, data: st.DataObject, size: int) -> None:
    height, width = pixels.shape[:2]
    x, y = data.draw(st.integers(0, width - 1)), data.draw(st.integers(0, height - 1))
    made = Picture("a", pixels).target(x, y, size)
    assert target.parse(made.text) == made


def test_a_target_of_one_pixel_is_that_pixel() -> None:
    opened = Picture("a", np.asarray(two_halves()))
    assert opened.target(0, 0).srgb == PAPER
    assert opened.target(0, 0).text == hexed(PAPER)
    assert opened.target(7, 3, 3).text == hexed(INK)
    halfway = opened.target(4, 3, 5)  # of both colours: no 8-bit colour is their mean
    assert halfway.text.startswith("lab(")
    assert opened.target(7, 3, 3).srgb == INK
    with pytest.raises(PictureError, match=r"the box 8,0,1,1 is not within it"):
        opened.target(8, 0)


@given(PIXELS, st.integers(1, 20), st.integers(1, 20))
def test_a_view_fits_and_keeps_the_mean(pixels: np.ndarray, columns: int, rows: int) -> None:
    opened = Picture("a", pixels)
    view = opened.view(columns, rows)
    height, width = view.pixels.shape[:2]
    assert height <= max(rows, 1)
    assert width <= max(columns, 1)
    assert (view.x[0], view.x[-1], view.y[0], view.y[-1]) == (0, opened.width, 0, opened.height)
    for row in range(height):
        for column in range(width):
            x, y = int(view.x[column]), int(view.y[row])
            box = (x, y, int(view.x[column + 1]) - x, int(view.y[row + 1]) - y)
            wanted = encode_srgb(opened.mean(box)) * 255
            assert view.pixels[row, column] == pytest.approx(wanted, abs=0.51)


def test_a_view_shows_the_ground_through_what_is_transparent() -> None:
    pixels = np.asarray(two_halves())
    alpha = np.full(pixels.shape[:2], 255, dtype=np.uint8)
    alpha[:, 4:] = 0
    view = Picture("a", pixels, alpha).view(2, 1, ground=(10, 20, 30))
    assert view.pixels.tolist() == [[list(PAPER), [10, 20, 30]]]


def test_jpeg_is_read(tmp_path: Path) -> None:
    buffer = BytesIO()
    Image.new("RGB", (16, 16), INK).save(buffer, "JPEG", quality=95)
    path = tmp_path / "a.jpg"
    path.write_bytes(buffer.getvalue())
    assert np.abs(picture.read(path).pixels.astype(int) - INK).max() <= 2
