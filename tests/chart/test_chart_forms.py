"""A chart as a file: its dots, its colours, its words, and that it is the file it says."""

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support import SCREEN

from tuimatch.chart import forms
from tuimatch.chart.layout import Field, Sheet, Words, sheets
from tuimatch.colour.colorimetry import delta_e, srgb_to_xyz, xyz_to_lab
from tuimatch.palette import file as palette_file
from tuimatch.recipe import recipes

ZINE = recipes.mix(palette_file.load("zine-two-inks"))
COVER = recipes.mix(palette_file.load("coated-tenths"))
LAYERS = recipes.mix(palette_file.parse(SCREEN, file="own.toml", stem="own"))


def pictured(drawing: forms.Drawing, field: Field) -> np.ndarray:
    (dots,) = drawing.dots([field])
    return drawing.picture(dots)


@pytest.mark.parametrize(("ruling", "dpi"), [(65, 600), (45, 300), (85, 600)])
def test_dots_print_at_the_ruling_asked(ruling: int, dpi: int) -> None:
    """The strongest frequency of a turned screen is its ruling; cyan stands at 15 degrees."""
    half = next(r for r in range(len(LAYERS)) if LAYERS.tints_of(r) == (0, 50))
    field = Field(0, 0, 60, 30, half)
    dots = pictured(forms.Drawing(LAYERS, ruling, dpi), field)[:, : round(30 / 25.4 * dpi)]
    spectrum = np.abs(np.fft.fft2(dots[..., 0] - dots[..., 0].mean()))
    down, across = np.unravel_index(np.argmax(spectrum), spectrum.shape)
    cycles = [np.fft.fftfreq(n)[k] * dpi for n, k in zip(dots.shape, (down, across), strict=False)]
    assert np.hypot(*cycles) == pytest.approx(ruling, rel=0.03)


needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="needs poppler")


def printed(laid: list[Sheet], drawing: forms.Drawing, folder: Path, dpi: int) -> np.ndarray:
    """The first sheet of a PDF as a printer of so many dots an inch gets it."""
    path = folder / "chart.pdf"
    path.write_bytes(forms.to_pdf(laid, drawing, "t", lambda *_: None))
    subprocess.run(["pdftoppm", "-r", str(dpi), "-f", "1", "-l", "1", path, path], check=True)
    (picture,) = folder.glob("chart.pdf-*.ppm")
    return np.asarray(Image.open(picture))


@needs_poppler
@pytest.mark.parametrize(("ruling", "drawn"), [(65, 600), (45, 300), (85, 600)])
def test_a_printed_pdf_has_the_ruling_asked(tmp_path: Path, ruling: int, drawn: int) -> None:
    half = next(r for r in range(len(LAYERS)) if LAYERS.tints_of(r) == (0, 50))
    sheet = Sheet("t", 210, 297, fields=[Field(20, 30, 40, 40, half, split=False)])
    page = printed([sheet], forms.Drawing(LAYERS, ruling, drawn), tmp_path, 600)
    x, y, side = (round(v / 25.4 * 600) for v in (21, 31, 38))
    dots = page[y : y + side, x : x + side, 0].astype(float)
    spectrum = np.abs(np.fft.fft2(dots - dots.mean()))
    at = np.unravel_index(np.argmax(spectrum), spectrum.shape)
    cycles = [np.fft.fftfreq(side)[k] * 600 for k in at]
    assert np.hypot(*cycles) == pytest.approx(ruling, rel=0.02)
    assert np.degrees(np.arctan2(*np.abs(cycles))) % 90 == pytest.approx(15, abs=1.5) or (
        np.degrees(np.arctan2(*np.abs(cycles))) % 90 == pytest.approx(75, abs=1.5)
    )


