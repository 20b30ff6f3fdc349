"""Wanted colours: what CSS Color 4 writes, what people write, and what is refused."""

import math

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st
from support import lab_triples

from tuimatch.colour.css_text import MAX_LENGTH
from tuimatch.colour.target import Target, parse
from tuimatch.errors import TargetError

# The green of the public CSS test suite for CSS Color 4, written in every way (from memory; the
# figures there are rounded so that the colour is #008000 in 8 bits).
GREEN = [
    "#008000",
    "#080",
    "#008000ff",
    "#080f",
    "green",
    "rgb(0, 128, 0)",
    "rgb(0 128 0)",
    "rgb(0% 50.196% 0%)",
    "rgba(0, 128, 0, 1)",
    "rgb(0 128 0 / 100%)",
    "rgb(none 128 none)",
    "hsl(120deg 100% 25.1%)",
    "hsl(120, 100%, 25.1%)",
    "hsla(120, 100%, 25.1%, 1)",
    "hsl(0.3333turn 100% 25.1%)",
    "hwb(120 0% 49.8%)",
    "lab(46.2775% -47.5621 48.5837)",
    "lab(46.2775 -47.5621 48.5837)",
    "lch(46.2775% 67.9892 134.3912)",
    "oklab(51.975% -0.1403 0.10768)",
    "oklab(0.51975 -0.1403 0.10768)",
    "oklch(51.975% 0.17686 142.495)",
    "color(srgb 0 0.50196 0)",
    "color(srgb 0% 50.196% 0%)",
    "color(srgb-linear 0 0.21586 0)",
    "color(display-p3 0.21604 0.49418 0.13151)",
    "color(xyz 0.07719 0.15438 0.02573)",
    "color(xyz-d65 0.07719 0.15438 0.02573)",
]


@pytest.mark.parametrize("text", GREEN)
def test_every_notation_of_css_color_4_is_read(text: str) -> None:
    found = parse(text)
    if text in ("#080", "#080f"):
        assert found.srgb == (0, 136, 0)
        return
    assert found.srgb == (0, 128, 0)
    assert not found.clipped
    # The rounding of the figures above is worth up to 0.02 of Lab.
    np.testing.assert_allclose(found.lab, [46.2775, -47.5621, 48.5837], rtol=0, atol=0.02)


@pytest.mark.parametrize(
    "text",
    [
        "color(a98-rgb 0.6 0.4 0.3)",
        "color(prophoto-rgb 0.6 0.4 0.3)",
        "color(rec2020 0.6 0.4 0.3)",
        "color(display-p3 0.6 0.4 0.3)",
        "color(xyz-d50 0.3 0.3 0.2)",
        "color(xyz-d65 0.3 0.3 0.2)",
        "oklch(0.6 0.17 40)",
        "oklab(0.6 0.1 -0.1)",
        "rebeccapurple",
        "hsl(14 68% 51%)",
        "hwb(200 20% 30%)",
        "lab(53 51 46)",
        "lch(53 60 300)",
    ],
)
def test_lab_agrees_with_an_independent_library(text: str) -> None:
    """coloraide's own conversion to lab(); 0.03 for its slightly other D50 (test_colorimetry)."""
    np.testing.assert_allclose(
        parse(text).lab, Color(text).convert("lab").coords(), rtol=0, atol=0.03
    )


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_every_hex_colour_is_itself_and_agrees_with_an_independent_library(
    rgb: tuple[int, int, int],
) -> None:
    text = "#" + "".join(f"{channel:02x}" for channel in rgb)
    found = parse(text)
    assert (found.text, found.srgb, found.clipped) == (text, rgb, False)
    np.testing.assert_allclose(found.lab, Color(text).convert("lab").coords(), rtol=0, atol=0.02)


@given(lab_triples)
def test_lab_written_out_is_never_changed(lab: tuple[float, float, float]) -> None:
    lightness, a, b = (round(x, 4) for x in lab)
    found = parse(f"lab({lightness} {a} {b})")
    assert found.lab == pytest.approx((lightness, a, b), abs=1e-9)
    assert all(0 <= channel <= 255 for channel in found.srgb)


