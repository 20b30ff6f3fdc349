import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.colour.difference_words import NEUTRAL_CHROMA, hue_name
from tuimatch.errors import UsageError
from tuimatch.match.wheel import CLEAN_CHROMA, MOST_HUES, wheel
from tuimatch.palette import file as palette_file
from tuimatch.recipe import recipes

TABLES = {
    name: recipes.mix(palette_file.load(name))
    for name in ("newsprint-quarters", "screen-quarters", "zine-two-inks")
}
ZINE = TABLES["zine-two-inks"]
stems = st.sampled_from(list(TABLES))
counts = st.integers(1, MOST_HUES)


def polar(table, row):
    _, a, b = table.lab[row]
    return np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360


def apart(one, two):
    return abs((one - two + 180) % 360 - 180)


def test_angles_are_equal_steps_from_zero():
    assert [hue.angle for hue in wheel(ZINE, 12)] == [30.0 * i for i in range(12)]


@given(stems, counts)
def test_the_most_chroma_that_holds_the_hue_is_taken(stem, hues):
    table = TABLES[stem]
    within = 180 / hues
    for hue in wheel(table, hues):
        holding = [
            polar(table, row)[0]
            for row in range(1, len(table))
            if apart(polar(table, row)[1], hue.angle) <= within
            and polar(table, row)[0] > NEUTRAL_CHROMA
        ]
        if hue.row is None:
            assert not holding
        else:
            assert hue.chroma == pytest.approx(max(holding))
            assert hue.chroma == pytest.approx(polar(table, hue.row)[0])
            assert (hue.angle + hue.off) % 360 == pytest.approx(polar(table, hue.row)[1])
            assert abs(hue.off) <= within + 1e-9


@given(stems, counts)
def test_the_nearest_clean_recipe_is_named_for_each_hue(stem, hues):
    table = TABLES[stem]
    clean = [
        row
        for row in range(1, len(table))
        if table.inks[row] <= 2 and polar(table, row)[0] >= CLEAN_CHROMA
    ]
    for hue in wheel(table, hues):
        assert hue.clean == (hue.row in clean)
        assert hue.nearest in clean
        if hue.clean:
            assert (hue.nearest, hue.away) == (hue.row, hue.off)
        else:
            nearest = min(apart(polar(table, row)[1], hue.angle) for row in clean)
            assert abs(hue.away) == pytest.approx(nearest)


def test_two_inks_leave_the_hues_between_them_empty():
    # Coral and blue: no mixture of the two is green.
    empty = [hue.angle for hue in wheel(ZINE, 12) if hue.row is None]
    assert {120.0, 150.0, 180.0, 210.0} <= set(empty)
    green = wheel(ZINE, 12)[5]
    assert not green.clean
    assert abs(green.away) > 30
    assert green.steps == ()


def test_a_third_ink_is_not_clean():
    hues = wheel(TABLES["newsprint-quarters"], 36)
    dull = [hue for hue in hues if not hue.clean and hue.row is not None]
    assert dull
    assert all(TABLES["newsprint-quarters"].inks[hue.row] == 3 for hue in dull)


def test_solid_inks_hold_their_own_hues():
    table = TABLES["newsprint-quarters"]
    magenta = wheel(table, 12)[0]
    assert table.tints_of(magenta.row) == (0.0, 100.0, 0.0)
    assert [step.name for step in magenta.steps] == ["magenta"]


@given(stems, counts)
def test_the_most_vivid_recipe_of_all_is_on_the_wheel(stem, hues):
    table = TABLES[stem]
    most = max(range(1, len(table)), key=lambda row: polar(table, row)[0])
    assert most in [hue.row for hue in wheel(table, hues)]


def test_the_vivid_green_of_the_default_inks_is_on_the_wheel():
    table = TABLES["screen-quarters"]
    held = {table.tints_of(hue.row): hue for hue in wheel(table, 12) if hue.row is not None}
    green = held[(100.0, 0.0, 100.0)]
    assert hue_name(green.angle + green.off) == "green"


def test_the_build_up_ends_at_the_recipe():
    for hue in wheel(TABLES["screen-quarters"], 12):
        if hue.row is not None:
            assert hue.steps[-1].row == hue.row


def test_limits_are_kept():
    table = TABLES["newsprint-quarters"]
    allowed = table.coverage <= 50
    held = [hue.row for hue in wheel(table, 12, allowed=allowed) if hue.row is not None]
    assert held
    assert allowed[held].all()


def test_a_set_that_may_use_nothing_holds_nothing():
    for hue in wheel(ZINE, 4, allowed=np.zeros(len(ZINE), dtype=bool)):
        assert (hue.row, hue.nearest, hue.clean, hue.off, hue.away) == (None, None, False, 0, 0)


@pytest.mark.parametrize("hues", [0, -3, MOST_HUES + 1])
def test_a_count_that_makes_no_wheel_is_refused(hues):
    with pytest.raises(UsageError, match="give a whole number from 1 to 72"):
        wheel(ZINE, hues)
