"""The sheets of a chart as HTML, PNG or PDF; all three draw the same fields and words."""

from __future__ import annotations

import base64
import io
import zlib
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tuimatch.chart.layout import MILLIMETRES_PER_POINT, Field, Sheet, Words
from tuimatch.recipe.dots import Picture, Press, View
from tuimatch.recipe.recipes import Recipes
from tuimatch.text import hexed

if TYPE_CHECKING:
    from PIL import Image

_MM_PER_INCH = 25.4
# Fine enough for the dots of a press; a screen and a PNG need less, and very many small fields have
# to do with less, or the file is too large to be used.
PRINT_DPI, SCREEN_DPI = 600, 300


class Drawing:
    """The fields of a chart as pictures.

    Args:
        recipes: The recipes of a palette.
        ruling: Dots an inch.
        dpi: Pixels an inch.
    """

    def __init__(self, recipes: Recipes, ruling: float, dpi: int) -> None:
        self._recipes, self._press, self.dpi = recipes, Press(recipes), dpi
        self._period = dpi / ruling

    def pixels(self, millimetres: float) -> int:
        """A length in whole pixels."""
        return max(round(millimetres / _MM_PER_INCH * self.dpi), 1)

    def dots(self, fields: Sequence[Field]) -> Iterator[Dots]:
        """The part of each field that shows its dots."""
        colours = self._press.colours_of([field.row for field in fields])
        for field, overprints in zip(fields, colours, strict=True):
            height, width = self.pixels(field.height), self.pixels(field.dots)
            codes = self._press.overprints(field.row, View(height, width, self._period))
            yield Dots(field, codes, overprints)

    def afar(self, field: Field) -> tuple[int, int, int]:
        """The colour of a field from afar."""
        return self._recipes.rgb_of(field.row)

    def picture(self, dots: Dots) -> Picture:
        """A field as 8-bit sRGB, shape (height, width, 3): its dots, the colour beside them."""
        field = dots.field
        drawn = np.empty((self.pixels(field.height), self.pixels(field.width), 3), dtype=np.uint8)
        drawn[:] = self._recipes.srgb[field.row]
        drawn[:, : dots.codes.shape[1]] = dots.colours[dots.codes]
        return drawn


class Dots(NamedTuple):
    """The dots of a field.

    Attributes:
        field: Where they are.
        codes: Which inks cover each pixel, bit i for the ink at position i, shape (height, width).
        colours: Of each overprint, 8-bit sRGB, shape (2^inks, 3).
    """

    field: Field
    codes: Picture
    colours: Picture

    def indexed(self) -> tuple[Picture, Picture]:
        """The pixels as places in a table of the colours that there are, and the table."""
        there = np.bincount(self.codes.ravel(), minlength=len(self.colours)) > 0
        place = np.cumsum(there) - 1
        return place.astype(np.uint8)[self.codes], self.colours[there]


Progress = Callable[[int, int], None]


def write_html(
    path: Path, sheets: Sequence[Sheet], drawing: Drawing, title: str, told: Callable[[float], None]
) -> None:
    """Write the chart as HTML, a part at a time, however large it is.

    Raises:
        OSError: It cannot be written.
    """
    whole = 2 * sum(len(sheet.fields) for sheet in sheets) or 1  # about as many parts again
    with path.open("w", encoding="utf-8", newline="") as file:
        for number, part in enumerate(to_html(sheets, drawing, title)):
            file.write(part)
            told(min(number / whole, 1))


