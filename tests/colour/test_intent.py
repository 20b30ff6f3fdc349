"""A colour taken as on a paper: against colour-science, and against ISO 18619 worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import lab_triples

from tuimatch.colour import target
from tuimatch.colour.colorimetry import D50, lab_to_xyz, xyz_to_lab
from tuimatch.colour.intent import Intent, adapted, usual
from tuimatch.match.answer import Question, known, match
from tuimatch.match.asked import meant, of_recipe
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

NEWSPRINT = mix(palette_file.load("newsprint-quarters"))
PAPER, DARKEST = NEWSPRINT.xyz[0], NEWSPRINT.xyz[NEWSPRINT.darkest]


@given(lab_triples)
def test_relative_is_scaling_by_the_two_whites(lab: tuple[float, float, float]) -> None:
    """The same as colour-science's von Kries adaptation in XYZ itself ("XYZ Scaling")."""
    from tuimatch.colour.colorimetry import colour  # loaded without its warnings

    matrix = colour.adaptation.matrix_chromatic_adaptation_VonKries(D50, PAPER, "XYZ Scaling")
    expected = xyz_to_lab(lab_to_xyz(lab) @ matrix.T)
    assert adapted(lab, Intent.RELATIVE, PAPER, DARKEST) == pytest.approx(expected, abs=1e-9)


@given(lab_triples)
def test_absolute_is_the_colour_itself(lab: tuple[float, float, float]) -> None:
    assert adapted(lab, Intent.ABSOLUTE, PAPER, DARKEST) == lab


def test_black_point_compensation_worked_by_hand() -> None:
    """ISO 18619: XYZ' = a · XYZ + (1 - a) · white, a = (1 - Y_dst) / (1 - Y_src), with Y_src = 0.

    On a white paper, XYZ = D50, with a black of Y = 0.1: a = 0.9. Mid grey of Y = 0.2, by hand:
    X = 0.9 · 0.19284 + 0.1 · 0.9642 = 0.269976, Y = 0.9 · 0.2 + 0.1 = 0.28,
    Z = 0.9 · 0.16498 + 0.1 · 0.8249 = 0.230972.
    """
    grey = tuple(xyz_to_lab(0.2 * D50).tolist())
    black = np.array([0.09, 0.1, 0.08])
    found = lab_to_xyz(adapted(grey, Intent.RELATIVE_BLACK, D50, black))
    assert found == pytest.approx([0.269976, 0.28, 0.230972], abs=1e-9)
    # The same on a grey paper of Y = 0.5 whose black has Y = 0.05: a tenth of the paper again.
    found = lab_to_xyz(adapted(grey, Intent.RELATIVE_BLACK, 0.5 * D50, 0.5 * black))
    assert found == pytest.approx([0.134988, 0.14, 0.115486], abs=1e-9)


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_white_becomes_paper_and_black_as_dark_as_the_darkest_recipe(name: str) -> None:
    mixed = mix(palette_file.load(name))
    white, black = target.parse("white"), target.parse("black")
    for intent in (Intent.RELATIVE, Intent.RELATIVE_BLACK):
        assert meant(mixed, white, intent).lab == pytest.approx(mixed.lab[0], abs=1e-9)
    offered = mixed.coverage <= (mixed.palette.coverage_limit or np.inf)
    darkest = mixed.lab[offered, 0].min()
    assert meant(mixed, black, Intent.RELATIVE_BLACK).lab[0] == pytest.approx(darkest, abs=1e-9)
    assert meant(mixed, black, Intent.RELATIVE).lab[0] == pytest.approx(0, abs=1e-9)
    # Black is as grey as its paper: scaled along the white, no hue of its own.
    found = lab_to_xyz(meant(mixed, black, Intent.RELATIVE_BLACK).lab)
    assert found == pytest.approx(mixed.xyz[0] * found[1] / mixed.xyz[0, 1], abs=1e-9)


@given(st.floats(0, 100), st.floats(0, 100))
def test_what_is_lighter_stays_lighter(one: float, other: float) -> None:
    for intent in Intent:
        first, second = (adapted((x, 0.0, 0.0), intent, PAPER, DARKEST)[0] for x in (one, other))
        assert (first - second) * (one - other) >= -1e-9


def test_measured_palettes_take_a_colour_as_on_their_paper_and_screens_as_it_is() -> None:
    for name in palette_file.shipped_names():
        palette = palette_file.load(name)
        expected = Intent.RELATIVE_BLACK if palette.kind == "measured" else Intent.ABSOLUTE
        assert usual(palette) is expected
        mixed = mix(palette)
        answer = match(mixed, Question(target.parse("#d9803f")), known(mixed))
        assert answer.intent is expected
        assert answer.question.target.lab == target.parse("#d9803f").lab
        assert answer.meant.text == "#d9803f"


def test_a_recipe_is_a_colour_on_paper_already_unless_it_is_taken_otherwise() -> None:
    row = NEWSPRINT.row_of((100.0, 50.0, 0.0))
    assert row is not None
    question = Question(of_recipe(NEWSPRINT, row, "yellow 100, magenta 50"))
    answer = match(NEWSPRINT, question, known(NEWSPRINT))
    assert answer.intent is Intent.ABSOLUTE
    assert answer.ranking.candidate(0).row == row
    assert answer.ranking.candidate(0).delta_e == 0
    other = match(NEWSPRINT, question.taken(Intent.RELATIVE), known(NEWSPRINT))
    assert other.intent is Intent.RELATIVE
    assert other.meant.lab != question.target.lab
    assert {Intent.ABSOLUTE.following, Intent.RELATIVE.following} == {
        Intent.RELATIVE,
        Intent.RELATIVE_BLACK,
    }
    assert Intent.RELATIVE_BLACK.following is Intent.ABSOLUTE


def test_a_paper_without_light_takes_everything_as_itself() -> None:
    black = np.zeros(3)
    assert adapted((50, 10, 10), Intent.RELATIVE_BLACK, black, black)[0] == pytest.approx(0)
