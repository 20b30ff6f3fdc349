"""What is wrong in a palette file, and the one line it gets: file, key, what would be right."""

import itertools
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import MEASURED, SCREEN

from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import MAX_RECIPES

PAPER = '[paper]\nname = "white"\nsrgb = "#ffffff"\n'


def refusal(path: Path, content: str | bytes) -> str:
    """The one line that a file gets."""
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    with pytest.raises(PaletteError) as caught:
        palette_file.read(path)
    line = str(caught.value)
    assert line.splitlines() == [line]
    assert line.isprintable()
    assert line.startswith(f"{path}: ")
    assert len(line) < len(str(path)) + 400
    return line.removeprefix(f"{path}: ")


def changed(text: str, old: str, new: str) -> str:
    assert text.count(old) >= 1, f"{old!r} is not in the file to change"
    return text.replace(old, new, 1)


def test_the_files_that_the_refusals_start_from_are_correct() -> None:
    sheet = palette_file.parse(MEASURED, file="f", stem="sheet")
    assert sheet.recipe_count == 12
    assert sheet.inks[0].measured == ((25.0, (78.57, -2.60, 22.57)),)
    assert sheet.overprints == (((0, 1), (50.91, 40.81, 22.09)),)
    assert (sheet.yule_nielsen, sheet.coverage_limit) == (1.5, 240)
    assert sheet.text == MEASURED
    layers = palette_file.parse(SCREEN, file="f", stem="layers")
    assert (layers.stem, layers.paper, layers.inks[1].solid) == (
        "layers",
        (255, 255, 255),
        (0, 158, 224),
    )
    assert (layers.about, layers.source, layers.inks[0].gain) == ("", "", None)


