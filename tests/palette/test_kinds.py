"""A kind of palette is one value: adding one makes files of it readable, mixed and judged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tuimatch.colour import intent
from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.kinds import KINDS, MEASURED, SCREEN
from tuimatch.palette.uncertainty import uncertainty
from tuimatch.recipe.recipes import mix


def test_a_new_kind_is_one_new_value(monkeypatch: pytest.MonkeyPatch) -> None:
    """Marker pens on paper: sRGB from a photograph, light that spreads in the paper."""
    pens = replace(SCREEN, name="pens", n=2.0, n_of_gain=2.0, fused=("eye",), keys=())
    monkeypatch.setitem(KINDS, "pens", pens)
    text = palette_file.to_toml(palette_file.load("screen-quarters")).replace('"screen"', '"pens"')
    palette = palette_file.parse(text, file="a.toml", stem="a")
    assert palette_file.to_toml(palette) == text
    assert palette.n == 2
    screen = mix(palette_file.load("screen-quarters"))
    recipes = mix(palette)
    np.testing.assert_allclose(recipes.xyz[0], screen.xyz[0], atol=1e-12)
    assert (recipes.xyz[:, 1] <= screen.xyz[:, 1] + 1e-12).all()  # the gain of the paper darkens
    assert intent.usual(palette) is intent.Intent.ABSOLUTE
    assert uncertainty(palette) is None
    with pytest.raises(PaletteError, match='fused: does not go with kind = "pens"'):
        palette_file.parse('fused = "eye"\n' + text, file="a.toml", stem="a")


def test_a_kind_that_is_not_known_is_told_which_are() -> None:
    with pytest.raises(PaletteError, match='kind: is \'pens\'; give "measured" or "screen"'):
        palette_file.parse('kind = "pens"', file="a.toml", stem="a")


def test_the_two_kinds_take_a_target_as_the_standards_have_it() -> None:
    assert (MEASURED.intent, SCREEN.intent) == ("relative-black", "absolute")
