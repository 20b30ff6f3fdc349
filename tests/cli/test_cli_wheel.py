"""`tuimatch wheel`."""

from __future__ import annotations

import pytest
from command import in_terminal

from tuimatch.match.wheel import wheel
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

KEYS = ["hue", "recipe", "tints", "chroma", "off", "clean", "nearest", "build_up"]


@pytest.mark.parametrize("palette", ["newsprint-quarters", "zine-two-inks"])
def test_json_has_a_line_for_each_hue(cli, palette):
    recipes = mix(palette_file.load(palette))
    found = cli.lines("wheel", "--json", "--palette", palette)
    assert [hue["hue"] for hue in found] == [30.0 * i for i in range(12)]
    for said, hue in zip(found, wheel(recipes), strict=True):
        assert list(said) == KEYS
        assert said["clean"] == hue.clean
        assert said["chroma"] == pytest.approx(hue.chroma)
        if hue.row is None:
            assert (said["recipe"], said["tints"], said["build_up"]) == (None, None, [])
        else:
            tints = recipes.tints_of(hue.row)
            assert said["recipe"] == recipes.palette.recipe_text(tints)
            assert list(said["tints"].values()) == list(tints)
            laid = [tint for tint in tints if tint]
            assert [step["tint"] for step in said["build_up"]] == laid
            done = said["build_up"][-1]
            assert done["srgb"] == "#{:02x}{:02x}{:02x}".format(*recipes.rgb_of(hue.row))
            assert done["lab"] == pytest.approx(recipes.lab[hue.row].tolist())
        assert said["nearest"]["away"] == pytest.approx(hue.away)


def test_words_show_the_colour_after_each_ink_and_what_is_not_clean(cli):
    said = cli("wheel", "--palette", "newsprint-quarters", "--hues", "24").splitlines()
    assert said[0] == "Newsprint, quarter tints: 23 of 24 hues clean (two inks at most)"
    assert said[3] == (
        "   30° red           vividness  46.4    2° off  "
        "yellow 100 % #ccbe53 → magenta 100 % #bd5a56"
    )
    assert said[16] == (
        "                     not clean, the third ink greys it; "
        "the nearest clean hue is 7° off: cyan 25 %"
    )
    assert len(said) == 26
    zine = cli("wheel", "--palette", "zine-two-inks", "--hues", "4").splitlines()
    assert zine[3].startswith(
        "  180° green         not clean, no recipe comes near it; the nearest "
    )


@pytest.mark.parametrize("hues", ["0", "73", "-1", "1.5", "many", ""])
def test_a_number_that_is_none_is_refused(cli, hues):
    said = cli.refuses("wheel", f"--hues={hues}")
    assert repr(hues) in said
    assert "from 1 to 72" in said


def test_a_coverage_limit_of_the_palette_holds(cli):
    text = (palette_file.shipped_folder() / "newsprint-quarters.toml").read_text()
    bare = "\n".join(line for line in text.splitlines() if "coverage_limit" not in line)
    (cli.folder / "mine.toml").write_text("coverage_limit = 100\n" + bare)
    found = cli.lines("wheel", "--json", "--palette", "mine.toml")
    assert max(sum(hue["tints"].values()) for hue in found if hue["tints"]) <= 100
    (cli.folder / "mine.toml").write_text(bare)
    found = cli.lines("wheel", "--json", "--palette", "mine.toml")
    assert max(sum(hue["tints"].values()) for hue in found if hue["tints"]) > 100


def test_a_terminal_gets_a_swatch_after_each_ink(cli):
    said = in_terminal(cli, "wheel", "--palette", "newsprint-quarters").splitlines()
    yellow, red = "\x1b[48;2;204;190;83m    \x1b[0m ", "\x1b[48;2;189;90;86m    \x1b[0m "
    assert f"{yellow}yellow 100 % #ccbe53 → {red}magenta 100 % #bd5a56" in said[2]
    assert "\x1b" not in in_terminal(cli, "wheel", NO_COLOR="1")
    assert "\x1b" not in cli("wheel")