def to_html(sheets: Sequence[Sheet], drawing: Drawing, title: str) -> Iterator[str]:
    """The chart as one self-contained HTML file, a page a sheet, in parts."""
    first = sheets[0]
    size = f"{first.width:g}mm {first.height:g}mm"
    yield (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">"
        f"<title>{escape(title)}</title><style>@page {{ size: {size}; margin: 0 }} "
        "body { margin: 0; background: #fff; color: #222; "
        'font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif } '
        "svg { display: block; break-after: page } "
        "svg, image { print-color-adjust: exact; -webkit-print-color-adjust: exact }"
        "</style></head><body>\n"
    )
    for sheet in sheets:
        width, height = f"{sheet.width:g}", f"{sheet.height:g}"
        yield f'<svg width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">\n'
        for dots in drawing.dots(sheet.fields):
            field = dots.field
            data = base64.b64encode(_png(dots)).decode("ascii")
            if field.split:
                yield (
                    f'<rect x="{field.x:.2f}" y="{field.y:.2f}" width="{field.width:.2f}" '
                    f'height="{field.height:.2f}" fill="{hexed(drawing.afar(field))}"/>\n'
                )
            yield (
                f'<image x="{field.x:.2f}" y="{field.y:.2f}" width="{field.dots:.2f}" '
                f'height="{field.height:.2f}" preserveAspectRatio="none" '
                f'href="data:image/png;base64,{data}"/>\n'
            )
        for rule in sheet.rules:
            yield (
                f'<line x1="{rule.x:.2f}" y1="{rule.y:.2f}" x2="{rule.to_x:.2f}" '
                f'y2="{rule.to_y:.2f}" stroke="#222" stroke-width="{rule.thick:g}"/>\n'
            )
        yield from map(_svg_words, sheet.words)
        yield "</svg>\n"
    yield "</body></html>\n"


def _svg_words(words: Words) -> str:
    look = ' font-weight="bold"' if words.bold else ""
    look += ' text-anchor="end"' if words.ends else ""
    look += f' transform="rotate(-90 {words.x:.2f} {words.y:.2f})"' if words.turned else ""
    return (
        f'<text x="{words.x:.2f}" y="{words.y:.2f}" '
        f'font-size="{words.size * MILLIMETRES_PER_POINT:.3f}"{look}>{escape(words.text)}</text>\n'
    )


def _png(dots: Dots) -> bytes:
    """With a table of the few colours there are, which takes far less room."""
    from PIL import Image

    places, table = dots.indexed()
    image = Image.fromarray(places, "P")
    image.putpalette(table.tobytes())
    out = io.BytesIO()
    image.save(out, "PNG", bits=_bits(len(table)))
    return out.getvalue()


def _bits(count: int) -> int:
    """How many bits a pixel of so many colours takes in PNG and PDF."""
    return next(bits for bits in (1, 2, 4, 8) if count <= 1 << bits)


def to_png(sheet: Sheet, drawing: Drawing) -> bytes:
    """One sheet as the bytes of a PNG, tagged with its size."""
    from PIL import Image

    page = Image.new("RGB", (drawing.pixels(sheet.width), drawing.pixels(sheet.height)), "white")
    for dots in drawing.dots(sheet.fields):
        at = drawing.pixels(dots.field.x), drawing.pixels(dots.field.y)
        page.paste(Image.fromarray(drawing.picture(dots)), at)
    write_on(page, sheet, drawing)
    out = io.BytesIO()
    page.save(out, "PNG", dpi=(drawing.dpi, drawing.dpi))
    return out.getvalue()


def write_on(page: Image.Image, sheet: Sheet, drawing: Drawing) -> None:
    """Draw the lines and the words of a sheet."""
    from PIL import ImageDraw

    pen = ImageDraw.Draw(page)
    for rule in sheet.rules:
        ends = [drawing.pixels(v) for v in (rule.x, rule.y, rule.to_x, rule.to_y)]
        pen.line(ends, fill="#222222", width=drawing.pixels(rule.thick))
    for words in sheet.words:
        _write_words(page, words, drawing)


def _write_words(page: Image.Image, words: Words, drawing: Drawing) -> None:
    from PIL import Image, ImageDraw

    font = _font(words.size * drawing.dpi / 72)
    at = drawing.pixels(words.x), drawing.pixels(words.y)
    bold = 1 if words.bold else 0
    if not words.turned:
        anchor = "rs" if words.ends else "ls"
        ImageDraw.Draw(page).text(
            at, words.text, fill="#222222", font=font, anchor=anchor, stroke_width=bold
        )
        return
    left, top, right, bottom = (int(v) for v in font.getbbox(words.text, anchor="ls"))
    strip = Image.new("L", (right - min(left, 0) + 2, bottom - top + 2), 0)
    ImageDraw.Draw(strip).text((0, -top), words.text, fill=255, font=font, anchor="ls")
    strip = strip.transpose(Image.Transpose.ROTATE_90)
    page.paste("#222222", (at[0] + top, at[1] - strip.height), strip)


@lru_cache(maxsize=64)
def _font(pixels: float) -> Any:
    from PIL import ImageFont

    return ImageFont.load_default(size=max(pixels, 4))


