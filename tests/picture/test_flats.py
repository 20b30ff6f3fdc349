"""A page is read as the flats that were painted: which, how large, beside what."""

from __future__ import annotations

from itertools import groupby, pairwise
from pathlib import Path

import comic_page
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFilter
from support import costly

from tuimatch.colour import target
from tuimatch.errors import PictureError
from tuimatch.picture import flats
from tuimatch.picture.flats import Flats, find
from tuimatch.picture.picture import Picture

RED, BLUE, GREEN, BLACK = (200, 40, 40), (40, 60, 160), (60, 140, 70), (0, 0, 0)
LINE_ART = [target.parse("#000000")]


def page(pixels: object, alpha: np.ndarray | None = None) -> Picture:
    return Picture("page.png", np.array(pixels, dtype=np.uint8), alpha)


def stripes(*colours: tuple[int, int, int], width: int = 8, height: int = 20) -> np.ndarray:
    """Upright stripes side by side."""
    return np.repeat(np.array([colours], dtype=np.uint8), width, axis=1).repeat(height, axis=0)


def borders(found: Flats) -> dict[frozenset[str], int]:
    return {
        frozenset((found.flats[n.first].colour, found.flats[n.second].colour)): n.border
        for n in found.neighbours
    }


def read(folder: Path, image: Image.Image, name: str = "page.png", **how: object) -> Flats:
    image.save(folder / name, **how)
    return flats.read(folder / name, LINE_ART)


def test_stripes() -> None:
    found = find(page(stripes(RED, BLUE, BLUE, GREEN)))
    assert [(f.srgb, f.pixels, f.share) for f in found.flats] == [
        (BLUE, 320, 0.5),
        (RED, 160, 0.25),
        (GREEN, 160, 0.25),
    ]
    assert [(n.first, n.second, n.border) for n in found.neighbours] == [(0, 1, 20), (0, 2, 20)]
    assert found.map[0].tolist() == [1] * 8 + [0] * 16 + [2] * 8
    assert [f.place for f in found.flats] == [(9, 1), (1, 1), (25, 1)]
    assert (found.smoothed, found.kept_out, found.kept_share) == (0, (), 0)


@costly
@given(st.lists(st.integers(0, 5), min_size=16, max_size=16), st.integers(7, 8), st.data())
def test_every_pixel_is_counted_as_a_slow_count_does_it(tiles, side, data) -> None:
    """Squares of colours; then with a speck dropped on them, too small to hide a whole one."""
    colours = np.array([RED, BLUE, GREEN, (230, 200, 60), (120, 120, 120), (250, 250, 250)])
    truth = np.array(tiles).reshape(4, 4).repeat(side, axis=0).repeat(side, axis=1)
    pixels = colours[truth].astype(np.uint8)
    found = find(page(pixels))
    labels = [found.flats[place].srgb for place in found.map.reshape(-1)]
    assert labels == [tuple(rgb) for rgb in pixels.reshape(-1, 3).tolist()]
    counted: dict[frozenset[str], int] = {}
    for one, other in (
        *zip(truth[:, 1:].flat, truth[:, :-1].flat, strict=True),
        *zip(truth[1:].flat, truth[:-1].flat, strict=True),
    ):
        if one != other:
            pair = frozenset("#{:02x}{:02x}{:02x}".format(*colours[i]) for i in (one, other))
            counted[pair] = counted.get(pair, 0) + 1
    assert borders(found) == counted
    assert sum(f.pixels for f in found.flats) == truth.size
    x, y = (data.draw(st.integers(0, 4 * side - 1)) for _ in "xy")
    pixels[y, x] = (255, 0, 255)
    again = find(page(pixels))
    assert again.smoothed == 1
    beside = truth[max(y - 1, 0) : y + 2, x].tolist() + truth[y, max(x - 1, 0) : x + 2].tolist()
    nearest = {tuple(colours[i].tolist()) for i in beside}
    assert again.flats[again.map[y, x]].srgb in nearest


