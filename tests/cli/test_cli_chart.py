"""`tuimatch chart`, as it is typed."""

import pytest
from command import Cli, in_terminal
from PIL import Image
from support import ROOT


def test_the_extension_says_the_form(cli: Cli) -> None:
    said = cli("chart", "--palette", "zine-two-inks", "--out", "zine.pdf")
    assert said == "zine.pdf: 36 recipes on 2 sheets\n"
    assert (cli.folder / "zine.pdf").read_bytes().startswith(b"%PDF")
    cli("chart", "--palette", "zine-two-inks", "--out", "zine.html", "--order", "ink")
    assert (cli.folder / "zine.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_png_is_a_picture_a_sheet(cli: Cli) -> None:
    said = cli("chart", "--palette", "zine-two-inks", "--out", "zine.png", "--paper", "letter")
    assert said == "zine-1.png to zine-2.png: 36 recipes on 2 sheets\n"
    for number in (1, 2):
        with Image.open(cli.folder / f"zine-{number}.png") as picture:
            assert picture.size == (round(215.9 / 25.4 * 300), round(279.4 / 25.4 * 300))
    cli("chart", "--palette", "zine-two-inks", "--out", "one.png", "--order", "hue")
    assert (cli.folder / "one.png").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--out", "zine.doc"), "a chart is .pdf, .html, .png"),
        (("--out", "zine.pdf", "--ruling", "0"), "give dots to the inch from 20 to 200"),
        (("--out", "zine.pdf", "--max-inks", "none"), "give a whole number from 1"),
        (("--out", "lost/zine.pdf"), "cannot be written"),
    ],
)
def test_bad_input_is_refused_in_a_line(cli: Cli, arguments: tuple[str, ...], said: str) -> None:
    assert said in cli.refuses("chart", "--palette", "zine-two-inks", *arguments)
    assert list(cli.folder.glob("*zine*")) == []


def test_nothing_is_written_over_unasked(cli: Cli) -> None:
    (cli.folder / "zine-2.png").write_text("mine")
    arguments = ("chart", "--palette", "zine-two-inks", "--out", "zine.png")
    assert "zine-2.png: already exists" in cli.refuses(*arguments)
    assert not (cli.folder / "zine-1.png").exists()
    cli(*arguments, "--replace")
    assert (cli.folder / "zine-2.png").read_bytes().startswith(b"\x89PNG")


def test_letters_that_the_font_lacks_are_named(cli: Cli) -> None:
    text = (ROOT / "palettes" / "zine-two-inks.toml").read_text(encoding="utf-8")
    (cli.folder / "own.toml").write_text(text.replace("coral", "珊瑚"), encoding="utf-8")
    said = cli("chart", "--palette", "own.toml", "--out", "own.pdf")
    assert "the letters 珊瑚 are missing from its font; .html has them all" in said


def test_a_bar_tells_how_far_it_is(cli: Cli) -> None:
    said = in_terminal(cli, "chart", "--palette", "zine-two-inks", "--out", "zine.pdf")
    assert "100 %" in said
    assert said.splitlines()[-1].endswith("36 recipes on 2 sheets")


def test_a_chart_for_measuring_is_read_again(cli: Cli) -> None:
    palette = ("--palette", "zine-two-inks")
    said = cli("chart", *palette, "--for", "measuring", "--out", "zine.png", "--ruling", "85")
    assert "zine.csv: what is where" in said
    assert "`tuimatch palettes make scan.png --grid zine.csv" in said
    said = cli(
        *("palettes", "make", "zine.png", "--grid", "zine.csv", *palette),
        *("--out", "true.toml", "--name", "My printer"),
    )
    assert "true.toml: a correct palette, 36 recipes" in said
    (answer,) = cli.lines("match", "tomato", "--palette", "true.toml", "--json")
    assert answer["palette"] == "true"
