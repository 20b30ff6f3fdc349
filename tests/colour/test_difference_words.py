"""Differences in words: which way, how much, the largest first."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import lab_triples

from tuimatch.colour.colorimetry import difference, xyz_to_lab
from tuimatch.colour.difference_words import colour_name, differs, fewer, hue_name, size_in_words
from tuimatch.colour.target import parse
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Triple
from tuimatch.recipe.halftone import solid_xyz


def said(target: Triple, sample: Triple) -> str:
    terms = difference(target, sample)
    return differs(
        target,
        sample,
        float(terms.delta_e),
        float(terms.lightness),
        float(terms.chroma),
        float(terms.hue),
    )


def lch(lightness: float, chroma: float, hue: float) -> Triple:
    angle = math.radians(hue)
    return (lightness, chroma * math.cos(angle), chroma * math.sin(angle))


@pytest.mark.parametrize(
    ("target", "sample", "words"),
    [
        ((50, 0, 0), (53, 0, 0), "lighter"),
        ((50, 0, 0), (47, 0, 0), "darker"),
        ((50, 0, 0), (51.5, 0, 0), "slightly lighter"),
        ((50, 0, 0), (80, 0, 0), "much lighter"),
        (lch(50, 40, 30), lch(50, 48, 30), "more vivid"),
        (lch(50, 40, 30), lch(50, 32, 30), "duller"),
        # A hue turns toward the next unique hue on its way.
        (lch(60, 60, 50), lch(60, 60, 57), "yellower"),
        (lch(60, 60, 50), lch(60, 60, 43), "redder"),
        (lch(60, 60, 120), lch(60, 60, 130), "greener"),
        (lch(60, 60, 120), lch(60, 60, 112), "yellower"),
        (lch(50, 40, 200), lch(50, 40, 208), "bluer"),
        (lch(50, 40, 200), lch(50, 40, 192), "greener"),
        (lch(40, 50, 300), lch(40, 50, 308), "more magenta"),
        (lch(40, 50, 300), lch(40, 50, 292), "bluer"),
        # Across the angle 0: from a red on its blue side to one on its yellow side, and back.
        (lch(50, 50, 355), lch(50, 50, 5), "redder"),
        (lch(50, 50, 5), lch(50, 50, 355), "more magenta"),
        (lch(50, 50, 345), lch(50, 50, 335), "bluer"),
    ],
)
def test_one_attribute_is_said_alone(target: Triple, sample: Triple, words: str) -> None:
    found = said(target, sample)
    assert "," not in found
    assert found.endswith(words)


@pytest.mark.parametrize("hue", [20.14, 90.0, 164.25, 237.53])
def test_a_hue_that_stands_on_a_unique_one_turns_toward_the_one_after_it(hue: float) -> None:
    """What is red within a few degrees cannot become redder by much; it becomes yellower."""
    onward = {20.14: "yellower", 90.0: "greener", 164.25: "bluer", 237.53: "more magenta"}[hue]
    back = {20.14: "more magenta", 90.0: "redder", 164.25: "yellower", 237.53: "greener"}[hue]
    for off in (-2.5, 0, 2.5):
        at = lch(50, 50, hue + off)
        assert said(at, lch(50, 50, hue + off + 12)).endswith(onward)
        assert said(at, lch(50, 50, hue + off - 12)).endswith(back)
    # Farther off, the hue itself is what it turns toward.
    names = {20.14: "redder", 90.0: "yellower", 164.25: "greener", 237.53: "bluer"}
    assert said(lch(50, 50, hue - 5), lch(50, 50, hue + 7)).endswith(names[hue])


@pytest.mark.parametrize(
    ("size", "words"),
    [
        (1.99, "slightly lighter"),
        (2.0, "lighter"),
        (4.0, "lighter"),
        (4.99, "lighter"),
        (5.0, "much lighter"),
    ],
)
def test_much_and_slightly_begin_where_sizes_in_words_do(size: float, words: str) -> None:
    """Common practice, no source."""
    assert differs((50, 0, 0), (50 + size, 0, 0), size, size, 0, 0) == words


def test_the_largest_difference_comes_first() -> None:
    target = lch(50, 40, 30)
    assert said(target, lch(62, 36, 30)).split(", ")[0].endswith("lighter")
    assert said(target, lch(52, 20, 30)).split(", ")[0].endswith("duller")
    assert said(target, lch(54, 30, 30)) == "lighter, duller"


def test_what_is_small_beside_the_largest_is_left_unsaid() -> None:
    words = said((50, 0, 0), (80, 1, 0))
    assert words == "much lighter"


@pytest.mark.parametrize(
    ("hue", "name"), [(20, "red"), (90, "yellow"), (164, "green"), (237, "blue")]
)
def test_a_neutral_takes_on_a_tinge(hue: float, name: str) -> None:
    """Grey has no hue that could turn, nor is a tinted grey called more vivid."""
    for grey in ((60, 0, 0), (60, 0.2, 0.1), (60, -0.3, -2)):
        assert said(grey, lch(60, 9, hue)) in (f"tinged {name}", f"much tinged {name}")
        # Nor does a grey lean anywhere from a colour.
        assert said(lch(60, 30, hue), grey) == "much duller"
    # At the same small chroma on the other side of grey it is the tinge that differs.
    assert said(lch(60, 2, hue + 180), lch(60, 2, hue)).endswith(f"tinged {name}")


def test_a_tinted_grey_that_loses_its_tint_is_duller() -> None:
    assert said(lch(60, 3.5, 30), lch(60, 0.5, 30)).endswith("duller")


def test_nothing_differs_below_one() -> None:
    assert said((50, 10, 10), (50.5, 10, 10)) == ""
    assert said((50, 10, 10), (50, 10, 10)) == ""


@given(lab_triples, lab_triples)
def test_words_never_contradict_the_figures(target: Triple, sample: Triple) -> None:
    words = said(target, sample)
    terms = difference(target, sample)
    if terms.delta_e < 1:
        assert words == ""
        return
    assert words
    parts = words.split(", ")
    assert len(parts) == len(set(parts)) <= 3
    if "lighter" in words:
        assert sample[0] > target[0]
    if "darker" in words:
        assert sample[0] < target[0]
    if "duller" in words:
        assert terms.chroma <= 0
    if "more vivid" in words:
        assert terms.chroma > 0
    # A neutral target has no hue and nothing vivid; only a neutral one takes on a tinge.
    neutral = math.hypot(target[1], target[2]) < 4
    assert not (
        neutral
        and any(
            word in words
            for word in ("vivid", "redder", "yellower", "greener", "bluer", "more magenta")
        )
    )
    assert neutral or "tinged" not in words


@pytest.mark.parametrize(
    ("delta_e", "words"),
    [
        (0, "no difference to the eye"),
        (0.99, "no difference to the eye"),
        (1, "seen only side by side"),
        (2, "a visible difference"),
        (5, "another colour"),
    ],
)
def test_sizes_in_words(delta_e: float, words: str) -> None:
    """Common practice, no source."""
    assert size_in_words(delta_e) == words


def test_unique_hues_are_those_of_ciecam02() -> None:
    """CIE 159:2004: 20.14, 90.00, 164.25 and 237.53 degrees (from memory)."""
    for angle, name in ((20.14, "red"), (90, "yellow"), (164.25, "green"), (237.53, "blue")):
        assert hue_name(angle) == hue_name(angle - 360) == hue_name(angle + 720) == name


def test_what_lies_between_them_has_its_own_name() -> None:
    between = {55: "orange", 120: "yellow-green", 201: "blue-green", 310: "purple", 350: "magenta"}
    for angle, name in between.items():
        assert hue_name(angle) == name


@pytest.mark.parametrize("stem", ["screen-quarters", "newsprint-quarters", "coated-tenths"])
def test_the_inks_are_called_what_they_are(stem: str) -> None:
    palette = palette_file.load(stem)
    for ink, (_, a, b) in zip(palette.inks, xyz_to_lab(solid_xyz(palette)), strict=True):
        if ink.name != "black":
            name = hue_name(math.degrees(math.atan2(b, a)))
            assert name in {"cyan": ("blue", "blue-green")}.get(ink.name, (ink.name,))


@given(st.floats(-360, 720))
def test_every_hue_has_a_name(angle: float) -> None:
    assert hue_name(angle)


@pytest.mark.parametrize(
    ("room", "said"),
    [
        (80, "much redder, lighter, slightly duller"),
        (36, "much redder, lighter, duller"),
        (23, "redder, lighter, duller"),
        (20, "much redder, lighter"),
        (15, "redder, lighter"),
        (14, "much redder"),
        (10, "redder"),
        (5, ""),
    ],
)
def test_fewer_words_rather_than_cut_ones(room: int, said: str) -> None:
    assert fewer("much redder, lighter, slightly duller", room) == said


@pytest.mark.parametrize(
    ("hex_text", "name"),
    [
        ("#ffffff", "white"),
        ("#000000", "black"),
        ("#808080", "grey"),
        ("#7a4a2a", "brown"),
        ("#8b0000", "dark red"),
        ("#ffc0cb", "pink"),
        ("#f2b8a0", "light orange"),
        ("#ffff00", "yellow"),
        ("#008000", "green"),
        ("#1e70c8", "blue"),
        ("#4f6f7c", "greyish blue"),
    ],
)
def test_a_colour_is_called_what_people_call_it(hex_text: str, name: str) -> None:
    """Common practice, no source; CSS calls those of its own names alike but for how light."""
    assert colour_name(parse(hex_text).lab) == name


@pytest.mark.parametrize(
    ("named", "hue"),
    [
        ("blue", "blue"),
        ("mediumblue", "blue"),
        ("darkblue", "blue"),
        ("navy", "blue"),
        ("midnightblue", "blue"),
        ("royalblue", "blue"),
        ("mediumpurple", "purple"),
        ("rebeccapurple", "purple"),
        ("blueviolet", "purple"),
        ("indigo", "purple"),
        ("darkviolet", "purple"),
        ("purple", "purple"),
        ("magenta", "magenta"),
    ],
)
def test_blue_purple_and_magenta_of_css_are_called_so(named: str, hue: str) -> None:
    """The names of CSS Color 4; what stands beside them is common practice."""
    assert colour_name(parse(named).lab).split()[-1] == hue


@given(st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)))
def test_every_colour_has_a_name_of_a_word_or_two(lab: Triple) -> None:
    assert 1 <= len(colour_name(lab).split()) <= 2