@needs_poppler
def test_the_fields_of_a_pdf_are_dots_beside_the_colour(tmp_path: Path) -> None:
    laid = sheets(ZINE)
    # A reader blurs pixels made a little larger, and leaves be those made much larger.
    drawing, times = forms.Drawing(ZINE, 20, 120), 5
    page = printed(laid, drawing, tmp_path, 120 * times)
    for field in laid[0].fields:
        x, y = (round(v / 25.4 * 120 * times) for v in (field.x, field.y))
        width, height = (times * drawing.pixels(v) for v in (field.dots, field.height))
        dots = page[y + times : y + height - times, x + times : x + width - times]
        afar = page[y + times : y + height - times, x + width + times : x + 2 * width - 2 * times]
        assert (afar == ZINE.srgb[field.row]).all()
        (drawn,) = drawing.dots([field])
        inside = drawn.colours[drawn.codes[1:-1, 1:-1]]
        wanted, mean = (srgb_to_xyz(one / 255).mean(axis=(0, 1)) for one in (inside, dots))
        assert float(delta_e(xyz_to_lab(mean), xyz_to_lab(wanted))) < 0.5


def test_very_many_fields_are_drawn_once_for_both_orders(tmp_path: Path) -> None:
    laid = sheets(COVER, max_inks=3)
    shown = {field.row for sheet in laid for field in sheet.fields}
    assert sum(len(sheet.fields) for sheet in laid) == 2 * len(shown)
    few = [laid[0], next(s for s in laid if s.title.startswith("By hue"))]
    rows = {field.row for sheet in few for field in sheet.fields}
    out = forms.to_pdf(few, forms.Drawing(COVER, 65, 100), "t", lambda *_: None)
    assert out.count(b"/Subtype /Image") == len(rows) < sum(len(s.fields) for s in few)


def test_the_right_half_is_the_colour_and_the_left_half_fuses_to_it() -> None:
    drawing = forms.Drawing(ZINE, 65, 600)
    for row in range(0, len(ZINE), 5):
        drawn = pictured(drawing, Field(0, 0, 20, 10, row))
        half = drawn.shape[1] // 2
        assert (drawn[:, half:] == ZINE.srgb[row]).all()
        mean = srgb_to_xyz(drawn[:, :half] / 255).mean(axis=(0, 1))
        assert float(delta_e(xyz_to_lab(mean), ZINE.lab[row])) < 0.5


def test_a_png_has_its_size_in_millimetres() -> None:
    sheet = sheets(ZINE)[0]
    picture = Image.open(io.BytesIO(forms.to_png(sheet, forms.Drawing(ZINE, 65, 100))))
    assert picture.size == (round(210 / 25.4 * 100), round(297 / 25.4 * 100))
    assert picture.info["dpi"] == pytest.approx((100, 100), abs=0.1)
    field = sheet.fields[-1]
    at = [round((v + size * 0.75) / 25.4 * 100) for v, size in
          ((field.x, field.width), (field.y, field.height))]  # fmt: skip
    assert picture.getpixel(tuple(at)) == tuple(ZINE.srgb[field.row].tolist())


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext")
def test_a_pdf_holds_every_word_and_the_size_of_the_paper(tmp_path: Path) -> None:
    laid = sheets(ZINE, paper="letter")
    told: list[tuple[int, int]] = []
    drawing = forms.Drawing(ZINE, 65, 150)
    path = tmp_path / "zine.pdf"
    path.write_bytes(forms.to_pdf(laid, drawing, "Zine", lambda *at: told.append(at)))
    text = subprocess.run(
        ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
    ).stdout
    for ink in ZINE.palette.inks:
        for label in ink.labels:
            assert label in text
    about = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert "Pages:           2" in about
    assert "612 x 792 pts" in about  # 215.9 mm x 279.4 mm
    assert told[-1] == (72, 72)


def test_html_loads_nothing_and_takes_no_markup_from_a_label() -> None:
    hostile = Sheet("t", 210, 297, words=[Words(10, 10, "</text><script>alert(1)</script>")])
    html = "".join(forms.to_html([hostile], forms.Drawing(ZINE, 65, 100), "<b>"))
    assert "<script" not in html
    assert "<title>&lt;b&gt;</title>" in html
    assert "default-src 'none'" in html


def test_letters_that_the_fonts_lack_are_named() -> None:
    sheet = Sheet("t", 210, 297, words=[Words(10, 10, "grün 夜 Ω")])
    assert forms.cannot_spell([sheet]) == "Ω夜"
    out = forms.to_pdf([sheet], forms.Drawing(ZINE, 65, 100), "t", lambda *_: None)
    assert out.startswith(b"%PDF")
