"""One's own palettes and picked colours on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from command import Cli
from PIL import Image
from rendered import INK, PAPER, tint
from support import MEASURED, REFERENCE, ROOT
from terminal import Terminal

from tuimatch.palette import file as palette_file

INKS = {"yellow": (255, 232, 0), "magenta": (228, 0, 124)}
SHARES = (0.22, 0.48, 0.71)
LIST = """ink,srgb,symbol,label,share
paper,#fffdf5,,,
yellow,#ffe800,Y,fine dots,23.4
magenta,#e4007c,,,40
"""


def save(pixels: np.ndarray, path: Path) -> str:
    Image.fromarray(pixels).save(path)
    return path.name


@pytest.fixture
def brush(cli: Cli) -> str:
    """One tint of 25 %, and beside it bare paper."""
    pixels = np.full((240, 480, 3), PAPER, dtype=np.uint8)
    pixels[:, :240] = tint(coverage=0.25, period=11.3, edge="linear", size=(240, 240))
    return save(pixels, cli.folder / "brush.png")


@pytest.fixture
def grid(cli: Cli) -> str:
    """Two rows of inks in three tints, and a column of solids to the right of them."""
    pixels = np.full((480, 960, 3), PAPER, dtype=np.uint8)
    for row, ink in enumerate(INKS.values()):
        for column, share in enumerate((*SHARES, 1.0)):
            at = np.s_[240 * row + 20 : 240 * row + 220, 240 * column + 20 : 240 * column + 220]
            pixels[at] = (
                ink
                if share == 1
                else tint("round", share, 15 + 60 * row, 11.7, "encoded", (200, 200), PAPER, ink)
            )
    return save(pixels, cli.folder / "grid.png")


# swatch.


def test_swatch_says_share_and_fused_colour(cli, brush):
    said = cli("swatch", brush, "--box", "0,0,240,240")
    assert f"{brush}: 25.0 % ± 0.2 of ink #e4007c on #fffdf5\nfused colour #" in said
    (answer,) = cli.lines("swatch", brush, "--box", "0,0,240,240", "--json")
    assert list(answer) == [
        *("file", "srgb", "exact", "share", "uncertainty", "ink", "paper", "notes"),
    ]
    assert answer["share"] == pytest.approx(0.25, abs=0.005)
    assert (answer["ink"], answer["paper"]) == ("#e4007c", "#fffdf5")
    assert answer["srgb"] == "#{:02x}{:02x}{:02x}".format(*map(round, answer["exact"]))


def test_swatch_takes_colours_that_are_known(cli, brush):
    known = ("--paper", "#fffdf5", "--ink", "rgb(228 0 124)")
    (answer,) = cli.lines("swatch", brush, "--box", "250,10,200,200", *known, "--json")
    assert (answer["share"], answer["uncertainty"]) == (0, 0)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("brush.png", "--box", "250,10,200,200"), "brush.png: one flat colour, #fffdf5"),
        (("brush.png", "--box", "0,0,240"), "'0,0,240' is not a box; give x,y,width,height"),
        (("brush.png", "--box", "0,0,241,999"), "is not within it; the picture is 480 × 240"),
        (("brush.png", "--box", "0,0,8,8"), "brush.png: the swatch is 8 × 8 pixels"),
        (("brush.png", "--ink", "burple"), "'burple': is not a colour"),
        (("brush.png", "--ink", "color(display-p3 0 1 0)"), "lies outside sRGB"),
        (("lost.png",), "lost.png: cannot be read"),
        (("note.png",), "note.png: is not a picture of a known kind"),
        (("cut.png",), "cut.png: is damaged"),
        ((".",), "give a picture file"),
        (("\x1b[31m.png",), r"\x1b[31m.png: cannot be read"),
        ((), "see `tuimatch swatch --help`"),
    ],
)
def test_swatch_refuses_in_one_line(cli, brush, arguments, said):
    (cli.folder / "note.png").write_text("a note")
    (cli.folder / "cut.png").write_bytes((cli.folder / brush).read_bytes()[:400])
    assert said in cli.refuses("swatch", *arguments)


# palettes make.


def test_a_list_becomes_a_palette_file(cli):
    (cli.folder / "own.csv").write_text(LIST, encoding="utf-8")
    said = cli("palettes", "make", "own.csv", "--out", "own.toml", "--name", "My brushes")
    assert said.startswith("own.toml: a correct palette, 9 recipes\n  My brushes: screen")
    assert "  yellow (Y): 23.4 100 %\n" in said
    palette = palette_file.read(cli.folder / "own.toml")
    assert (palette.name, palette.paper) == ("My brushes", (255, 253, 245))
    assert palette.inks[0].labels == ("fine dots", "solid")
    answer = cli.lines("match", "#e4007c", "--palette", "own.toml", "--json")
    assert answer[0]["candidates"][0]["recipe"] == "magenta 100 %"


def test_a_file_that_is_there_stays_unless_it_may_go(cli):
    (cli.folder / "own.csv").write_text(LIST, encoding="utf-8")
    (cli.folder / "own.toml").write_text("precious", encoding="utf-8")
    make = ("palettes", "make", "own.csv", "--out", "own.toml")
    assert "own.toml: already exists; give another name, or --replace" in cli.refuses(*make)
    assert (cli.folder / "own.toml").read_text(encoding="utf-8") == "precious"
    cli(*make, "--replace")
    assert palette_file.read(cli.folder / "own.toml").recipe_count == 9
    (cli.folder / "own.csv").write_text(LIST + "yellow,,,,23.4\n", encoding="utf-8")
    before = (cli.folder / "own.toml").read_text(encoding="utf-8")
    assert "own.csv: swatch 4: yellow 23.4 % appears twice" in cli.refuses(*make, "--replace")
    assert (cli.folder / "own.toml").read_text(encoding="utf-8") == before


def test_a_picture_of_all_swatches_becomes_a_palette_true_to_half_a_percent(cli, grid):
    said = cli(
        *("palettes", "make", grid, "--grid", "2x3", "--box", "0,0,720,480"),
        *("--ink", "yellow", "--ink", "magenta", "--labels", "fine,middle,coarse"),
        *("--out", "own.toml"),
    )
    assert "grid.png: magenta 22.0 ± 0.2, 48.0 ± 0.2, 71" in said
    palette = palette_file.read(cli.folder / "own.toml")
    assert palette.paper == PAPER
    for ink in palette.inks:
        assert ink.solid == INKS[ink.name]
        assert ink.labels == ("fine", "middle", "coarse", "solid")
        assert ink.tints == pytest.approx([*(100 * share for share in SHARES), 100], abs=0.5)


def test_with_colours_known_a_swatch_may_be_the_solid(cli, grid):
    known = ("--paper", "#fffdf5", "--ink", "yellow=#ffe800", "--ink", "magenta=#e4007c")
    make = ("palettes", "make", grid, "--grid", "2x4", "--out", "own.toml")
    cli(*make, *known)
    assert len(palette_file.read(cli.folder / "own.toml").inks[1].tints) == 4
    said = cli.refuses(*make, "--replace", "--ink", "yellow", "--ink", "magenta")
    assert "grid.png: row 1, column 4: one flat colour, #ffe800" in said
    assert "for solids give --paper and each --ink a colour" in said


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("grid.png",), "a picture needs --grid ROWSxCOLUMNS; a list is .csv or .toml"),
        (("grid.png", "--grid", "2by3"), "'2by3' is not a grid; give rows x columns such as 3x4"),
        (("grid.png", "--grid", "0x3"), "'0x3' is not a grid"),
        (("grid.png", "--grid", "2x3", "--ink", "y"), "1 --ink for 2 rows"),
        (
            ("grid.png", "--grid", "2x3", "--ink", "y", "--ink", "m=#e4007c"),
            "some --ink have a colour and some have none",
        ),
        (
            ("grid.png", "--grid", "2x3", "--ink", "y", "--ink", "m", "--labels", "a"),
            "1 --labels for 3 columns",
        ),
        (("grid.png", "--grid", "1x2", "--ink", "y"), "grid.png: row 1, column 1:"),
        (
            ("grid.png", "--grid", "2x1", "--box", "0,0,240,480", "--ink", "y", "--ink", "y"),
            "'y' has two colours",
        ),
        (
            ("grid.png", "--grid", "1x2", "--box", "240,0,480,480", "--ink", "y"),
            "grid.png: row 1, column 1: ",
        ),
        (("own.csv", "--grid", "2x3"), "--grid needs a picture of swatches as FILE"),
        (("--paper", "white"), "--paper needs a picture of swatches as FILE"),
        ((), "give a list or a picture as FILE; questions need a terminal"),
        (("lost.csv",), "lost.csv: cannot be read"),
        (("lost.png", "--grid", "1x1", "--ink", "y"), "lost.png: cannot be read"),
        (("bad.csv",), "bad.csv: has no header"),
        (("bad.toml",), "bad.toml: is not TOML"),
        (("own.csv", "--name", " "), "own.csv: name: "),
        (("own.csv", "--out", "own.txt"), "--out own.txt: a palette file is TOML"),
        (("own.csv", "--out", "no/where.toml"), "no/where.toml: cannot be written"),
    ],
)
def test_make_refuses_in_one_line_and_writes_nothing(cli, grid, arguments, said):
    (cli.folder / "own.csv").write_text(LIST, encoding="utf-8")
    (cli.folder / "bad.csv").write_text("\x1b[2J", encoding="utf-8")
    (cli.folder / "bad.toml").write_text("[[", encoding="utf-8")
    out = () if "--out" in arguments else ("--out", "made.toml")
    assert said in cli.refuses("palettes", "make", *arguments, *out)
    assert not (cli.folder / "made.toml").exists()


def test_a_row_of_two_inks_or_two_papers_is_refused(cli):
    pixels = np.full((240, 480, 3), PAPER, dtype=np.uint8)
    pixels[:, :240] = tint(size=(240, 240))
    for name, paper, ink, said in (
        ("ink.png", PAPER, (0, 158, 224), "column 2: its ink is #009ee0, that of the first is #e4"),
        ("paper.png", (220, 210, 190), INK, "column 2: its paper is #dcd2be"),
    ):
        pixels[:, 240:] = tint(size=(240, 240), paper=paper, ink=ink)
        save(pixels, cli.folder / name)
        make = ("palettes", "make", name, "--grid", "1x2", "--ink", "a", "--out", "made.toml")
        assert said in cli.refuses(*make)


def answer(terminal: Terminal, question: str, text: str) -> None:
    terminal.until(question)
    terminal.press(text, "enter")


def test_questions_on_a_terminal_make_a_palette_too(cli, brush):
    out = cli.folder / "own.toml"
    arguments = ("palettes", "make", "--out", str(out), "--name", "Asked")
    with Terminal(*arguments, size=(200, 40)) as terminal:
        answer(terminal, "paper:", "burple")
        terminal.until("'burple': is not a colour")
        answer(terminal, "paper:", f"{cli.folder / brush} 250,10,200,200")
        answer(terminal, "first ink:", "paper")
        terminal.until("has no name")
        answer(terminal, "first ink:", "magenta")
        answer(terminal, "magenta, solid:", "#e4007c")
        answer(terminal, "magenta, a tint:", f"{cli.folder / brush} 0,0,240,240")
        terminal.until("magenta 25")
        answer(terminal, "what you call magenta 25", "fine dots")
        answer(terminal, "no more tints:", "")
        answer(terminal, "next ink;", "")
        terminal.until("a correct palette, 3 recipes")
        assert terminal.wait() == 0
    palette = palette_file.read(out)
    assert (palette.name, palette.paper, palette.inks[0].solid) == ("Asked", PAPER, INK)
    assert palette.inks[0].tints == pytest.approx([25, 100], abs=0.5)
    assert palette.inks[0].labels == ("fine dots", "solid")


def test_answers_that_end_early_write_nothing(cli):
    out = cli.folder / "own.toml"
    with Terminal("palettes", "make", "--out", str(out), size=(200, 40)) as terminal:
        terminal.until("paper:")
        terminal.send("\x04")
        terminal.until("the answers ended too early; nothing was written")
        assert terminal.wait() == 2
    assert not out.exists()


# palettes import.


@pytest.mark.parametrize(
    ("chart", "mean", "largest"),
    # What the model gives, to notice when it moves.
    [("TR002.ti3", 0.18, 1.33), ("TR003.ti3", 0.04, 0.62)],
)
def test_measurements_become_a_palette_with_their_figures(cli, chart, mean, largest):
    said = cli("palettes", "import", str(REFERENCE / chart), "--out", "in.toml")
    palette = palette_file.read(cli.folder / "in.toml")
    assert palette.kind == "measured"
    assert all(ink.tints == (25, 50, 75, 100) for ink in palette.inks)
    assert "on paper, sharp channels" in said
    assert "95 % of the colours print within about ΔE 0.5" in said
    assert "  yellow: 25 50 75" in said
    found = said.split("CIEDE2000: ")[1].split("\n")[0].split(", ")
    assert [part.rsplit(" ", 1)[0] for part in found] == [
        "mean",
        "median",
        "95 % within",
        "largest",
    ]
    figures = [float(part.rsplit(" ", 1)[1]) for part in found]
    assert max(figures[:2]) < figures[2] < figures[3]
    assert (figures[0], figures[3]) == pytest.approx((mean, largest), abs=0.02)
    worst = [line for line in said.splitlines() if line.startswith("  ΔE ")]
    assert len(worst) == 5
    assert float(worst[0].split()[1]) == figures[3]


def test_interpolated_tints_are_marked(cli):
    chart = str(REFERENCE / "TR002.ti3")
    said = cli(
        *("palettes", "import", chart, "--out", "in.toml", "--name", "Mine"),
        *("--tints", "33, 50,100", "--inks", "M,yellow"),
    )
    assert "  yellow: 33* 50 100 %\n  magenta: 33* 50 100 %\n" in said
    assert "* between measured tints" in said
    assert "cyan" not in said.split("in.toml")[1].split("patches that mix")[0].split("source")[0]
    assert palette_file.read(cli.folder / "in.toml").name == "Mine"


CHART = """NUMBER_OF_SETS 4
BEGIN_DATA_FORMAT
CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B
END_DATA_FORMAT
BEGIN_DATA
0 0 0 90 0 4
100 0 0 55 -30 -40
0 100 0 50 60 0
0 0 100 85 -5 70
END_DATA
"""


def test_a_chart_of_solids_says_what_it_lacks(cli):
    (cli.folder / "few.txt").write_text(CHART, encoding="utf-8")
    said = cli("palettes", "import", "few.txt", "--out", "in.toml")
    assert "yellow: only the solid is measured; its tints go without dot gain" in said
    assert "overprint not measured, estimated: yellow + magenta + cyan" in said
    assert "how well it predicts is not known" in said
    assert "about ΔE 10, estimated, as overprints are missing" in said


@pytest.mark.parametrize(
    ("text", "arguments", "said"),
    [
        (None, (), "chart.txt: cannot be read"),
        ("", (), "chart.txt: no measurements"),
        (CHART.replace("90 0 4", "90 x 4"), (), "chart.txt: line 6: LAB_A is 'x'; give a number"),
        (CHART.replace("0 0 0 90", "1 0 0 90"), (), "chart.txt: has no patch of bare paper"),
        (CHART.replace("END_DATA\n", ""), (), "chart.txt: line 5: BEGIN_DATA has no END_DATA"),
        (CHART, ("--inks", "black"), "chart.txt: has no 'black'"),
        (
            CHART,
            ("--tints", "25,half"),
            "'25,half' is not a list of tints; give percents: 25,50,75,100",
        ),
        (CHART, ("--tints", "nan"), "'nan' is not a list of tints"),
        (CHART, ("--tints", ","), "',' is not a list of tints"),
        (CHART, ("--tints", "50,101"), "101 is not a tint"),
        (CHART, ("--out", "in.txt"), "a palette file is TOML"),
    ],
)
def test_import_refuses_in_one_line_and_writes_nothing(cli, text, arguments, said):
    if text is not None:
        (cli.folder / "chart.txt").write_text(text, encoding="utf-8")
    out = () if "--out" in arguments else ("--out", "made.toml")
    assert said in cli.refuses("palettes", "import", "chart.txt", *arguments, *out)
    assert not (cli.folder / "made.toml").exists()


# palettes check.


def test_check_says_what_is_doubtful(cli):
    (cli.folder / "own.toml").write_text(
        MEASURED.replace("lab = [50.91, 40.81, 22.09]", "lab = [60.91, 40.81, 22.09]"),
        encoding="utf-8",
    )
    said = cli("palettes", "check", "own.toml")
    assert "  doubtful: the overprint yellow + magenta is lighter than magenta alone" in said
    assert "doubtful" not in cli("palettes", "check", str(ROOT / "palettes/screen-quarters.toml"))


# pick.


@pytest.fixture
def halves(cli: Cli) -> str:
    """Left black and white by turns, right tomato."""
    pixels = np.zeros((40, 80, 3), dtype=np.uint8)
    pixels[::2, :40:2] = pixels[1::2, 1:40:2] = 255
    pixels[:, 40:] = (255, 99, 71)
    return save(pixels, cli.folder / "halves.png")


def test_pick_matches_the_mean_in_linear_light(cli, halves):
    """Half black, half white is #bcbcbc: sRGB encodes 0.5 as 188 (IEC 61966-2-1)."""
    said = cli("pick", halves, "--at", "20,20", "--size", "10", "--top", "3")
    assert said.startswith("halves.png: mean of 10 × 10 pixels around 20,20\n#bcbcbc\nlab(76.")
    assert len(said.rstrip().splitlines()[-3:]) == 3
    tomato = cli.lines("match", "#ff6347", "--json", "--top", "1")[0]
    (picked,) = cli.lines("pick", halves, "--at", "60,20", "--json", "--top", "1")
    place = {"file": halves, "x": 60, "y": 20, "size": 9, "notes": []}
    assert picked.pop("picture") == place
    assert picked["target"]["lab"] == pytest.approx(tomato["target"]["lab"], abs=0.01)
    assert list(picked) == list(tomato)
    assert picked["candidates"][0]["recipe"] == tomato["candidates"][0]["recipe"]