def test_a_smoothed_edge_goes_to_the_flat_that_it_is_nearer_to() -> None:
    pixels = stripes(RED, BLUE)
    nearly_red, nearly_blue = (180, 42, 52), (60, 58, 148)
    pixels[:, 7], pixels[:, 8] = nearly_red, nearly_blue
    found = find(page(pixels))
    assert [(f.srgb, f.pixels) for f in found.flats] == [(RED, 160), (BLUE, 160)]
    assert found.smoothed == 40
    assert borders(found) == {frozenset(("#c82828", "#283ca0")): 20}


def test_what_fills_no_square_or_too_little_of_the_page_is_no_flat() -> None:
    pixels = stripes(RED, BLUE, width=100, height=200)
    pixels[50:53, 20:23] = GREEN  # 9 of 40,000 pixels: 0.02 %
    assert [f.pixels for f in find(page(pixels)).flats] == [20_000, 19_991, 9]
    some = find(page(pixels), least_share=0.1)
    assert [f.pixels for f in some.flats] == [20_000, 20_000]
    assert some.smoothed == 9
    pixels[50:53, 20:23] = RED
    pixels[60:62, 20:90] = GREEN  # too thin
    assert find(page(pixels)).smoothed == 140


@pytest.mark.parametrize("thick", [1, 2, 3, 6])
def test_flats_that_a_thin_line_of_kept_colour_divides_are_neighbours(thick: int) -> None:
    pixels = stripes(RED, BLUE, width=30, height=40)
    pixels[:, 30 - thick // 2 : 30 - thick // 2 + thick] = BLACK
    found = find(page(pixels), LINE_ART)
    assert found.kept_out == ("#000000",)
    assert found.kept_share == pytest.approx(thick / 60)
    assert borders(found) == {frozenset(("#c82828", "#283ca0")): 40}
    # The line belongs to none of them.
    assert sum(f.pixels for f in found.flats) == 40 * (60 - thick)


@given(
    st.lists(st.integers(0, 3), min_size=16, max_size=16),
    st.integers(7, 9),
    st.lists(
        st.tuples(st.booleans(), st.integers(5, 30), st.sampled_from([1, 3, 6, 7])), max_size=3
    ),
)
def test_borders_through_lines_are_what_walking_along_rows_and_columns_counts(tiles, side, lines):
    """Squares of colours with lines of any breadth over them, in two colours that are kept out."""
    colours = np.array([RED, BLUE, GREEN, (230, 200, 60), BLACK, (0, 0, 90)])
    truth = np.array(tiles).reshape(4, 4).repeat(side, axis=0).repeat(side, axis=1)
    for number, (upright, at, thick) in enumerate(lines):
        (truth.T if upright else truth)[at : at + thick] = 4 + number % 2
    keep = [*LINE_ART, target.parse("#00005a")]
    try:
        found = find(page(colours[truth]), keep)
    except PictureError:  # hardly anything but lines is left
        return
    if found.smoothed:  # what a line has left of a square is too thin
        return
    counted: dict[frozenset[str], int] = {}
    for row in (*truth.tolist(), *truth.T.tolist()):
        runs = [(flat, len(list(run))) for flat, run in groupby(row, lambda i: min(i, 4))]
        seen = [flat for flat, length in runs if flat < 4 or length > 6]
        for one, other in pairwise(seen):
            if one != other and 4 not in (one, other):
                pair = frozenset("#{:02x}{:02x}{:02x}".format(*colours[i]) for i in (one, other))
                counted[pair] = counted.get(pair, 0) + 1
    assert borders(found) == {pair: count for pair, count in counted.items() if count >= 3}


def test_flats_that_a_broad_area_of_kept_colour_divides_are_not() -> None:
    found = find(page(stripes(RED, BLACK, BLUE, width=30, height=40)), LINE_ART)
    assert found.neighbours == ()
    assert len(found.flats) == 2
    # Not kept out, black is a flat like any other.
    assert len(find(page(stripes(RED, BLACK, BLUE))).flats) == 3


def test_what_is_transparent_is_neither_flat_nor_neighbour() -> None:
    pixels = stripes(RED, GREEN, BLUE)
    alpha = np.full(pixels.shape[:2], 255, dtype=np.uint8)
    alpha[:, 8:16] = 0
    found = find(page(pixels, alpha))
    assert [f.srgb for f in found.flats] == [RED, BLUE]
    assert found.neighbours == ()
    assert found.map[0, 10] >= len(found.flats)


def colours_of(found: Flats) -> set[str]:
    return {flat.colour for flat in found.flats}


@pytest.mark.parametrize(("line", "smooth"), [(0, False), (0, True), (3, False), (3, True)])
def test_the_page_of_the_comic(tmp_path: Path, line: int, smooth: bool) -> None:
    found = read(tmp_path, comic_page.draw(line=line, smooth=smooth))
    assert colours_of(found) == set(comic_page.LABELS)
    pairs = {frozenset(comic_page.LABELS[c] for c in pair) for pair in borders(found)}
    for name in ("Oda's coat", "Oda's skin", "quay", "lamp post", "hull", "gull"):
        assert frozenset((f"{name}, light", f"{name}, shade")) in pairs or name == "gull"
    assert frozenset(("gull", "gull, shade")) in pairs
    assert frozenset(("Oda's coat, light", "hull, light")) not in pairs
    assert (found.smoothed > 0) == smooth


@pytest.mark.parametrize("quality", [80, 95])
def test_specks_of_a_jpeg_are_no_flats(tmp_path: Path, quality: int) -> None:
    """Every colour is found, a step or two off, and nothing besides."""
    found = read(tmp_path, comic_page.draw(2500), "page.jpg", quality=quality)
    assert len(found.flats) == len(comic_page.LABELS)
    known = [bytes.fromhex(colour[1:]) for colour in comic_page.LABELS]
    for flat in found.flats:
        off = min(max(abs(a - b) for a, b in zip(flat.srgb, rgb, strict=True)) for rgb in known)
        assert off <= 3
    assert found.smoothed > 0


def photograph() -> Image.Image:
    """Soft shapes and grain, as a camera sees."""
    image = Image.radial_gradient("L").resize((400, 300)).convert("RGB")
    draw = ImageDraw.Draw(image)
    for i in range(40):
        x, y = i * 37 % 400, i * 53 % 300
        draw.ellipse((x, y, x + 60, y + 40), fill=(i * 6, 255 - i * 5, i * 31 % 256))
    image = image.filter(ImageFilter.GaussianBlur(6))
    noise = np.random.default_rng(1).normal(0, 6, (300, 400, 3))
    return Image.fromarray(np.clip(np.asarray(image) + noise, 0, 255).astype(np.uint8))


def test_a_photograph_is_refused_with_what_would_be_right(tmp_path: Path) -> None:
    path = tmp_path / "harbour.png"
    photograph().save(path)
    with pytest.raises(PictureError, match=r"--flats 24.*`tuimatch pick`") as caught:
        flats.read(path)
    assert str(caught.value).startswith(str(path))
    found = flats.read(path, reduce_to=6)
    assert 2 <= len(found.flats) <= 6
    assert "reduced to 6 colours" in found.notes


def test_as_many_flats_as_a_page_may_have_and_one_more() -> None:
    colours = [(i % 7 * 40, i // 49 * 50, i // 7 % 7 * 40) for i in range(flats.MOST_FLATS + 1)]
    assert len(find(page(stripes(*colours[:-1], width=3, height=3))).flats) == flats.MOST_FLATS
    with pytest.raises(PictureError, match=f"over {flats.MOST_FLATS}"):
        find(page(stripes(*colours, width=3, height=3)))


@pytest.mark.parametrize("size", [(1, 1), (2, 9), (9, 2)])
def test_a_picture_too_small_for_a_square_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(PictureError, match="3 × 3"):
        find(page(np.zeros((*size, 3))))