# What to change in a correct file, the key that must be named, and a part of the remedy.
REFUSALS = [
    # kind and source
    (MEASURED, 'kind = "measured"\n', "", "kind", '"measured" or "screen"'),
    (MEASURED, 'kind = "measured"', 'kind = "print"', "kind", '"measured" or "screen"'),
    (MEASURED, 'kind = "measured"', "kind = 3", "kind", '"measured" or "screen"'),
    (MEASURED, 'source = "a report"\n', "", "source", "give a text"),
    # texts
    (MEASURED, 'name = "Test sheet"\n', "", "name", "give a text"),
    (MEASURED, '"Test sheet"', '""', "name", "a text in quotes"),
    (MEASURED, '"Test sheet"', '"  "', "name", "a text in quotes"),
    (MEASURED, '"Test sheet"', "7", "name", "a text in quotes"),
    (MEASURED, '"Test sheet"', '"' + "n" * 81 + '"', "name", "at most 80"),
    (MEASURED, '"Test sheet"', r'"red\u001b[31m"', "name", "plain printable text"),
    (MEASURED, '"Test sheet"', r'"two\nlines"', "name", "plain printable text"),
    (MEASURED, '"Test sheet"', '"turned \u202e round"', "name", "plain printable text"),
    (MEASURED, '"for tests"', '"' + "n" * 2001 + '"', "about", "at most 2000"),
    (MEASURED, '"newsprint"', r'"bell\u0007"', "paper.name", "plain printable text"),
    (MEASURED, 'name = "newsprint"\n', "", "paper.name", "give a text"),
    (MEASURED, '"pale"', r'"\u0000"', "inks[1].labels", "plain printable text"),
    (MEASURED, 'symbol = "Y"\n', "", "inks[1].symbol", "give a text"),
    (MEASURED, 'symbol = "Y"', 'symbol = "Yel"', "inks[1].symbol", "at most 2"),
    # numbers
    (MEASURED, "yule_nielsen = 1.5", "yule_nielsen = 0.5", "yule_nielsen", "from 1 to 10"),
    (MEASURED, "yule_nielsen = 1.5", "yule_nielsen = nan", "yule_nielsen", "from 1 to 10"),
    (MEASURED, "yule_nielsen = 1.5", "yule_nielsen = inf", "yule_nielsen", "from 1 to 10"),
    (MEASURED, "yule_nielsen = 1.5", "yule_nielsen = true", "yule_nielsen", "from 1 to 10"),
    (MEASURED, "coverage_limit = 240", "coverage_limit = 0", "coverage_limit", "from 1 to 600"),
    (MEASURED, "coverage_limit = 240", 'coverage_limit = "a lot"', "coverage_limit", "1 to 600"),
    (MEASURED, "gain = 0.20", "gain = 20", "inks[1].gain", "from -0.25 to 0.4"),
    (MEASURED, "gain = 0.20", "gain = -1e999", "inks[1].gain", "from -0.25 to 0.4"),
    (MEASURED, "angle = 0", "angle = 361", "inks[1].angle", "from -360 to 360"),
    (MEASURED, "angle = 0", "angle = 1979-05-27", "inks[1].angle", "from -360 to 360"),
    # Lab
    (MEASURED, "[80.11, 0.02, 3.54]", "[100.01, 0, 0]", "paper.lab", "L from 0 to 100"),
    (MEASURED, "[80.11, 0.02, 3.54]", "[-1, 0, 0]", "paper.lab", "L from 0 to 100"),
    (MEASURED, "[80.11, 0.02, 3.54]", "[80, 0]", "paper.lab", "[L, a, b]"),
    (MEASURED, "[80.11, 0.02, 3.54]", '[80, 0, "3"]', "paper.lab", "[L, a, b]"),
    (MEASURED, "[80.11, 0.02, 3.54]", "[80, nan, 0]", "paper.lab", "-128 to 128"),
    (MEASURED, "lab = [80.11, 0.02, 3.54]\n", "", "paper.lab", "[L, a, b]"),
    (MEASURED, "[76.52, -4.10, 54.38]", "[76, -129, 54]", "inks[1].lab", "-128 to 128"),
    (MEASURED, "[52.57, 44.34, -0.95]", "[52, 44, inf]", "inks[2].lab", "-128 to 128"),
    (MEASURED, "[78.57, -2.60, 22.57]", "[101, 0, 0]", "inks[1].measured.25", "0 to 100"),
    (MEASURED, "[50.91, 40.81, 22.09]", "[50, 400, 0]", "overprints[1].lab", "-128 to 128"),
    # tints, labels, measured tints
    (MEASURED, "[25, 50, 100]", "[]", "inks[1].tints", "[25, 50, 75, 100]"),
    (MEASURED, "tints = [25, 50, 100]\n", "", "inks[1].tints", "[25, 50, 75, 100]"),
    (MEASURED, "[25, 50, 100]", "[50, 25, 100]", "inks[1].tints", "ascending"),
    (MEASURED, "[25, 50, 100]", "[25, 25, 100]", "inks[1].tints", "each once"),
    (MEASURED, "[25, 50, 100]", "[0, 25, 100]", "inks[1].tints", "from 1 to 100"),
    (MEASURED, "[25, 50, 100]", "[25, 50, 101]", "inks[1].tints", "from 1 to 100"),
    (MEASURED, "[25, 50, 100]", "[25, nan, 100]", "inks[1].tints", "from 1 to 100"),
    (MEASURED, "[25, 50, 100]", '["25", 50, 100]', "inks[1].tints", "from 1 to 100"),
    (MEASURED, "[25, 50, 100]", "[true, 50, 100]", "inks[1].tints", "from 1 to 100"),
    (MEASURED, "[25, 50, 100]", "[25.125, 50, 100]", "inks[1].tints", "two decimals"),
    (MEASURED, '["pale", "half", "solid"]', '["pale"]', "inks[1].labels", "a list of 3"),
    (MEASURED, '["pale", "half", "solid"]', '"pale"', "inks[1].labels", "a list of 3"),
    (MEASURED, '"half"', '"pale"', "inks[1].labels", "its own label"),
    (MEASURED, '"half"', "2", "inks[1].labels", "a text in quotes"),
    (MEASURED, "{ 25 =", "{ 30 =", "inks[1].measured.30", "25, 50, 100"),
    (MEASURED, "{ 25 =", "{ some =", "inks[1].measured.some", "25, 50, 100"),
    (MEASURED, "{ 25 =", "{ 100 =", "inks[1].measured.100", "leave it out"),
    (MEASURED, "{ 25 =", '{ "25.0" = [1, 2, 3], 25 =', "inks[1].measured.25", "keep one"),
    (MEASURED, "{ 25 = [78.57, -2.60, 22.57] }", "[1]", "inks[1].measured", "{ 25 = [L, a, b] }"),
    # names
    (MEASURED, 'name = "magenta"', 'name = "Yellow"', "inks[2].name", "its own"),
    (MEASURED, 'symbol = "M"', 'symbol = "y"', "inks[2].symbol", "its own"),
    (MEASURED, 'name = "magenta"', 'name = "y"', "inks[2].name", "its own"),
    (MEASURED, 'name = "magenta"', 'name = "' + "m" * 41 + '"', "inks[2].name", "at most 40"),
    # overprints
    (MEASURED, '["yellow", "magenta"]', '["yellow", "cyan"]', "overprints[1].inks", "magenta"),
    (MEASURED, '["yellow", "magenta"]', '["yellow"]', "overprints[1].inks", "two inks"),
    (MEASURED, '["yellow", "magenta"]', "[1, 2]", "overprints[1].inks", "yellow, magenta"),
    (MEASURED, '["yellow", "magenta"]', "[[], {}]", "overprints[1].inks", "yellow, magenta"),
    (MEASURED, '["yellow", "magenta"]', '["yellow", "yellow"]', "overprints[1].inks", "once"),
    (MEASURED, "lab = [50.91, 40.81, 22.09]\n", "", "overprints[1].lab", "[L, a, b]"),
    (
        MEASURED,
        "lab = [50.91, 40.81, 22.09]\n",
        'lab = [50, 0, 0]\n[[overprints]]\ninks = ["magenta", "yellow"]\nlab = [50, 0, 0]\n',
        "overprints[2].inks",
        "keep one",
    ),
    # unknown keys and keys of the other kind
    (MEASURED, "[paper]", 'colour = "red"\n[paper]', "colour", "give name, about, kind"),
    (MEASURED, "[paper]\n", "[paper]\nweight = 80\n", "paper.weight", "give name, lab"),
    (MEASURED, "gain = 0.20", "gian = 0.20", "inks[1].gian", "give name, symbol"),
    (MEASURED, "[[overprints]]\n", "[[overprints]]\nk = 1\n", "overprints[1].k", "inks, lab"),
    (MEASURED, "[paper]\n", '[paper]\nsrgb = "#ffffff"\n', "paper.srgb", "measured"),
    (SCREEN, "[paper]\n", "[paper]\nlab = [1, 2, 3]\n", "paper.lab", "screen"),
    (SCREEN, "tints = [50, 100]\n", "measured = {}\ntints = [50]\n", "inks[1].measured", "screen"),
    (SCREEN, PAPER, "overprints = []\n" + PAPER, "overprints", "screen"),
    # sRGB
    (SCREEN, '"#ffe800"', '"yellow"', "inks[1].srgb", '"#ffe800"'),
    (SCREEN, '"#ffe800"', '"#fe0"', "inks[1].srgb", "six hex digits"),
    (SCREEN, '"#ffe800"', '"#ffe80000"', "inks[1].srgb", "six hex digits"),
    (SCREEN, '"#ffe800"', "0xffe800", "inks[1].srgb", "six hex digits"),
    (SCREEN, 'srgb = "#ffffff"\n', "", "paper.srgb", "six hex digits"),
    # tables
    (SCREEN, PAPER, "", "paper", "[paper] table"),
    (SCREEN, PAPER, "paper = 1", "paper", "[paper]"),
    (SCREEN, SCREEN[SCREEN.index("[[inks]]") :], "", "inks", "[[inks]] tables"),
    (SCREEN, SCREEN[SCREEN.index("[paper]") :], "inks = []\n" + PAPER, "inks", "one to 6"),
    (SCREEN, SCREEN[SCREEN.index("[paper]") :], "inks = [1]\n" + PAPER, "inks", "[[inks]] tables"),
]


