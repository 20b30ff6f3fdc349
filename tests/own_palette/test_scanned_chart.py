"""A chart for measuring, drawn, spoiled as a printer and a scanner do, and read again."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from tuimatch.chart import forms, measuring
from tuimatch.colour.colorimetry import decode_srgb, delta_e, encode_srgb
from tuimatch.errors import SwatchError
from tuimatch.own_palette import scanned_chart
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.palette.uncertainty import uncertainty
from tuimatch.picture.picture import Picture
from tuimatch.recipe import recipes


def drawn(palette: Palette, dpi: int = 200) -> tuple[measuring.Grid, Image.Image]:
    mixed, grid = recipes.mix(palette), measuring.grid(palette)
    chart = measuring.sheets(mixed, grid, "a4")[0]
    image = Image.open(io.BytesIO(forms.to_png(chart, forms.Drawing(mixed, 65, dpi))))
    pixels = np.array(image)
    pixels[(pixels == 255).all(axis=2)] = mixed.srgb[0]  # what is not printed is paper
    return grid, Image.fromarray(pixels)


def scanned(image: Image.Image, degrees: float, noise: float) -> Picture:
    """Turned in light, as an optic does, and noisy as a sensor is."""
    light = decode_srgb(np.asarray(image.convert("RGB")) / 255).astype(np.float32)
    turned = [
        Image.fromarray(light[..., c]).rotate(
            degrees, Image.Resampling.BILINEAR, expand=True, fillcolor=1.0
        )
        for c in range(3)
    ]
    pixels = 255 * encode_srgb(np.stack([np.asarray(one) for one in turned], axis=2))
    random = np.random.default_rng(1).normal(0, noise, pixels.shape)
    return Picture("scan.png", np.rint(np.clip(pixels + random, 0, 255)).astype(np.uint8))


@pytest.mark.parametrize(
    ("name", "degrees"),
    [("newsprint-quarters", 1.4), ("zine-two-inks", -2.0), ("screen-quarters", 0.0)],
)
def test_printed_scanned_and_read_again_it_is_the_same_palette(name: str, degrees: float) -> None:
    palette = palette_file.load(name)
    grid, image = drawn(palette)
    scan = scanned(image, degrees, 6)
    made = scanned_chart.read(scan, grid, palette, name="true", stem="true")
    assert made == palette_file.parse(made.text, file="true.toml", stem="true")
    assert made.kind == "measured"
    assert [ink.labels for ink in made.inks] == [ink.labels for ink in palette.inks]
    assert [ink.tints for ink in made.inks] == [ink.tints for ink in palette.inks]
    before, after = recipes.mix(palette), recipes.mix(made)
    differences = delta_e(before.lab, after.lab)
    differences[before.clipped] = 0  # a scan of sRGB cannot hold it
    patches = [before.row_of(tints) for tints in grid.tints.values()]
    # Noise of a scanner is cut off at black and white, which moves solids by a little.
    assert differences[patches].mean() < 0.7
    assert differences[patches].max() < 2
    if palette.kind == "measured":  # the dots of a screen do not spread light as paper does
        assert differences.mean() < 0.6
        assert np.percentile(differences, 95) < 1.5


def test_the_grid_holds_what_lowers_the_uncertainty_most() -> None:
    palette = palette_file.load("newsprint-quarters")
    grid, image = drawn(palette)
    made = scanned_chart.read(scanned(image, 0, 0), grid, palette, name="t", stem="t")
    assert uncertainty(made) == 1.3
    tints = list(grid.tints.values())
    assert len(tints) == 1 + 12 + 4 + 7 + 2
    assert tints.count((0, 0, 0)) == 3


def test_the_list_comes_back_as_it_went(tmp_path) -> None:
    grid = measuring.grid(palette_file.load("zine-two-inks"))
    path = tmp_path / "zine.csv"
    path.write_text(measuring.to_csv(grid), encoding="utf-8")
    assert measuring.read_csv(path) == grid


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "begins with row,column"),
        ("row,column,yellow\n", "has no patches"),
        ("row,column,yellow\n1,1,x\n", "line 2 holds something other than numbers"),
        ("row,column,yellow\n1,99,50\n", "line 2 has row 1, column 99; give 1 to 40"),
        ("row,column,yellow\n1,1,50\n1,1,60\n", "line 3 has a place that appeared before"),
        ("row,column,yellow\n1,1,50,60\n", "line 2 needs 1 tints from 0 to 100"),
    ],
)
def test_a_list_that_is_none_is_refused(tmp_path, text: str, said: str) -> None:
    path = tmp_path / "own.csv"
    path.write_text(text)
    with pytest.raises(SwatchError, match=said):
        measuring.read_csv(path)


def test_a_picture_without_a_frame_and_another_palette_are_refused() -> None:
    palette = palette_file.load("newsprint-quarters")
    grid, image = drawn(palette, 100)
    blank = Picture("blank.png", np.full((800, 600, 3), 240, dtype=np.uint8))
    with pytest.raises(SwatchError, match=r"blank\.png: cannot find the frame of the chart"):
        scanned_chart.read(blank, grid, palette, name="t", stem="t")
    other = palette_file.load("zine-two-inks")
    with pytest.raises(SwatchError, match="give the palette that the chart was made for"):
        scanned_chart.read(scanned(image, 0, 0), grid, other, name="t", stem="t")


def test_paper_is_not_printed() -> None:
    palette = palette_file.load("newsprint-quarters")
    mixed, grid = recipes.mix(palette), measuring.grid(palette)
    chart = measuring.sheets(mixed, grid, "a4")[0]
    assert len(chart.fields) == len(grid.tints) - 3
    assert all(mixed.coverage[field.row] for field in chart.fields)
    page = np.asarray(Image.open(io.BytesIO(forms.to_png(chart, forms.Drawing(mixed, 65, 100)))))
    for place, tints in grid.tints.items():
        if not any(tints):
            x, y = (
                round((v + o) / 25.4 * 100)
                for v, o in zip(grid.corner(*place), (12, 14), strict=True)
            )
            side = round(measuring.PATCH / 25.4 * 100)
            assert (page[y + 4 : y + side - 4, x + 4 : x + side - 4] == 255).all()
            assert (page[y - 2 : y + 3, x + side // 2] < 128).any()  # a thin line around it
