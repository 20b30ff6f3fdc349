"""How far off a palette's colours may be, by what was measured for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.palette.uncertainty import in_words, next_mixtures, uncertainty


@pytest.fixture
def newsprint() -> Palette:
    return replace(palette_file.load("newsprint-quarters"), mixtures=())


def measured_next(palette: Palette) -> Palette:
    """With the mixtures that the palette names measured."""
    following = next_mixtures(palette)
    assert following is not None
    least, mixtures = following
    more = replace(
        palette, mixtures=(*palette.mixtures, *((tints, (50.0, 0.0, 0.0)) for tints in mixtures))
    )
    assert uncertainty(more) == least
    return more


def test_each_set_of_swatches_brings_the_next_figure(newsprint: Palette) -> None:
    figures, palette = [uncertainty(newsprint)], newsprint
    while next_mixtures(palette) is not None:
        palette = measured_next(palette)
        figures.append(uncertainty(palette))
    assert figures == [2, 1.6, 1.4, 1.3]
    # Yellow, magenta, cyan: the first one, then three more, then five more.
    assert palette.mixtures[0][0] == (50, 50, 50)
    assert {tints for tints, _ in palette.mixtures[1:4]} == {
        (50, 50, 0),
        (100, 0, 50),
        (50, 100, 50),
    }
    assert len(palette.mixtures) == 9


def test_what_is_missing_altogether_counts_first(newsprint: Palette) -> None:
    assert uncertainty(replace(newsprint, overprints=newsprint.overprints[1:])) == 10
    gain = replace(newsprint, inks=tuple(replace(ink, measured=()) for ink in newsprint.inks))
    assert uncertainty(gain) == 3
    assert next_mixtures(gain) is None


def test_a_whole_chart_is_half_a_delta_e(newsprint: Palette) -> None:
    many = tuple(((1.0 + i / 10, 50.0, 0.0), (50.0, 0.0, 0.0)) for i in range(200))
    assert uncertainty(replace(newsprint, mixtures=many)) == 0.5
    assert uncertainty(replace(newsprint, mixtures=many[1:])) == 2


def test_a_ladder_without_a_half_uses_its_nearest_tint(newsprint: Palette) -> None:
    thirds = replace(
        newsprint, inks=tuple(replace(ink, tints=(35.0, 70.0, 100.0)) for ink in newsprint.inks)
    )
    assert next_mixtures(thirds) == (1.6, ((35, 35, 35),))
    measured_next(thirds)


def test_the_shipped_palettes_have_the_four_mixtures() -> None:
    found = {name: uncertainty(palette_file.load(name)) for name in palette_file.shipped_names()}
    assert found == {
        "screen-quarters": None,
        "zine-two-inks": None,
        "newsprint-quarters": 1.4,
        "newsprint-sixty-four": 1.4,
        "coated-tenths": 1.4,
    }


def test_it_stands_beside_the_name(newsprint: Palette) -> None:
    assert in_words(newsprint) == ", prints within ΔE 2"
    assert (
        in_words(replace(newsprint, overprints=())) == ", overprints estimated, prints within ΔE 10"
    )
    assert in_words(palette_file.load("screen-quarters")) == ""


def test_other_inks_have_no_set_of_swatches(newsprint: Palette) -> None:
    other = replace(newsprint, inks=(*newsprint.inks[:2], replace(newsprint.inks[2], name="teal")))
    assert uncertainty(other) == 2
    assert next_mixtures(other) is None