@pytest.mark.parametrize(
    ("text", "old", "new", "key", "remedy"),
    REFUSALS,
    ids=[f"{number}-{case[3]}" for number, case in enumerate(REFUSALS)],
)
def test_a_wrong_file_is_refused_with_its_key_and_the_remedy(
    tmp_path: Path, text: str, old: str, new: str, key: str, remedy: str
) -> None:
    content = changed(text, old, new)
    line = refusal(tmp_path / "wrong.toml", content)
    assert line.startswith(f"{key}: ")
    assert remedy in line


def ink_table(number: int, tints: int) -> str:
    ladder = ", ".join(str(1 + i) for i in range(tints))
    return (
        f'[[inks]]\nname = "ink {number}"\nsymbol = "{number}"\n'
        f'srgb = "#0000{number:02x}"\ntints = [{ladder}]\n'
    )


HEAD = SCREEN[: SCREEN.index("[[inks]]")]


def test_seven_inks_are_refused(tmp_path: Path) -> None:
    line = refusal(tmp_path / "many.toml", HEAD + "".join(ink_table(i, 1) for i in range(7)))
    assert line == "inks: holds 7; give one to 6 [[inks]] tables"
    six = HEAD + "".join(ink_table(i, 1) for i in range(6))
    assert palette_file.parse(six, file="f", stem="f").recipe_count == 64