def test_a_colour_outside_the_screen_keeps_its_lab_and_is_said_to_be_clipped() -> None:
    found = parse("lab(56.99 -37.23 -44.95)")
    assert found.clipped
    assert found.lab == pytest.approx((56.99, -37.23, -44.95))
    assert parse("color(display-p3 0 1 0)").clipped
    assert not parse("color(display-p3 1 1 1)").clipped


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("d94f2a", "#d94f2a"),
        ("D94F2A", "#d94f2a"),
        ("#D94F2A", "#d94f2a"),
        ("  #d94f2a\n", "#d94f2a"),
        ("# d94f2a", "#d94f2a"),
        ("fab", "#ffaabb"),
        ("FAB", "#ffaabb"),
        ("123", "#112233"),
        ("d94f2aff", "#d94f2a"),
        ("d9 4f 2a", "#d94f2a"),
        ("'#d94f2a'", "#d94f2a"),
        ('"#d94f2a";', "#d94f2a"),
        ("#d94f2a;", "#d94f2a"),
        ("color: #d94f2a;", "#d94f2a"),
        ("background-color:rgb(217 79 42)", "#d94f2a"),
        ("Fill : #D94F2A", "#d94f2a"),
        ("217 79 42", "#d94f2a"),
        ("217, 79, 42", "#d94f2a"),
        ("217,79,42", "#d94f2a"),
        ("217\t79\t42", "#d94f2a"),
        ("217\u00a079\u00a042", "#d94f2a"),
        ("10 20 30", "#0a141e"),
        ("#10 20 30", "#102030"),
        ("RGB(217, 79, 42)", "#d94f2a"),
        ("rgb( 217 , 79 , 42 )", "#d94f2a"),
        ("rgb(217\t79\n42)", "#d94f2a"),
        ("Tomato", "#ff6347"),
        ("Dark Red", "#8b0000"),
        ("dark-red", "#8b0000"),
        ("dark_red", "#8b0000"),
        ("LAB(50 0 0)", "lab(50 0 0)"),
        ("add", "#aadddd"),
    ],
)
def test_the_habits_of_people_are_understood(text: str, same: str) -> None:
    assert parse(text).lab == parse(same).lab


def test_rgb_beyond_its_range_is_clamped() -> None:
    """CSS Color 4, section 5.1: such values are not invalid, but clamped to the range."""
    assert parse("rgb(300 0 -20)").lab == parse("red").lab
    assert parse("rgb(120% 0% 0%)").lab == parse("red").lab
    assert parse("color(srgb 1.2 0 0)").lab != parse("red").lab


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("lch(50 -20 0)", "lab(50 0 0)"),
        ("lch(50 -1e-9 90)", "lab(50 0 0)"),
        ("oklch(0.5 -0.1 20)", "oklab(0.5 0 0)"),
        ("hsl(0 -50% 50%)", "hsl(0 0% 50%)"),
        ("hsl(120, -1%, 50%)", "hsl(0 0% 50%)"),
        ("lab(120 0 0)", "white"),
        ("lab(100.0001% 20 -20)", "lab(100 20 -20)"),
        ("lab(-5 20 0)", "lab(0 20 0)"),
        ("lch(400 0 0)", "white"),
        ("lch(-1 30 60)", "lch(0 30 60)"),
        ("oklab(1.2 0 0)", "white"),
        ("oklab(-20% 0.1 0)", "oklab(0 0.1 0)"),
        ("oklch(120% 0.05 0)", "oklch(1 0.05 0)"),
        ("oklch(none none none)", "black"),
        ("lch(50 none 0)", "lab(50 0 0)"),
    ],
)
def test_what_lies_outside_its_range_is_clamped(text: str, same: str) -> None:
    """CSS Color 4, sections 7.1 (saturation), 9.3 and 9.4 (lightness and chroma), from memory."""
    assert parse(text).lab == pytest.approx(parse(same).lab, abs=1e-3)


