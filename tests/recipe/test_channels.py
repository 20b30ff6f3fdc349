"""Mixing in the channels of ITU-R BT.2020: measured colours stay, and the rest comes closer."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import REFERENCE

from tuimatch.colour.colorimetry import BT2020_TO_XYZ, D50, delta_e, xyz_to_lab
from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.recipe.halftone import from_v, to_v
from tuimatch.recipe.recipes import mix, predict


def in_bt2020(palette: Palette, n: float) -> Palette:
    return replace(palette, channels="bt2020", yule_nielsen=n)


def table(name: str) -> tuple[np.ndarray, np.ndarray]:
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    rows = [row for row in rows if "g125" in row["sets"].split(";")]
    tints = np.array([[float(row[x]) for x in "ymc"] for row in rows])
    return tints, np.array([[float(row[x]) for x in "Lab"] for row in rows])


def test_the_matrix_is_the_one_of_the_recommendation() -> None:
    # ITU-R BT.2020-2, table 4: Y = 0.2627 R + 0.6780 G + 0.0593 B under D65; Bradford moves white
    # to D50 and leaves the sum of the channels the white itself.
    assert BT2020_TO_XYZ.sum(axis=1) == pytest.approx(D50, abs=1e-6)
    from tuimatch.colour.colorimetry import _D65_TO_D50

    under_d65 = np.linalg.inv(_D65_TO_D50) @ BT2020_TO_XYZ
    assert under_d65[1] == pytest.approx([0.2627, 0.6780, 0.0593], abs=5e-5)


@given(
    st.lists(st.floats(0, 1.2), min_size=3, max_size=3),
    st.floats(1, 10),
    st.sampled_from(["xyz", "bt2020"]),
)
def test_every_light_comes_back(xyz: list[float], n: float, channels: str) -> None:
    light = np.array(xyz)
    there = to_v(light, n, channels)  # type: ignore[arg-type]
    assert from_v(there, n, channels) == pytest.approx(light, abs=1e-9)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["newsprint-quarters", "coated-tenths"])
def test_what_was_measured_is_predicted_as_measured(name: str) -> None:
    palette = in_bt2020(palette_file.load(name), 1.7)
    recipes = mix(palette)
    rows = {tuple(tints): lab for tints, lab in zip(recipes.tints, recipes.lab, strict=True)}
    k = len(palette.inks)
    assert rows[(0,) * k] == pytest.approx(palette.paper, abs=1e-9)
    for i, ink in enumerate(palette.inks):
        for tint, lab in (*ink.measured, (100.0, ink.solid)):
            alone = tuple(tint if j == i else 0.0 for j in range(k))
            assert rows[alone] == pytest.approx(lab, abs=0.35)
    for positions, lab in palette.overprints:
        assert rows[tuple(100.0 if i in positions else 0.0 for i in range(k))] == pytest.approx(
            lab, abs=1e-9
        )


@pytest.mark.parametrize(
    ("name", "data"),
    [("newsprint-quarters", "newsprint_tr002.csv"), ("coated-quarters", "coated_tr003.csv")],
)
@pytest.mark.parametrize("n", [1.5, 1.8, 2.0])
def test_the_combinations_come_closer_whatever_the_factor(name: str, data: str, n: float) -> None:
    palette = palette_file.load("newsprint-quarters")
    tints, lab = table(data)
    if name == "coated-quarters":
        at = {tuple(row): tuple(map(float, lab[i])) for i, row in enumerate(tints)}
        inks = []
        for i, ink in enumerate(palette.inks):
            own = {t: at[tuple(t if j == i else 0.0 for j in range(3))] for t in ink.tints}
            solid = own.pop(100.0)
            inks.append(replace(ink, solid=solid, measured=tuple(own.items())))
        palette = replace(
            palette,
            paper=at[(0, 0, 0)],
            inks=tuple(inks),
            overprints=tuple(
                (p, at[tuple(100.0 if i in p else 0.0 for i in range(3))])
                for p, _ in palette.overprints
            ),
        )
    steps = (tints / 25).astype(np.intp)
    plain = delta_e(lab, xyz_to_lab(predict(replace(palette, yule_nielsen=n), steps)))
    closer = delta_e(lab, xyz_to_lab(predict(in_bt2020(palette, n), steps)))
    assert closer.mean() < 0.8 * plain.mean()
    assert closer.max() < 0.8 * plain.max()
    assert closer.mean() <= 0.52
    assert closer.max() <= 1.5


def test_the_palette_file_keeps_the_channels_and_refuses_others() -> None:
    palette = palette_file.load("newsprint-quarters")
    text = palette_file.to_toml(in_bt2020(palette, 1.7))
    again = palette_file.parse(text, file="a.toml", stem="a")
    assert again.channels == "bt2020"
    assert palette_file.to_toml(again) == text
    assert "channels" not in palette_file.to_toml(palette)
    with pytest.raises(PaletteError, match=r'channels: is \'rgb\'; give "xyz" or "bt2020"'):
        palette_file.parse(text.replace('"bt2020"', '"rgb"'), file="a.toml", stem="a")
    screen = 'channels = "bt2020"\n' + palette_file.to_toml(palette_file.load("screen-quarters"))
    with pytest.raises(PaletteError, match='channels: does not go with kind = "screen"'):
        palette_file.parse(screen, file="a.toml", stem="a")