def test_more_than_200000_recipes_are_refused_with_the_count(tmp_path: Path) -> None:
    # 40 × 50 × 100 = 200,000 recipes are the most.
    most = HEAD + ink_table(0, 39) + ink_table(1, 49) + ink_table(2, 99)
    assert palette_file.parse(most, file="f", stem="f").recipe_count == MAX_RECIPES == 200_000
    line = refusal(
        tmp_path / "many.toml", HEAD + ink_table(0, 40) + ink_table(1, 49) + ink_table(2, 99)
    )
    assert line.startswith("inks: make 205,000 recipes; at most 200,000")


# Files as a whole.


def test_a_file_over_1_mb_is_refused(tmp_path: Path) -> None:
    exactly = SCREEN + "#" * (1_000_000 - len(SCREEN))
    path = tmp_path / "large.toml"
    path.write_text(exactly)
    assert palette_file.read(path).recipe_count == 9
    assert "over 1 MB" in refusal(path, exactly + "#")


def test_a_file_that_is_not_utf8_is_refused(tmp_path: Path) -> None:
    line = refusal(tmp_path / "latin.toml", SCREEN.replace("white", "blé").encode("latin-1"))
    assert "UTF-8" in line
    assert f"byte {SCREEN.index('white') + 2}" in line
    assert "UTF-8" in refusal(tmp_path / "wide.toml", SCREEN.encode("utf-16"))


