"""Palettes from lists of swatches, and from pictures of them."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from rendered import tint

from tuimatch.errors import PaletteError
from tuimatch.own_palette import swatch, swatch_list
from tuimatch.own_palette.swatch_list import Row
from tuimatch.palette import file as palette_file
from tuimatch.picture import picture
from tuimatch.recipe.recipes import mix

CSV = """ink,srgb,symbol,label,share
paper,#fffdf5,,,
yellow,#ffe800,Y,fine dots,23.4
yellow,,,coarse dots,51 %
magenta,#e4007c,,,40
"""
TOML = """name = "My brushes"
[[swatches]]
ink = "paper"
srgb = "#fffdf5"
[[swatches]]
ink = "yellow"
srgb = "#ffe800"
symbol = "Y"
label = "fine dots"
share = 23.4
[[swatches]]
ink = "yellow"
label = "coarse dots"
share = 51
[[swatches]]
ink = "magenta"
srgb = "#e4007c"
share = "40"
"""


def made(text: str, toml: bool = False) -> palette_file.Palette:
    return swatch_list.parse(text, file="list", stem="own", toml=toml)


def test_csv_and_toml_make_the_same_palette() -> None:
    palette = made(CSV)
    yellow, magenta = palette.inks
    assert palette.paper == (255, 253, 245)
    assert (yellow.tints, yellow.labels) == (
        (23.4, 51.0, 100.0),
        ("fine dots", "coarse dots", "solid"),
    )
    assert (magenta.symbol, magenta.tints, magenta.labels) == ("M", (40.0, 100.0), ())
    assert made(TOML, toml=True).inks == palette.inks
    assert made(TOML, toml=True).name == "My brushes"


def test_the_text_is_the_file_to_write(tmp_path: Path) -> None:
    source = tmp_path / "own.csv"
    source.write_text(CSV, encoding="utf-8")
    palette = swatch_list.read(source)
    path = tmp_path / "own.toml"
    path.write_text(palette.text, encoding="utf-8")
    assert palette_file.read(path) == palette
    assert len(mix(palette)) == 4 * 3


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("ink,srgb", "colour,srgb", "list: has no header; begin with ink,srgb,symbol,label,share"),
        ("paper,#fffdf5,,,\n", "", "list: has no paper"),
        ("paper,#fffdf5", "paper,", "swatch 1: the paper has no srgb"),
        ("magenta,#e4007c", "paper,#e4007c", "swatch 4: the paper appears twice"),
        ("yellow,#ffe800", "yellow,", "swatch 2: 'yellow' has no srgb; give it in its first row"),
        ("yellow,,", "yellow,#ffe801,", "swatch 3: 'yellow' has two colours"),
        ("#ffe800", "ffe800", "swatch 2: srgb is 'ffe800'; give six hex digits"),
        (",40", ",0.4", "swatch 4: share is '0.4'; give a percent from 1 to 100"),
        (",40", ",forty", "swatch 4: share is 'forty'"),
        ("51 %", "23.4", "swatch 3: yellow 23.4 % appears twice"),
        (",40", ",40,50", "swatch 4: has 6 values; the header has 5"),
        ("fine dots", '"fine', "is not CSV"),
        ("fine dots", "\x1b[2J", "holds a control character"),
        ("fine dots", "coarse dots", "'coarse dots' appears twice"),
        ("yellow,,", ",,", "swatch 3: names no ink"),
    ],
)
def test_slips_are_refused_with_their_row(old: str, new: str, message: str) -> None:
    assert old in CSV
    with pytest.raises(PaletteError) as caught:
        made(CSV.replace(old, new, 1))
    assert message in str(caught.value)
    assert str(caught.value).isprintable()


def test_slips_in_toml() -> None:
    for text, message in (
        ("swatches = 1", "swatches: is missing"),
        ("[[swatches]]\nink = 1", r"swatches\[1\]\.ink: is not usable"),
        ("[[swatches]]\nshare = true", r"swatches\[1\]\.share: is not usable"),
        ("other = 1", "may hold a name and"),
        ("[[", "is not TOML"),
        ("a" + ".a" * 40_000 + " = 1", "nests too deeply"),
    ):
        with pytest.raises(PaletteError, match=message):
            made(text, toml=True)


def test_more_inks_than_a_palette_can_have_are_refused_at_the_first_one_too_many() -> None:
    # With so many names of one letter there is no symbol left to find for the last.
    rows = ["paper,#ffffff", *(f"{'a' * count},#102030" for count in range(1, 200))]
    with pytest.raises(PaletteError, match="swatch 8: names ink 7; give at most 6"):
        made("ink,srgb\n" + "\n".join(rows))


def test_symbols_are_found_for_inks_without() -> None:
    rows = [Row("paper", "#ffffff")]
    rows += [Row(name, "#102030", share="50") for name in ("coral", "cobalt", "co", "ooc")]
    palette = swatch_list.assemble(rows, name="x", file="list", stem="x")
    assert [ink.symbol for ink in palette.inks][:3] == ["C", "O", "1"]


def test_a_picture_of_brushes_becomes_a_palette_true_to_half_a_percent(tmp_path: Path) -> None:
    inks = {"magenta": (228, 0, 124), "blue": (0, 120, 200)}
    shares = {"magenta": [0.2, 0.45, 0.7], "blue": [0.12, 0.33, 0.55]}
    paper = (255, 253, 245)
    pixels = np.empty((480, 720, 3), dtype=np.uint8)
    pixels[:] = paper
    for (row, name), column in product(enumerate(inks), range(3)):
        y, x = 240 * row + 20, 240 * column + 20
        pixels[y : y + 200, x : x + 200] = tint(
            "round",
            shares[name][column],
            15 + 60 * row,
            11.7,
            "encoded",
            (200, 200),
            paper,
            inks[name],
        )
    Image.fromarray(pixels).save(tmp_path / "brushes.png")
    found = swatch.read_grid(picture.read(tmp_path / "brushes.png"), 2, 3, paper=paper)
    rows = [Row("paper", "#fffdf5")]
    for name, read in zip(inks, found, strict=True):
        rows += [
            Row(name, "#{:02x}{:02x}{:02x}".format(*inks[name]), share=f"{100 * one.share:.2f}")
            for one in read
        ]
    palette = swatch_list.assemble(rows, name="Brushes", file="brushes.png", stem="brushes")
    for ink in palette.inks:
        assert ink.solid == inks[ink.name]
        wanted = [100 * share for share in shares[ink.name]] + [100]
        assert ink.tints == pytest.approx(wanted, abs=0.5)
