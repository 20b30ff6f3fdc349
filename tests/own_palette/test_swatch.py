"""Swatches of known coverage are read true; what is not a tint of two colours is refused."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from rendered import INK, PAPER, covered, picture, tint, true_share

from tuimatch.colour.colorimetry import decode_srgb, encode_srgb
from tuimatch.errors import PictureError, SwatchError
from tuimatch.own_palette import swatch
from tuimatch.picture.picture import Picture

YELLOW = (255, 232, 0)
# No dot, and no gap between dots, is thinner than three pixels: an ink that is nowhere pure
# cannot be known from the picture.
TINTS = [
    *product(["round"], [0.10, 0.25, 0.5, 0.9], [0, 15, 45, 75]),
    *product(["square"], [0.10, 0.25, 0.4], [0, 15, 45, 75]),
    *product(["line"], [0.25, 0.5, 0.75], [0, 15, 45, 75]),
]


@pytest.mark.parametrize("edge", ["linear", "encoded"])
@pytest.mark.parametrize(("shape", "coverage", "angle"), TINTS)
def test_smoothed_tints_are_true_to_half_a_percent(
    shape: str, coverage: float, angle: float, edge: str
) -> None:
    ink = INK if angle % 2 else YELLOW
    pixels = tint(shape, coverage, angle, 12.3, edge, (200, 180), ink=ink)
    found = swatch.read(picture(pixels))
    assert found.share == pytest.approx(coverage, abs=0.005)
    assert found.paper == PAPER
    assert found.ink == ink
    known = swatch.read(picture(pixels), paper=PAPER, ink=ink)
    assert known == found


@pytest.mark.parametrize(("shape", "coverage", "angle"), TINTS)
def test_hard_tints_are_true_to_half_a_percent(shape: str, coverage: float, angle: float) -> None:
    whole = covered(shape, coverage, angle, 12.3, (1500, 1500), 1).mean()
    found = swatch.read(picture(tint(shape, coverage, angle, 12.3, "hard", (300, 280))))
    assert found.share == pytest.approx(whole, abs=max(0.005, found.uncertainty))
    assert found.uncertainty < 0.012


@pytest.mark.parametrize("edges", [("linear", "encoded"), ("hard",)])
def test_how_true_shares_are_over_periods_and_angles(edges: tuple[str, ...]) -> None:
    """The figures that the README gives."""
    off: dict[str, list[float]] = {edge: [] for edge in edges}
    for (shape, coverage, angle), period, edge in product(TINTS, (12, 12.3, 16.97), edges):
        drawn = tint(shape, coverage, angle, period, edge, (200, 200))
        found = swatch.read(picture(drawn)).share
        off[edge].append(abs(found - true_share(shape, coverage, angle, period, edge)))
    for edge, misses in off.items():
        assert len(misses) == 120
        if edge == "hard":
            assert sum(miss <= 0.005 for miss in misses) == 106
            assert max(misses) == pytest.approx(0.028, abs=0.0005)
        else:
            assert max(misses) <= 0.005


@pytest.mark.parametrize("coverage", [0.25, 0.5])
@pytest.mark.parametrize("angle", [0, 15, 45])
def test_black_dots_are_counted_in_linear_light_and_the_doubt_is_said(
    coverage: float, angle: float
) -> None:
    colours = {"paper": (255, 255, 255), "ink": (0, 0, 0)}
    for edge in ("hard", "linear", "encoded"):
        pixels = tint("round", coverage, angle, 12.3, edge, (200, 200), **colours)
        found = swatch.read(picture(pixels))
        within = 0.005 if edge != "encoded" else 0.005 + found.uncertainty
        whole = (
            coverage
            if edge != "hard"
            else covered("round", coverage, angle, 12.3, (1500, 1500), 1).mean()
        )
        assert found.share == pytest.approx(whole, abs=within)
        assert (found.uncertainty > 0.01) == (edge != "hard")


def test_the_fused_colour_is_the_mean_of_the_light() -> None:
    pixels = np.empty((64, 64, 3), dtype=np.uint8)
    pixels[:] = PAPER
    pixels[::2, ::2] = INK
    found = swatch.read(picture(pixels))
    paper, ink = decode_srgb(np.array([PAPER, INK]) / 255)
    assert found.srgb == pytest.approx(encode_srgb(0.75 * paper + 0.25 * ink) * 255, abs=0.01)
    assert found.share == pytest.approx(0.25, abs=1e-4)


def test_a_box_is_read_alone() -> None:
    pixels = np.zeros((300, 300, 3), dtype=np.uint8)
    pixels[50:250, 60:260] = tint(coverage=0.3, edge="linear", size=(200, 200))
    found = swatch.read(picture(pixels), (60, 50, 200, 200))
    assert found.share == pytest.approx(0.3, abs=0.005)
    with pytest.raises(PictureError, match="is not within it"):
        swatch.read(picture(pixels), (200, 200, 200, 200))


def test_what_is_no_tint_is_refused_with_the_reason() -> None:
    def reason(pixels: np.ndarray, **known: object) -> str:
        with pytest.raises(SwatchError) as caught:
            swatch.read(picture(pixels.astype(np.uint8)), **known)  # type: ignore[arg-type]
        return str(caught.value)

    flat = np.full((64, 64, 3), INK)
    assert "one flat colour, #e4007c" in reason(flat)
    assert "one flat colour" in reason(flat, paper=PAPER, ink=YELLOW)
    three = tint(size=(90, 90))
    three[:30] = YELLOW
    assert "more than two colours" in reason(three)
    ramp = np.linspace(0, 1, 200)[:, None]
    line = np.rint(np.array(PAPER) + ramp * (np.array(INK) - PAPER))
    assert "gradient" in reason(np.repeat(line[None], 100, axis=0))
    grey = tint(size=(120, 120), paper=(255, 255, 255), ink=(0, 0, 0), period=40)
    middle = np.where(np.arange(120)[None, :, None] % 40 < 20, 128, grey)
    assert "lies between two colours" in reason(middle)
    noise = np.random.default_rng(1).integers(0, 256, (64, 64, 3))
    assert "no pixel is pure" in reason(noise)
    assert "give at least 16 × 16" in reason(tint(size=(15, 40)))
    alpha = np.full((64, 64), 200, dtype=np.uint8)
    with pytest.raises(SwatchError, match="partly transparent"):
        swatch.read(Picture("a", tint(size=(64, 64)), alpha))


def test_a_third_tone_is_seen_wherever_it_lies() -> None:
    """Greys lie on the line between paper and ink, and those fuse to what the tint fuses to."""
    pixels = tint("square", 0.5, period=20, size=(2000, 2000), paper=(255,) * 3, ink=(0, 0, 0))
    pixels[320:] = 188
    with pytest.raises(SwatchError, match="84% of it lies between two colours"):
        swatch.read(picture(pixels))


def test_a_tenth_of_a_third_tone_is_too_much_and_a_hundredth_is_not() -> None:
    pixels = tint("round", 0.25, 0, 10, size=(400, 400), paper=(255,) * 3, ink=(0, 0, 0))
    for side, wrong in ((16, True), (6, False)):
        spotted = pixels.reshape(10, 40, 10, 40, 3).copy()
        spotted[:, :side, :, :side] = 188
        spotted = spotted.reshape(400, 400, 3)
        if wrong:
            with pytest.raises(SwatchError, match=r"1[0-3]% of it lies between two colours"):
                swatch.read(picture(spotted))
        else:
            assert swatch.read(picture(spotted)).share == pytest.approx(0.25, abs=0.02)


def test_a_flat_swatch_counts_where_both_colours_are_known() -> None:
    flat = np.full((64, 64, 3), INK, dtype=np.uint8)
    assert swatch.read(picture(flat), paper=PAPER, ink=INK).share == 1
    assert swatch.read(picture(flat), paper=INK, ink=YELLOW).share == 0


def test_a_grid_is_read_in_one_go() -> None:
    shares = [[0.2, 0.4, 0.6], [0.3, 0.5, 1.0]]
    pixels = np.empty((2 * 240, 3 * 240, 3), dtype=np.uint8)
    pixels[:] = PAPER
    inks = (INK, (0, 158, 224))
    for row, column in product(range(2), range(3)):
        y, x = 240 * row + 20, 240 * column + 20
        pixels[y : y + 200, x : x + 200] = (
            inks[row]
            if shares[row][column] == 1
            else tint("round", shares[row][column], 45, 11.3, "linear", (200, 200), ink=inks[row])
        )
    found = swatch.read_grid(picture(pixels), 2, 3, paper=PAPER, inks=inks)
    for row, column in product(range(2), range(3)):
        assert found[row][column].share == pytest.approx(shares[row][column], abs=0.005)
    with pytest.raises(SwatchError, match="row 2, column 3: one flat colour, #009ee0"):
        swatch.read_grid(picture(pixels), 2, 3)
    with pytest.raises(SwatchError, match="1 inks for 2 rows"):
        swatch.read_grid(picture(pixels), 2, 3, inks=(INK,))
    with pytest.raises(SwatchError, match="give at least one of each"):
        swatch.read_grid(picture(pixels), 0, 3)
