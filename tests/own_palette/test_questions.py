"""Making a palette by answers: what each may be, what is refused, and what comes of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from rendered import INK, PAPER, tint
from support import srgb_triples

from tuimatch.errors import PictureError, SwatchError, TargetError, TuimatchError
from tuimatch.own_palette import swatch_list, typed_swatch
from tuimatch.own_palette.questions import Step, Steps
from tuimatch.palette.model import MAX_INKS
from tuimatch.text import has_unsafe


def after(*answers: str) -> Steps:
    steps = Steps()
    for answer in answers:
        steps = steps.answered(answer)
    return steps


@pytest.fixture
def brush(tmp_path: Path) -> Path:
    """A tint of 25 % on the left, paper in the middle, solid on the right."""
    pixels = np.full((200, 600, 3), PAPER, dtype=np.uint8)
    pixels[:, :200] = tint(coverage=0.25, period=11.3, edge="encoded", size=(200, 200))
    pixels[:, 400:] = INK
    Image.fromarray(pixels).save(tmp_path / "my brush.png")
    return tmp_path / "my brush.png"


def test_answers_make_what_the_same_list_makes() -> None:
    steps = after(
        *("#fffdf5", "yellow", "#ffe800", "23.4", "fine dots", "51 %", "", ""),
        *("magenta", "#e4007c", "40", "", "", ""),
    )
    assert (steps.step, steps.question) == (Step.DONE, "")
    listed = swatch_list.parse(
        "ink,srgb,label,share\npaper,#fffdf5\nyellow,#ffe800\nyellow,,fine dots,23.4\n"
        "yellow,,,51\nmagenta,#e4007c\nmagenta,,,40\n",
        file="list",
        stem="own",
        toml=False,
    )
    assert steps.palette(name="own", stem="own") == listed
    assert steps.said == (
        "paper  #fffdf5",
        "yellow solid  #ffe800",
        "yellow 23.4 %  fine dots",
        "yellow 51 %",
        "magenta solid  #e4007c",
        "magenta 40 %",
    )
    assert len(steps.colours) == len(steps.rows) == 6


def test_pictures_answer_too(brush: Path) -> None:
    steps = after(f"{brush} 210,0,150,200", "magenta", f"'{brush}' 420,10,100,100")
    assert steps.colours == (PAPER, INK)
    steps = steps.answered(f'"{brush}" 0,0,200,200')
    assert float(steps.rows[-1].share) == pytest.approx(25, abs=0.5)
    assert " ± 0.2 %" in steps.said[-1]
    assert steps.question.startswith("what you call magenta 2")


SHARES = {"magenta": (INK, [0.2, 0.45]), "blue": ((0, 120, 200), [0.12, 0.6])}


@pytest.fixture
def brushes(tmp_path: Path) -> Path:
    """Two rows of two swatches in a margin of 40."""
    pixels = np.full((480, 480, 3), PAPER, dtype=np.uint8)
    for row, (ink, shares) in enumerate(SHARES.values()):
        for column, share in enumerate(shares):
            y, x = 60 + 200 * row, 60 + 200 * column
            drawn = tint("round", share, 15, 9.7, "encoded", (160, 160), ink=ink)
            pixels[y : y + 160, x : x + 160] = drawn
    Image.fromarray(pixels).save(tmp_path / "all my brushes.png")
    return tmp_path / "all my brushes.png"


@pytest.mark.parametrize("grid", ["2x2", "2×2"])
def test_a_picture_of_all_swatches_answers_for_all_but_the_names(brushes: Path, grid: str) -> None:
    steps = after(f"'{brushes}' 40,40,400,400 {grid}")
    assert steps.step is Step.ROW
    assert steps.question.startswith("name of the ink of row 1, #e4007c at ")
    assert steps.said == ("paper  #fffdf5",)
    for answer, said in (("", "has no name"), ("Paper", "has no name"), ("a" * 41, "at most 40")):
        with pytest.raises(TuimatchError, match=said):
            steps.answered(answer)
    steps = steps.answered("magenta")
    assert steps.question.startswith("name of the ink of row 2, #0078c8 at ")
    with pytest.raises(TuimatchError, match="has the name of another ink"):
        steps.answered("Magenta")
    steps = steps.answered("blue")
    assert steps.step is Step.NEXT_INK
    assert [words.split(" ± ")[0].rsplit(" ", 1)[0] for words in steps.said] == [
        *("paper ", "magenta solid ", "magenta", "magenta", "blue solid ", "blue", "blue")
    ]
    # Another ink may follow by hand.
    made = steps.answered("black").answered("#000000").answered("50").answered("").answered("")
    palette = made.answered("").palette(name="own", stem="own")
    assert [ink.name for ink in palette.inks] == ["magenta", "blue", "black"]
    for ink, (colour, shares) in zip(palette.inks, SHARES.values(), strict=False):
        assert ink.solid == colour
        assert ink.tints == pytest.approx([*(100 * share for share in shares), 100], abs=0.5)


def test_what_is_no_grid_of_swatches_is_refused(brushes: Path, tmp_path: Path) -> None:
    steps = Steps()
    pixels = np.asarray(Image.open(brushes)).copy()
    pixels[240:440, 240:440] = tint("round", 0.4, 15, 9.7, "encoded", (200, 200))
    Image.fromarray(pixels).save(tmp_path / "mixed.png")
    tall = Image.fromarray(
        np.repeat(tint("round", 0.4, size=(200, 200))[None], 7, 0).reshape(-1, 200, 3)
    )
    tall.save(tmp_path / "tall.png")
    for answer, said in (
        (f"{brushes} 40,40,400,400 1x1", "more than two colours"),
        (f"{brushes} 40,40,4000,400 2x2", "is not within it"),
        (f"{tmp_path / 'mixed.png'} 40,40,400,400 2x2", "row 2, column 2: its ink is #e4007c"),
        (f"{tmp_path / 'tall.png'} 7x1", "7 inks; give at most 6 rows"),
        ("lost.png 2x2", "lost.png: cannot be read"),
        ("white 2x2", "is not a colour"),
        (f"{brushes} 0x2", "is not a colour"),
    ):
        with pytest.raises(TuimatchError, match=said):
            steps.answered(answer)


@given(srgb_triples, srgb_triples, st.floats(0, 1))
def test_a_fused_colour_tells_its_share(
    paper: tuple[int, int, int], ink: tuple[int, int, int], share: float
) -> None:
    if max(abs(a - b) for a, b in zip(paper, ink, strict=True)) < 20:
        return
    colour = typed_swatch.fused(share, paper, ink)
    assert typed_swatch.share_of(colour, paper, ink) == pytest.approx(share, abs=1e-6)


def test_fused_is_the_mixture_in_linear_light() -> None:
    """Half black, half white is 187.5 of 255: IEC 61966-2-1 encodes 0.5 as 0.735."""
    assert typed_swatch.fused(0.5, (255, 255, 255), (0, 0, 0)) == pytest.approx(
        [187.5] * 3, abs=0.1
    )


TO_TINT = ("#fffdf5", "magenta", "#e4007c")


@pytest.mark.parametrize(
    ("before", "answer", "said"),
    [
        ((), "burple", "'burple': is not a colour"),
        ((), "", "is not a colour"),
        ((), "lab(50 100 -100)", "lies outside sRGB; give a colour that a screen can show"),
        ((), "lost.png", "lost.png: cannot be read"),
        ((), "{brush}", "is not one flat colour"),
        ((), "{brush} 500,0,200,200", "is not within it"),
        (("white",), "", "has no name"),
        (("white",), "Paper", "has no name"),
        (("white",), "\x1b[2J", "has no name"),
        (("white", "a", "red", "", "b", "blue", ""), "A", "has the name of another ink"),
        (("white",), "x" * 41, "has 41 characters; give at most 40"),
        (TO_TINT, "#00ff00", "is not a mixture of #fffdf5 and #e4007c"),
        (TO_TINT, "101", "share is '101'; give a percent from 1 to 100"),
        (TO_TINT, "0.2", "share is '0.2'"),
        (TO_TINT, "#fffdf5", "share is '0'"),
        (TO_TINT, "{brush} 210,0,100,100", "share is '0'"),
        (TO_TINT, "{brush} 0,0,8,8", "the swatch is 8 × 8 pixels"),
        (("#fffdf5", "a", "#fffdf5"), "#fffdf5", "paper and ink are the same colour"),
        ((*TO_TINT, "40", ""), "40", "magenta 40 % appears twice"),
        ((*TO_TINT, "40"), "\x1b", "holds a control character"),
        ((*TO_TINT, "40", "fine", "50"), "fine", "'fine' appears twice"),
    ],
)
def test_what_is_no_answer_is_refused_and_can_be_answered_again(
    before: tuple[str, ...], answer: str, said: str, brush: Path
) -> None:
    steps = after(*before)
    with pytest.raises(TuimatchError) as caught:
        steps.answered(answer.format(brush=brush))
    assert said in str(caught.value)
    assert str(caught.value).isprintable()


def test_a_transparent_swatch_is_refused(tmp_path: Path) -> None:
    Image.new("RGBA", (60, 60), (200, 10, 10, 90)).save(tmp_path / "a.png")
    with pytest.raises(SwatchError, match="transparent"):
        typed_swatch.solid(str(tmp_path / "a.png"))


def test_boxes_and_colours_and_pictures_are_told_apart() -> None:
    assert typed_swatch.box("1,2,30,40") == (1, 2, 30, 40)
    for text in ("1,2,3", "1, 2,3,4", "-1,2,3,4", "1,2,3,4,5", "a", "", "1" * 9 + ",1,1,1"):
        with pytest.raises(SwatchError, match="is not a box"):
            typed_swatch.box(text)
    with pytest.raises(PictureError):
        typed_swatch.solid("no such.JPG 0,0,1,1")
    with pytest.raises(TargetError):
        typed_swatch.solid("no such.doc 0,0,1,1")


def test_there_are_only_so_many_inks() -> None:
    answers = ["white"]
    for i in range(MAX_INKS):
        answers += [f"ink {i}", f"rgb({10 * i} 0 0)", ""]
    assert after(*answers[:-1]).step is Step.TINT
    assert after(*answers).step is Step.DONE


@given(st.lists(st.one_of(st.text(max_size=12), st.sampled_from(["white", "#e4007c", "50", ""]))))
def test_any_answers_are_taken_or_refused_in_one_line(answers: list[str]) -> None:
    steps = Steps()
    for answer in answers:
        try:
            steps = steps.answered(answer)
        except TuimatchError as error:
            assert not has_unsafe(str(error))
    assert not has_unsafe(steps.question)
    assert not has_unsafe("".join(steps.said))
