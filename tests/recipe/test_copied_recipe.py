from dataclasses import replace
from functools import cache

import pytest

from tuimatch.palette import file as palette_file
from tuimatch.recipe.copied_recipe import Wording, after, word, wordings
from tuimatch.recipe.recipes import mix


@cache
def mixed(name):
    return mix(palette_file.load(name))


@pytest.mark.parametrize(
    ("name", "tints", "wording", "expected"),
    [
        ("screen-quarters", (100, 50, 0), Wording.PERCENTAGES, "yellow 100 %, magenta 50 %"),
        ("screen-quarters", (100, 0, 0), Wording.HEX, "#ffe600"),  # #ffe800 times #fffdf5
        ("screen-quarters", (0, 0, 0), Wording.HEX, "#fffdf5"),
        # CSS Color 5: device-cmyk( <cmyk-component>{4} ), cyan, magenta, yellow, black.
        ("screen-quarters", (100, 50, 0), Wording.DEVICE_CMYK, "device-cmyk(0% 50% 100% 0%)"),
        ("coated-tenths", (10, 20, 30, 40), Wording.DEVICE_CMYK, "device-cmyk(30% 20% 10% 40%)"),
        ("zine-two-inks", (60, 20), Wording.LABELS, "coral: brick, harbour blue: haze"),
        ("zine-two-inks", (0, 100), Wording.LABELS, "harbour blue: full harbour"),
        ("zine-two-inks", (0, 0), Wording.LABELS, "bare paper"),
    ],
)
def test_a_recipe_in_each_wording(name, tints, wording, expected):
    recipes = mixed(name)
    assert word(recipes, recipes.row_of(tints), wording) == expected


def test_an_ink_without_labels_is_worded_in_percent():
    palette = mixed("zine-two-inks").palette
    coral, blue = palette.inks
    recipes = mix(replace(palette, inks=(replace(coral, labels=()), blue)))
    text = word(recipes, recipes.row_of((60, 20)), Wording.LABELS)
    assert text == "coral 60 %, harbour blue: haze"


def test_only_wordings_that_say_something_are_offered():
    process, spot = (palette_file.load(n) for n in ("screen-quarters", "zine-two-inks"))
    assert wordings(process) == (Wording.PERCENTAGES, Wording.HEX, Wording.DEVICE_CMYK)
    assert wordings(spot) == (Wording.PERCENTAGES, Wording.LABELS, Wording.HEX)


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_the_cycle_visits_every_wording_and_comes_back(name):
    palette = palette_file.load(name)
    seen = [Wording.PERCENTAGES]
    while (following := after(seen[-1], palette)) is not seen[0]:
        seen.append(following)
    assert tuple(seen) == wordings(palette)


def test_a_wording_the_new_palette_lacks_gives_way_to_percentages():
    spot = palette_file.load("zine-two-inks")
    assert after(Wording.DEVICE_CMYK, spot) is Wording.PERCENTAGES
