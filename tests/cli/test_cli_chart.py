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


def test_a_chart_for_measuring_as_plates(cli: Cli) -> None:
    """What each plate covers in each patch is its tint; together they are the chart."""
    import numpy as np

    from tuimatch.chart import measuring

    said = cli(
        *("chart", "--palette", "newsprint-quarters", "--for", "measuring", "--out", "n.png"),
        *("--plates", "plates", "--ruling", "85"),
    )
    assert "plates: 3 plates" in said
    grid = measuring.read_csv(cli.folder / "n.csv")
    paths = sorted((cli.folder / "plates").iterdir())
    assert [path.name for path in paths] == ["1-yellow.tif", "2-magenta.tif", "3-cyan.tif"]
    for ink, path in enumerate(paths):
        with Image.open(path) as plate:
            assert (plate.mode, plate.info["dpi"]) == ("1", (600, 600))
            inked = ~np.asarray(plate)
        margin = round(12 / 25.4 * 600)  # the marks stand outside
        assert inked.shape == tuple(2 * margin + round(v / 25.4 * 600) for v in (297, 210))
        side = round(measuring.PATCH / 25.4 * 600)
        for place, tints in grid.tints.items():
            x, y = (
                margin + round((v + frame) / 25.4 * 600)
                for v, frame in zip(grid.corner(*place), (12, 14), strict=True)
            )
            patch = inked[y + 6 : y + side - 6, x + 6 : x + side - 6]
            assert patch.mean() == pytest.approx(tints[ink] / 100, abs=0.02)
    again = cli.refuses("chart", "--for", "measuring", "--out", "m.png", "--plates", "plates")
    assert "plates: already exists" in again
    assert not (cli.folder / "m.png").exists()
    said = cli.refuses("chart", "--out", "wall.pdf", "--plates", "more")
    assert "--plates go with --for measuring" in said