def test_the_text_is_kept_as_given_but_for_white_space() -> None:
    assert parse("  Dark \t Red\n").text == "Dark Red"
    assert parse("D94F2A").text == "D94F2A"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is not a colour"),
        ("   ", "is not a colour"),
        ("#", "is not a colour"),
        ("#12345", "is not a colour"),
        ("#1234567", "is not a colour"),
        ("#12345g", "is not a colour"),
        ("reddish", "is not a colour"),
        ("rgb(1 2)", "is not a colour"),
        ("rgb(1 2 3", "is not a colour"),
        ("rgb(a b c)", "is not a colour"),
        ("300 0 0", "is not a colour"),
        ("217 79", "is not a colour"),
        ("red blue", "is not a colour"),
        ("color(nowhere 1 2 3)", "is not a colour"),
        ("currentcolor", "is not a colour"),
        ("var(--x)", "is not a colour"),
        ("re\x1b[31md", "is not a colour"),
        ("red\u202e", "is not a colour"),
        ("\0", "is not a colour"),
        ("\ud800", "is not a colour"),
        ("#d94f2a80", "is 50% opaque"),
        ("#d94f2afe", "is 99% opaque"),
        ("rgb(217 79 42 / 0.999)", "is 99% opaque"),
        ("rgb(217 79 42 / none)", "is 0% opaque"),
        ("transparent", "is 0% opaque"),
        ("hsl(10 50% 50% / 30%)", "is 30% opaque"),
        ("lab(50 400 0)", "not a colour a surface can have"),
        ("lch(1e999 0 0)", "is not a colour"),
        ("lch(50 -1e999 0)", "is not a colour"),
        ("hsl(0 -1e999 50%)", "is not a colour"),
        ("lab(1e999 0 0)", "is not a colour"),
        ("oklch(0.5 1e200 0)", "is not a colour"),
        ("lch(50 20 1e999)", "is not a colour"),
        ("hsl(-1e999 50% 50%)", "is not a colour"),
        ("hwb(1e999 0% 0%)", "is not a colour"),
        ("oklab(1e300 1e300 -1e300)", "is not a colour"),
        ("color(xyz 1e308 1e308 1e308)", "not a colour a surface can have"),
        ("color(a98-rgb 1e300 0 0)", "is not a colour"),
        ("color(prophoto-rgb -1e300 0 0)", "is not a colour"),
        ("color(srgb 1e160 0 0)", "not a colour a surface can have"),
        ("x" * (MAX_LENGTH + 1), "is too long"),
        ("x" * 1_000_000, "is too long"),
    ],
)
def test_what_is_no_usable_colour_gets_one_line(text: str, says: str) -> None:
    with pytest.raises(TargetError) as caught:
        parse(text)
    line = str(caught.value)
    assert says in line
    assert "give" in line
    assert line.splitlines() == [line]
    assert line.isprintable()
    assert len(line) < 250


def parsed(text: str) -> Target | TargetError:
    try:
        return parse(text)
    except TargetError as error:
        return error


def is_target_or_refusal(text: str) -> None:
    found = parsed(text)
    if isinstance(found, TargetError):
        assert len(str(found).splitlines()) == 1
        assert str(found).isprintable()
        return
    assert all(map(math.isfinite, found.lab))
    assert -0.1 <= found.lab[0] <= 100.1
    assert all(0 <= channel <= 255 for channel in found.srgb)
    assert parse(text) == found


@given(st.text(max_size=MAX_LENGTH + 20))
def test_any_text_is_a_target_or_a_refusal(text: str) -> None:
    is_target_or_refusal(text)


functions = st.sampled_from(
    ["rgb", "rgba", "hsl", "hsla", "hwb", "lab", "lch", "oklab", "oklch", "color"]
)
spaces = st.sampled_from(
    ["srgb", "srgb-linear", "display-p3", "a98-rgb", "prophoto-rgb", "rec2020", "xyz", "xyz-d50"]
)
numbers = st.one_of(
    st.floats().map(str),
    st.floats(-500, 500).map(lambda x: f"{x:.3f}"),
    st.integers(0, 255).map(str),
    st.sampled_from(["none", "1e999", "-1e308", "1e-320", "+.5", "50%", "0.5turn", "90deg", "NaN"]),
)


@given(
    functions,
    spaces,
    st.lists(numbers, min_size=2, max_size=4),
    st.sampled_from([" ", ", ", ","]),
    st.sampled_from(["", " / 1", " / 0.5", "/none", " / 1e99"]),
)
def test_anything_like_a_colour_function_is_a_target_or_a_refusal(
    function: str, space: str, values: list[str], between: str, alpha: str
) -> None:
    inner = between.join(values) + alpha
    is_target_or_refusal(f"{function}({space + ' ' if function == 'color' else ''}{inner})")


@given(st.text("0123456789abcdefABCDEF# ,.%-()", max_size=24))
def test_anything_like_digits_is_a_target_or_a_refusal(text: str) -> None:
    is_target_or_refusal(text)
