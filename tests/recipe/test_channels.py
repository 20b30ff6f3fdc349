"""The channels of light: there and back, which palette gets which, and what they bring."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from support import reference_rows

from tuimatch.colour.colorimetry import delta_e, lab_to_xyz, srgb_to_xyz, xyz_to_lab
from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette
from tuimatch.recipe.channels import ENCODED, SHARP, Channels, xyz_channels
from tuimatch.recipe.dots import Press, View
from tuimatch.recipe.halftone import Halftone, channels_of
from tuimatch.recipe.recipes import mix


@pytest.fixture
def newsprint() -> Palette:
    return replace(palette_file.load("newsprint-quarters"), mixtures=())


# There and back.


@given(st.tuples(*[st.floats(0, 1)] * 3), st.floats(1, 4))
def test_light_comes_back_from_every_channel(encoded: tuple[float, ...], n: float) -> None:
    light = srgb_to_xyz(encoded)
    for channels in (xyz_channels(n), ENCODED):
        np.testing.assert_allclose(channels.from_v(channels.to_v(light)), light, atol=1e-9)


@given(st.floats(40, 100), st.floats(-20, 20), st.floats(-20, 20))
def test_light_comes_back_from_the_sharp_channels(lightness: float, a: float, b: float) -> None:
    light = lab_to_xyz((lightness, a, b))
    np.testing.assert_allclose(SHARP.from_v(SHARP.to_v(light)), light, atol=1e-12)


def test_the_sharp_channels_are_those_of_their_definition() -> None:
    x, y, z = 0.5, 0.4, 0.3
    v = SHARP.to_v(np.array([x, y, z]))
    expected = [
        (1.00 * x - 0.25 * y - 0.13 * z) ** (1 / 1.2),
        (-0.35 * x + 1.00 * y + 0.02 * z) ** (1 / 2.4),
        (0.03 * x + 0.07 * y + 1.00 * z) ** (1 / 2.8),
    ]
    np.testing.assert_allclose(v, expected, atol=1e-12)
    # What no light is has a floor.
    np.testing.assert_allclose(
        SHARP.to_v(np.array([0, 1.0, 0])), [1e-5 ** (1 / 1.2), 1, 0.07 ** (1 / 2.8)]
    )
    assert np.isfinite(SHARP.from_v(np.zeros(3))).all()


# Which palette gets which.


def is_xyz(channels: Channels) -> bool:
    return channels is not SHARP and channels is not ENCODED


def test_sharp_needs_process_inks_and_measured_tints(newsprint: Palette) -> None:
    assert channels_of(newsprint) is SHARP
    assert is_xyz(channels_of(replace(newsprint, channels="xyz")))
    yellow, magenta, cyan = newsprint.inks
    other = replace(newsprint, inks=(yellow, magenta, replace(cyan, name="harbour blue")))
    assert is_xyz(channels_of(other))
    assert other.n == 1.5
    shouted = replace(newsprint, inks=(yellow, magenta, replace(cyan, name="CYAN")))
    assert channels_of(shouted) is SHARP
    gain_only = replace(newsprint, inks=tuple(replace(ink, measured=()) for ink in newsprint.inks))
    assert is_xyz(channels_of(gain_only))
    assert gain_only.n == 2


def test_sharp_is_not_for_solids_that_leave_no_light(newsprint: Palette) -> None:
    yellow, magenta, cyan = newsprint.inks
    dark = replace(newsprint, inks=(yellow, magenta, replace(cyan, solid=(5.0, 0.0, 0.0))))
    assert is_xyz(channels_of(dark))
    assert dark.n == 1.5


def test_black_may_leave_no_light(newsprint: Palette) -> None:
    coated = palette_file.load("coated-tenths")
    assert channels_of(coated) is SHARP
    # Solid magenta and black leaves under 1 % of this paper; it is mixed apart from the others.
    assert min(lab[0] for _, lab in coated.overprints) < 8


# Black is mixed last.


def test_black_is_mixed_last_in_the_root_of_xyz() -> None:
    coated = replace(palette_file.load("coated-tenths"), mixtures=())
    halftone = Halftone(coated)
    tints = np.array([[30.0, 60, 10, 0], [30, 60, 10, 100], [30, 60, 10, 40]])
    bare, solid, between = halftone.colour_of(tints)
    paper, tint, black = (
        lab_to_xyz(lab)
        for lab in (coated.paper, dict(coated.inks[3].measured)[40], coated.inks[3].solid)
    )
    area = (paper**0.5 - tint**0.5) / (paper**0.5 - black**0.5)
    expected = ((1 - area) * bare**0.5 + area * solid**0.5) ** 2
    np.testing.assert_allclose(between, expected, atol=1e-12)
    # Where there is no black, it is the model of the other three inks.
    three = replace(
        coated,
        inks=coated.inks[:3],
        overprints=tuple(o for o in coated.overprints if 3 not in o[0]),
    )
    np.testing.assert_allclose(Halftone(three).colour_of(tints[:1, :3]), [bare], atol=1e-12)


def test_black_may_be_laid_first_as_well() -> None:
    coated = palette_file.load("coated-tenths")
    order = (3, 0, 1, 2)
    place = {ink: i for i, ink in enumerate(order)}
    turned = replace(
        coated,
        inks=tuple(coated.inks[i] for i in order),
        overprints=tuple(
            (tuple(sorted(place[i] for i in inks)), lab) for inks, lab in coated.overprints
        ),
        mixtures=tuple((tuple(tints[i] for i in order), lab) for tints, lab in coated.mixtures),
    )
    tints = np.random.default_rng(1).uniform(0, 100, (50, 4))
    np.testing.assert_allclose(
        Halftone(turned).colour_of(tints[:, order]), Halftone(coated).colour_of(tints), atol=1e-9
    )


@pytest.mark.parametrize("name", ["newsprint-quarters", "coated-tenths"])
def test_what_was_measured_is_predicted_as_measured(name: str) -> None:
    palette = replace(palette_file.load(name), mixtures=())
    recipes, k = mix(palette), len(palette.inks)
    assert delta_e(recipes.lab[0], palette.paper) < 1e-6
    for i, ink in enumerate(palette.inks):
        for tint, lab in (*ink.measured, (100.0, ink.solid)):
            row = recipes.row_of(tuple(tint if j == i else 0.0 for j in range(k)))
            assert delta_e(recipes.lab[row], lab) < 0.35
    for positions, lab in palette.overprints:
        row = recipes.row_of(tuple(100.0 if i in positions else 0.0 for i in range(k)))
        assert delta_e(recipes.lab[row], lab) < 1e-6


@pytest.mark.parametrize(
    ("name", "table"),
    [("newsprint-quarters", "newsprint_tr002"), ("coated-tenths", "coated_tr003")],
)
def test_sharp_comes_closer_to_print_than_xyz(name: str, table: str) -> None:
    palette = replace(palette_file.load(name), mixtures=())
    rows = [row for row in reference_rows(table) if "g125" in row["sets"].split(";")]
    tints = np.array([[float(row[x]) for x in "ymck"[: len(palette.inks)]] for row in rows])
    lab = np.array([[float(row[x]) for x in "Lab"] for row in rows])
    plain, sharp = (
        delta_e(lab, xyz_to_lab(Halftone(replace(palette, channels=c)).colour_of(tints)))
        for c in ("xyz", "sharp")
    )
    assert sharp.mean() < 0.8 * plain.mean()
    assert sharp.mean() <= 0.58
    assert sharp.max() <= 1.9


# In the file.


def test_the_palette_file_keeps_the_channels_and_refuses_others(newsprint: Palette) -> None:
    text = palette_file.to_toml(newsprint)
    assert palette_file.parse(text, file="a.toml", stem="a").channels == "sharp"
    assert "channels" not in palette_file.to_toml(replace(newsprint, channels="xyz"))
    with pytest.raises(PaletteError, match=r'channels: is \'rgb\'; give "xyz" or "sharp"'):
        palette_file.parse(text.replace('"sharp"', '"rgb"'), file="a.toml", stem="a")
    screen = 'channels = "sharp"\n' + palette_file.to_toml(palette_file.load("screen-quarters"))
    with pytest.raises(PaletteError, match='channels: does not go with kind = "screen"'):
        palette_file.parse(screen, file="a.toml", stem="a")
    with pytest.raises(PaletteError, match='yule_nielsen: does not go with channels = "sharp"'):
        palette_file.parse("yule_nielsen = 1.5\n" + text, file="a.toml", stem="a")


def test_a_palette_of_an_earlier_version_is_read_in_the_channels_that_took_their_place(
    newsprint: Palette,
) -> None:
    """Such a text may be in a log, or be an imported file; its factor was fitted for them."""
    text = palette_file.to_toml(newsprint)
    earlier = "yule_nielsen = 1.85\n" + text.replace('"sharp"', '"bt2020"')
    read = palette_file.parse(earlier, file="a.toml", stem=newsprint.stem)
    assert replace(read, text=newsprint.text) == newsprint
    assert read.text == earlier


# Fused by the eye, or by a program.


def resized(palette: Palette) -> Palette:
    return replace(palette, fused="resized")


def test_half_black_is_what_the_eye_or_a_program_makes_of_it() -> None:
    black = Ink("black", "K", (0, 0, 0), (50, 100))
    page = Palette("p", "p", "", "screen", "", "white", (255, 255, 255), (black,))
    assert mix(page).rgb_of(1) == (0xBC, 0xBC, 0xBC)
    assert mix(resized(page)).rgb_of(1) == (0x80, 0x80, 0x80)


def test_resized_is_what_a_box_filter_makes_of_the_dots() -> None:
    """Pillow's BOX filter is the plain mean of the encoded values, as most programs take it."""
    recipes = mix(resized(palette_file.load("screen-quarters")))
    press, off = Press(recipes), []
    for row in range(len(recipes)):
        picture = Image.fromarray(press.picture(row, View(60, 60, 7.5)))
        small = picture.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
        off.append(np.abs(np.subtract(small, recipes.rgb_of(row))).max())
    assert max(off) <= 1


def test_a_screen_file_may_say_what_its_dots_fuse_by() -> None:
    palette = resized(palette_file.load("screen-quarters"))
    text = palette_file.to_toml(palette)
    assert palette_file.parse(text, file="a.toml", stem="a").fused == "resized"
    with pytest.raises(PaletteError, match=r'fused: is 7; give "eye" or "resized"'):
        palette_file.parse(text.replace('"resized"', "7"), file="a.toml", stem="a")
    with pytest.raises(PaletteError, match='yule_nielsen: does not go with fused = "resized"'):
        palette_file.parse("yule_nielsen = 1.5\n" + text, file="a.toml", stem="a")
    measured = 'fused = "eye"\n' + palette_file.to_toml(palette_file.load("coated-tenths"))
    with pytest.raises(PaletteError, match='fused: does not go with kind = "measured"'):
        palette_file.parse(measured, file="a.toml", stem="a")
