"""A recipe as people and the program itself write it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.errors import TargetError
from tuimatch.palette import file as palette_file
from tuimatch.palette.file import shipped_names
from tuimatch.palette.model import Palette
from tuimatch.recipe import recipes, typed_recipe
from tuimatch.recipe.copied_recipe import Wording, word

QUARTERS = palette_file.load("screen-quarters")
ZINE = palette_file.load("zine-two-inks")
MIXED = {name: recipes.mix(palette_file.load(name)) for name in shipped_names()}


@pytest.mark.parametrize(
    ("text", "tints"),
    [
        ("yellow 100 %, magenta 50 %", (100, 50, 0)),
        ("Magenta 50, YELLOW 100%", (100, 50, 0)),
        ("  y 25,\n c 75 ", (25, 0, 75)),
        ("cyan: 25 %", (0, 0, 25)),
        ("cyan=0", (0, 0, 0)),
        ("Bare paper", (0, 0, 0)),
    ],
)
def test_recipes(text: str, tints: tuple[float, ...]) -> None:
    assert typed_recipe.read(QUARTERS, text) == tints


@pytest.mark.parametrize(
    "text",
    [
        "",
        "yellow",
        "yellow, magenta 50",
        "tomato",
        "#d9803f",
        "black 50",
        "yellow green 5",
        ",",
    ],
)
def test_what_is_no_list_of_inks_may_be_a_colour(text: str) -> None:
    assert typed_recipe.read(QUARTERS, text) is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("yellow 33", "yellow has no tint 33; give 0, 25, 50, 75, 100"),
        ("yellow 25, Y 50", "has yellow twice; give each ink one tint"),
    ],
)
def test_a_recipe_that_cannot_be_laid_is_refused(text: str, says: str) -> None:
    with pytest.raises(TargetError, match=says):
        typed_recipe.read(QUARTERS, text)


@given(st.sampled_from(shipped_names()), st.integers(0), st.sampled_from(Wording))
def test_what_is_copied_reads_back(name: str, row: int, wording: Wording) -> None:
    mixed = MIXED[name]
    row %= len(mixed)
    if wording in (Wording.PERCENTAGES, Wording.LABELS):
        text = word(mixed, row, wording)
        assert typed_recipe.read(mixed.palette, text) == mixed.tints_of(row)


@given(st.text("yellowmagent cy:=,%0159."))
def test_any_text_is_a_recipe_none_or_refused(text: str) -> None:
    try:
        found = typed_recipe.read(QUARTERS, text)
    except TargetError as error:
        assert str(error).isprintable()
    else:
        assert found is None or MIXED["screen-quarters"].row_of(found) is not None


def test_a_megabyte_is_not_gone_through_name_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    looked_at: list[str] = []
    monkeypatch.setattr(Palette, "ink_position", lambda _, name: looked_at.append(name))
    assert typed_recipe.read(QUARTERS, "#ffffff x " * 100_000) is None
    assert len(looked_at) < 10_000