def to_pdf(sheets: Sequence[Sheet], drawing: Drawing, title: str, told: Progress) -> bytes:
    """The chart as PDF, a page a sheet.

    Args:
        sheets: What to draw.
        drawing: The fields.
        title: What the document is called.
        told: Gets how many fields are drawn, and of how many.
    """
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    # Dots keep to the pixels of a printer of that many, so that none of them grows or shrinks.
    mm, pixel = 72 / _MM_PER_INCH, 72 / drawing.dpi
    canvas = Canvas(out, pageCompression=1)
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setCreator("tuimatch")
    drawn: set[str] = set()
    done, whole = 0, sum(len(sheet.fields) for sheet in sheets)
    for sheet in sheets:
        canvas.setPageSize((sheet.width * mm, sheet.height * mm))
        new = {_name(field): field for field in sheet.fields if _name(field) not in drawn}
        for name, dots in zip(new, drawing.dots(list(new.values())), strict=True):
            canvas._doc.addForm(name, _pdf_image(dots))
        drawn |= new.keys()
        for field in sheet.fields:
            x, foot = field.x * mm, (sheet.height - field.y - field.height) * mm
            high = field.height * mm
            if field.split:  # one colour needs no pixels; it goes under the dots, without a seam
                canvas.setFillColorRGB(*(v / 255 for v in drawing.afar(field)))
                canvas.rect(x, foot, field.width * mm, high, stroke=0, fill=1)
            canvas.saveState()
            canvas.transform(
                *(drawing.pixels(field.dots) * pixel, 0, 0, drawing.pixels(field.height) * pixel),
                *(round(at / pixel) * pixel for at in (x, foot)),
            )
            canvas.doForm(_name(field))
            canvas.restoreState()
            done += 1
            told(done, whole)
        canvas.setStrokeGray(0.13)
        canvas.setFillGray(0.13)
        for rule in sheet.rules:
            canvas.setLineWidth(rule.thick * mm)
            y, to_y = sheet.height - rule.y, sheet.height - rule.to_y
            canvas.line(rule.x * mm, y * mm, rule.to_x * mm, to_y * mm)
        for words in sheet.words:
            canvas.saveState()
            canvas.setFont("Helvetica-Bold" if words.bold else "Helvetica", words.size)
            canvas.translate(words.x * mm, (sheet.height - words.y) * mm)
            canvas.rotate(90 if words.turned else 0)
            text = words.text.encode("cp1252", "replace").decode("cp1252")
            (canvas.drawRightString if words.ends else canvas.drawString)(0, 0, text)
            canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _name(field: Field) -> str:
    """A name that all fields with the same dots share."""
    return f"{field.row}-{field.dots:.3f}-{field.height:.3f}"


def _pdf_image(dots: Dots) -> Any:
    """An image with a table of colours: ISO 32000-1, 8.6.6.3; reportlab itself writes RGB only."""
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFName, PDFStream

    places, table = dots.indexed()
    height, width = places.shape
    bits = _bits(len(table))
    each = 8 // bits
    padded = np.zeros((height, -(-width // each) * each), dtype=np.uint8)
    padded[:, :width] = places
    packed = sum(padded[:, i::each] << (8 - bits * (i + 1)) for i in range(each))
    content = zlib.compress(np.asarray(packed, dtype=np.uint8).tobytes(), 9)
    image = PDFStream(content=content)
    space = ["Indexed", "DeviceRGB"]
    for key, value in {
        "Type": PDFName("XObject"),
        "Subtype": PDFName("Image"),
        "Width": width,
        "Height": height,
        "BitsPerComponent": bits,
        "ColorSpace": PDFArray(
            [*map(PDFName, space), len(table) - 1, f"<{table.tobytes().hex()}>"]
        ),
        "Filter": PDFArray([PDFName("FlateDecode")]),
        "Length": len(content),
    }.items():
        image.dictionary[key] = value
    return image


def cannot_spell(sheets: Sequence[Sheet]) -> str:
    """The characters that the fonts of PDF lack, which are those of Western Europe alone."""
    text = "".join(words.text for sheet in sheets for words in sheet.words)
    return "".join(sorted({c for c in text if not c.encode("cp1252", "ignore")}))