def test_what_pick_calls_the_target_reads_back_as_it(cli, halves):
    (picked,) = cli.lines("pick", halves, "--at", "39,20", "--json")
    (matched,) = cli.lines("match", picked["target"]["text"], "--json")
    assert matched["candidates"] == picked["candidates"]


def test_pick_says_what_was_odd_about_the_picture(cli):
    Image.new("CMYK", (20, 20), (0, 128, 128, 0)).save(cli.folder / "press.jpg")
    note = "CMYK without a profile: its colours are a guess"
    assert cli("pick", "press.jpg", "--at", "5,5").startswith(f"press.jpg: {note}\n")
    assert json.loads(cli("pick", "press.jpg", "--at", "5,5", "--json"))["picture"]["notes"] == [
        note
    ]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("halves.png",), "the interface needs a terminal; `tuimatch pick FILE --at X,Y` does not"),
        (("halves.png", "--json"), "--json needs --at X,Y"),
        (("halves.png", "--at", "80,0"), "halves.png: the box 80,0,1,1 is not within it"),
        (("halves.png", "--at", "3"), "'3' is not a position; give x,y such as 120,80"),
        (("halves.png", "--at", "-1,2"), "see `tuimatch pick --help`"),
        (("halves.png", "--at", "1,2", "--size", "0"), "'0' is not a valid number"),
        (("lost.png", "--at", "1,2"), "lost.png: cannot be read"),
        (("note.png", "--at", "1,2"), "note.png: is not a picture of a known kind"),
        (("clear.png", "--at", "1,2"), "clear.png: is transparent there"),
        (("halves.png", "--at", "1,2", "--palette", "lost"), "lost: no such palette"),
    ],
)
def test_pick_refuses_in_one_line(cli, halves, arguments, said):
    (cli.folder / "note.png").write_text("a note")
    Image.new("RGBA", (9, 9), (1, 2, 3, 0)).save(cli.folder / "clear.png")
    assert said in cli.refuses("pick", *arguments)


def test_without_a_place_the_picture_opens_and_its_colour_becomes_the_target(cli, halves):
    arguments = ("pick", str(cli.folder / halves), "--log", str(cli.log))
    with Terminal(*arguments) as terminal:
        terminal.until("80 × 40, seen 1 : 1")
        terminal.until("mean of 9 × 9 pixels around 40, 20")
        terminal.press("shift+right")
        terminal.until("#ff6347")
        terminal.press("enter")
        terminal.until("ΔE")
        terminal.until("#ff6347")
        terminal.press("q")
        assert terminal.wait() == 0
    with Terminal("pick", str(cli.folder / "lost.png"), "--log", str(cli.log)) as terminal:
        terminal.until("give a picture file")
        assert terminal.wait() == 2
