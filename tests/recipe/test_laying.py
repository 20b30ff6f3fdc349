import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.palette import file as palette_file
from tuimatch.recipe import laying, recipes

TABLE = recipes.mix(palette_file.load("newsprint-quarters"))
COATED = recipes.mix(palette_file.load("coated-tenths"))
SCREEN = recipes.mix(palette_file.load("screen-quarters"))
ZINE = recipes.mix(palette_file.load("zine-two-inks"))


def of(table, *tints):
    return laying.laying(table, table.row_of(tints))


def test_inks_come_in_laying_order_and_only_those_taken():
    assert [(s.name, s.symbol, s.tint) for s in of(TABLE, 100.0, 0.0, 25.0).steps] == [
        ("yellow", "Y", 100.0),
        ("cyan", "C", 25.0),
    ]


def test_the_artists_label_is_with_each_step():
    assert [s.label for s in of(ZINE, 60.0, 40.0).steps] == ["brick", "drizzle"]


def test_the_colour_after_a_solid_is_the_measured_one():
    # The palette's own measurements: solid yellow, and magenta over it.
    first, second = of(TABLE, 100.0, 100.0, 0.0).steps
    assert first.lab == pytest.approx((76.52, -4.10, 54.38), abs=0.05)
    assert second.lab == pytest.approx((50.91, 40.81, 22.09), abs=0.05)


def test_a_solid_on_a_screen_is_multiplied_with_the_paper():
    # Magenta #e4007c times the paper #fffdf5: 228, 0, 124 x 245 / 255.
    (magenta,) = of(SCREEN, 0.0, 100.0, 0.0).steps
    assert magenta.srgb == (228, 0, 119)


@given(st.sampled_from([TABLE, COATED]), st.data())
def test_each_step_adds_its_ink_to_the_one_before_until_the_recipe_is_there(table, data):
    row = data.draw(st.integers(0, len(table) - 1))
    before, steps = np.zeros(len(table.palette.inks)), laying.steps(table, row)
    for step in steps:
        before[step.ink] = step.tint
        assert np.array_equal(table.tints[step.row], before)
        assert np.array_equal(step.lab, table.lab[step.row])
        assert step.srgb == table.rgb_of(step.row)
        assert step.clipped == table.clipped[step.row]
    assert len(steps) == table.inks[row]
    assert [step.row for step in steps[-1:]] == [row] * bool(row)


def test_the_next_ink_is_the_first_that_is_not_laid_in_whatever_order_they_are():
    row = TABLE.row_of((100.0, 50.0, 25.0))
    for laid, following in (((), "yellow"), (("magenta",), "yellow"), (("yellow",), "magenta")):
        assert laying.laying(TABLE, row, laid).next.name == following
    whole = laying.laying(TABLE, row, ("cyan", "yellow", "magenta", "an ink it has not"))
    assert whole.done and whole.next is None and len(whole.laid) == 3
    assert whole.srgb == TABLE.rgb_of(row)


@given(st.sampled_from([TABLE, COATED]), st.data())
def test_what_is_seen_is_what_is_laid_and_then_that_with_the_next_ink(table, data):
    row = data.draw(st.integers(0, len(table) - 1))
    inks = [ink.name for ink in table.palette.inks]
    laid = data.draw(st.sets(st.sampled_from(inks)))
    state = laying.laying(table, row, laid)

    def rgb(there):
        tints = zip(inks, table.tints_of(row), strict=True)
        return table.rgb_of(table.row_of(tuple(t if ink in there else 0.0 for ink, t in tints)))

    assert state.srgb == rgb(laid)
    if state.next is not None:
        assert state.next.srgb == rgb(laid | {state.next.name})
        assert state.steps[-1].srgb == rgb(inks) or state.steps[-1].name in laid


def test_bare_paper_is_done_at_once():
    state = of(TABLE, 0.0, 0.0, 0.0)
    assert state.done
    assert state.next is None


def test_the_canvas_is_the_multiply_blend_of_the_screen_colours():
    """W3C Compositing and Blending Level 1, "multiply", of the inks as the program has them."""
    yellow, red = of(TABLE, 100.0, 100.0, 0.0).steps
    assert TABLE.canvas_rgb((0.0, 0.0, 0.0)) == (255, 255, 255)
    assert yellow.canvas == (0xFF, 0xE8, 0x00)
    assert red.canvas == (0xE4, 0, 0)  # #ffe800 x #e4007c
    assert red.srgb != red.canvas


def test_half_a_tint_on_the_canvas_is_half_its_light_whatever_the_press_gains():
    # The mean in linear light of white and #009ee0: IEC 61966-2-1 worked by hand.
    (cyan,) = of(TABLE, 0.0, 0.0, 50.0).steps
    expected = []
    for channel in (0x00, 0x9E, 0xE0):
        c = channel / 255
        linear = c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        mean = (1 + linear) / 2
        expected.append(round(255 * (1.055 * mean ** (1 / 2.4) - 0.055)))
    assert cyan.canvas == tuple(expected)


def test_a_screen_palette_has_no_canvas_but_itself():
    assert SCREEN.canvas is None
    assert all(step.canvas is None for step in of(SCREEN, 50.0, 50.0, 50.0).steps)