def test_a_byte_order_mark_and_line_ends_of_windows_are_accepted(tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SCREEN.replace("\n", "\r\n").encode())
    found = palette_file.read(path)
    assert found.name == "Test layers"
    assert not found.text.startswith("\ufeff")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "kind"),
        ("name = ", "TOML"),
        ("\0", "TOML"),
        (SCREEN.replace("white", "wh\0ite"), "TOML"),
        ("name = 'x'\nname = 'y'\n", "TOML"),
        ("x" * 200_000 + " = 1\n" + "x" * 200_000 + " = 1\n", "TOML"),
        ("x" * 900_000 + " = 1\n" + SCREEN, "not a known key"),
        (SCREEN + "x" * 900_000 + " = 1\n", "not a known key"),
        (SCREEN + '"\\u001b[2J" = 1\n', "not a known key"),
        (SCREEN + "gain = " + "[" * 100_000, "nests too deeply"),
        (SCREEN + "gain = " + "[" * 250 + "]" * 250, "from -0.25 to 0.4"),
        (SCREEN + "gain = " + "{a=" * 250 + "1" + "}" * 250, "from -0.25 to 0.4"),
        (SCREEN + "gain" + ".a" * 400_000 + " = 1\n", "nests too deeply"),
        (SCREEN + "gain" + " . 'a'" * 100_000 + " = 1\n", "nests too deeply"),
        (SCREEN + "[gain" + '."\\"]"' * 100_000 + "]\n", "nests too deeply"),
        (SCREEN + "gain = " + "{a.b.c.d.e.f.g.h.i.j=" * 200 + "1" + "}" * 200, "0.25"),
        (SCREEN + "gain = " + "9" * 100_000, "number too long"),
        (SCREEN + "gain = 0x" + "f" * 100_000, "from -0.25 to 0.4"),
        (SCREEN + "gain = 1e99999", "from -0.25 to 0.4"),
        (SCREEN + "angle = -" + "9" * 4000, "from -360 to 360"),
        (SCREEN + "angle = " + "0" * 5000 + ".5", "TOML"),
    ],
    ids=itertools.count(),
)
def test_a_hostile_file_gets_one_line_too(tmp_path: Path, content: str, said: str) -> None:
    assert said in refusal(tmp_path / "hostile.toml", content)


def test_prose_with_many_full_stops_is_no_deep_key(tmp_path: Path) -> None:
    about = "Set in St. Anne's yard. Vol. 2. No. 7. Rev. b. 1.2.3.4.5.6.7.8.9.10. " * 5
    text = SCREEN.replace('kind = "screen"', f'kind = "screen"\nabout = "{about}"')
    assert palette_file.parse(text, file="f", stem="f").about == about


def refused(content: str) -> PaletteError | None:
    try:
        palette_file.parse(content, file="f.toml", stem="f")
    except PaletteError as error:
        return error
    return None


@given(st.text(max_size=300))
def test_any_text_is_a_palette_or_one_line(text: str) -> None:
    for content in (text, SCREEN + text, MEASURED + text):
        error = refused(content)
        if error:
            assert len(str(error).splitlines()) == 1
            assert str(error).startswith("f.toml: ")


values = st.recursive(
    st.one_of(
        st.sampled_from(["nan", "-inf", "1e400", "true", "1979-05-27", "'x'", '""', "0x10", "-0"]),
        st.integers(-(10**30), 10**30).map(str),
        st.floats(allow_nan=False, allow_infinity=False).map(repr),
    ),
    lambda inner: st.lists(inner, max_size=4).map(lambda items: "[" + ", ".join(items) + "]"),
    max_leaves=8,
)


@given(st.sampled_from([MEASURED, SCREEN]), st.data(), values)
def test_any_value_anywhere_is_accepted_or_refused_in_one_line(
    text: str, data: st.DataObject, value: str
) -> None:
    spots = list(re.finditer(r"(?<= = )[^\n]+", text))
    spot = data.draw(st.sampled_from(spots))
    content = text[: spot.start()] + value + text[spot.end() :]
    error = refused(content)
    if error:
        assert len(str(error).splitlines()) == 1
        assert error.key


def test_a_decimal_tint_is_hinted_in_quotes() -> None:
    text = MEASURED.replace("tints = [25, 50, 100]", "tints = [12.5, 50, 100]").replace(
        "{ 25 = ", "{ 12 = "
    )
    with pytest.raises(PaletteError, match=r'give "12\.5", 50, 100'):
        palette_file.parse(text, file="f.toml", stem="f")
