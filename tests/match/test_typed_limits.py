import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.errors import NarrowingError
from tuimatch.match.limits import Narrowing
from tuimatch.match.typed_limits import read
from tuimatch.palette import file as palette_file
from tuimatch.text import has_unsafe

NEWSPRINT = palette_file.load("newsprint-quarters")
ZINE = palette_file.load("zine-two-inks")


def test_without_options_the_coverage_limit_of_the_palette_is_on():
    assert read(NEWSPRINT) == Narrowing(max_coverage=240)
    assert read(ZINE) == Narrowing()


def test_every_option():
    assert read(
        NEWSPRINT,
        without=["Cyan"],
        fixed=["m=50", "yellow = 25%"],
        max_inks="2",
        max_coverage="200",
    ) == Narrowing(
        max_inks=2,
        without=frozenset({2}),
        fixed=frozenset({(1, 50.0), (0, 25.0)}),
        max_coverage=200,
    )


@pytest.mark.parametrize("text", ["none", "None", " none "])
def test_the_coverage_limit_can_be_lifted(text):
    assert read(NEWSPRINT, max_coverage=text) == Narrowing()


@pytest.mark.parametrize("text", ["coral=brick", "coral=BRICK", "R=60", "coral=60 %"])
def test_a_tint_can_be_given_by_its_label(text):
    assert read(ZINE, fixed=[text]) == Narrowing(fixed=frozenset({(0, 60.0)}))


def test_an_ink_can_be_fixed_at_none():
    assert read(ZINE, fixed=["coral=0"]) == Narrowing(fixed=frozenset({(0, 0.0)}))


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            {"without": ["purple"]},
            "--without purple: newsprint-quarters has no such ink; give yellow, magenta, cyan",
        ),
        (
            {"fixed": ["purple=50"]},
            "--with purple=50: newsprint-quarters has no such ink; give yellow, magenta, cyan",
        ),
        ({"fixed": ["magenta"]}, "--with magenta: give INK=TINT, such as yellow=25"),
        (
            {"fixed": ["magenta=33"]},
            "--with magenta=33: magenta has no such tint; give 0, 25, 50, 75, 100",
        ),
        (
            {"fixed": ["magenta=nan"]},
            "--with magenta=nan: magenta has no such tint; give 0, 25, 50, 75, 100",
        ),
        (
            {"fixed": ["magenta=50"], "without": ["m"]},
            "--with magenta=50: magenta is left out by --without; give one of them",
        ),
        (
            {"fixed": ["magenta=50", "magenta=25"]},
            "--with magenta=25: magenta is fixed at 50 % already; give each ink one tint",
        ),
        ({"max_inks": "1.5"}, "--max-inks 1.5: is not a valid number; give a whole number up to 3"),
        ({"max_inks": "-1"}, "--max-inks -1: is not a valid number; give a whole number up to 3"),
        ({"max_inks": "inf"}, "--max-inks inf: is not a valid number; give a whole number up to 3"),
        (
            {"max_coverage": "much"},
            "--max-coverage much: is not a percentage; give a number such as 240, or none",
        ),
        (
            {"max_coverage": "-5"},
            "--max-coverage -5: is not a percentage; give a number such as 240, or none",
        ),
        (
            {"without": ["\x1b[31m"]},
            r"--without \x1b[31m: newsprint-quarters has no such ink; give yellow, magenta, cyan",
        ),
    ],
)
def test_a_wrong_limit_is_refused_in_one_line(options, message):
    with pytest.raises(NarrowingError) as refused:
        read(NEWSPRINT, **options)
    assert str(refused.value) == message


@given(st.text(), st.text(), st.text(), st.text())
def test_any_text_is_read_or_refused(without, fixed, max_inks, max_coverage):
    for options in (
        {"without": [without]},
        {"fixed": [fixed]},
        {"fixed": [f"magenta={fixed}"]},
        {"max_inks": max_inks},
        {"max_coverage": max_coverage},
    ):
        try:
            read(NEWSPRINT, **options)
        except NarrowingError as error:
            refused = str(error)
        else:
            refused = ""
        assert not has_unsafe(refused)


def test_a_wrong_limit_does_not_wait_for_colour_science():
    code = "import sys, tuimatch.match.typed_limits; sys.exit('colour' in sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True)
