"""CGATS text: what is taken, what is averaged, and what is refused with which line."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import REFERENCE

from tuimatch.colour.colorimetry import xyz_to_lab
from tuimatch.errors import CgatsError
from tuimatch.own_palette import cgats
from tuimatch.own_palette.cgats import Measurements

CHART = """CGATS.17
ORIGINATOR "nobody"
FILE_DESCRIPTOR "A ""small"" chart"
NUMBER_OF_FIELDS 7
BEGIN_DATA_FORMAT
SAMPLE_ID CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
"A 1" 0 0 0 90 0 2 # paper
"A 2" 100 0 0 55.5 -36 -5.0e1
A3 0 0 0 92 1 4
END_DATA
"""


def parsed(text: str) -> Measurements:
    return cgats.parse(text, file="chart.txt")


def refused(text: str) -> str:
    with pytest.raises(CgatsError) as caught:
        parsed(text)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_repeats_are_averaged_and_the_order_kept() -> None:
    chart = parsed(CHART)
    assert chart.title == 'A "small" chart'
    assert chart.inks == ("cyan", "magenta", "yellow")
    assert chart.tints.tolist() == [[0, 0, 0], [100, 0, 0]]
    assert chart.lab.tolist() == [[91, 0.5, 3], [55.5, -36, -50]]
    assert chart.repeats.tolist() == [2, 1]


@pytest.mark.parametrize("name", ["TR002", "TR003"])
def test_the_published_files_hold_what_was_read_from_them_before(name: str) -> None:
    # tests/reference/README.md: the measured rows of the csv files are the means of these repeats.
    chart = cgats.read(REFERENCE / f"{name}.ti3")
    assert chart.inks == ("cyan", "magenta", "yellow", "black")
    rows = {tuple(tints): lab for tints, lab in zip(chart.tints, chart.lab, strict=True)}
    other = {"TR002": "newsprint_tr002.csv", "TR003": "coated_tr003.csv"}[name]
    lines = (REFERENCE / other).read_text(encoding="utf-8").splitlines()
    checked = 0
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        if row["kind"] == "measured":
            lab = rows[tuple(float(row[x]) for x in "cmyk")]
            assert np.abs(lab - [float(row[x]) for x in "Lab"]).max() <= 0.0051
            checked += 1
    assert checked > 50


def test_the_published_sizes() -> None:
    # NUMBER_OF_SETS of the files themselves.
    assert cgats.read(REFERENCE / "TR002.ti3").repeats.sum() == 928
    assert cgats.read(REFERENCE / "TR003.ti3").repeats.sum() == 1617


def test_xyz_is_taken_where_there_is_no_lab() -> None:
    chart = parsed(
        CHART.replace("LAB_L LAB_A LAB_B", "XYZ_X XYZ_Y XYZ_Z")
        .replace("90 0 2", "70 72 50")
        .replace("92 1 4", "70 72 50")
        .replace("55.5 -36 -5.0e1", "15 20 50")
    )
    assert chart.lab == pytest.approx(xyz_to_lab([[0.70, 0.72, 0.50], [0.15, 0.20, 0.50]]))


@given(st.permutations(range(11)), st.sampled_from(["\n", "\r\n", "\r"]), st.sampled_from(" \t"))
def test_columns_may_stand_in_any_order(order: list[int], line_end: str, space: str) -> None:
    lines = (REFERENCE / "TR002.ti3").read_text("utf-8", errors="replace").splitlines()
    begin = lines.index("BEGIN_DATA")
    names = lines[begin - 4].split()
    rows = [line.split() for line in lines[begin + 1 : begin + 40]]

    def text(turned: list[int]) -> str:
        shown = [space.join(row[i] for i in turned) for row in [names, *rows]]
        return line_end.join(
            ["BEGIN_DATA_FORMAT", shown[0], "END_DATA_FORMAT", "BEGIN_DATA", *shown[1:], "END_DATA"]
        )

    plain, turned = parsed(text(list(range(11)))), parsed(text(order))
    assert np.array_equal(plain.lab, turned.lab)
    assert np.array_equal(plain.tints, turned.tints)


def test_several_tables_count_together_and_others_are_passed_over() -> None:
    other = "BEGIN_DATA_FORMAT\nRGB_R\nEND_DATA_FORMAT\nBEGIN_DATA\nnonsense here\nEND_DATA\n"
    again = CHART.replace("90 0 2", "94 0 2").replace("100 0 0", "50 0 0")
    chart = parsed(other + CHART + other + again)
    assert chart.tints.tolist() == [[0, 0, 0], [100, 0, 0], [50, 0, 0]]
    assert chart.lab[0].tolist() == [92, 0.5, 3]


def test_a_table_without_its_own_format_keeps_the_last() -> None:
    chart = parsed(CHART + "BEGIN_DATA\nB1 0 100 0 50 70 0\nEND_DATA\n")
    assert chart.tints[-1].tolist() == [0, 100, 0]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("90 0 2 #", "90 0 #", "line 10: has 6 values; the data format names 7"),
        ("92 1 4", "92 1 4 5", "line 12: has 8 values; the data format names 7"),
        ("-36", "-36,5", "line 11: LAB_A is '-36,5'; give a number, with a decimal point"),
        ("-36", "1_0", "line 11: LAB_A is '1_0'; give a number"),
        ("-36", "nan", "line 11: LAB_A is 'nan'; give a number"),
        ("-36", "1e999", "line 11: LAB_A is '1e999'; give a number"),
        ("100 0 0", "255 0 0", "line 11: CMY_C is 255; give 0 to 100"),
        ("55.5", "155", "line 11: LAB_L is 155; give 0 to 110"),
        ("END_DATA\n", "", "line 9: BEGIN_DATA has no END_DATA; give the whole file"),
        ("ORIGINATOR", "ILLUMINANT D65 #", "line 2: the illuminant is D65; give values for D50"),
        ("ORIGINATOR", "OBSERVER 10 #", "line 2: the observer is 10 degrees; give values for 2"),
        ("LAB_B", "LAB_A", "line 5: the column LAB_A appears twice; keep one"),
        ("CMY_C", "RGB_R", "no measurements: the columns are SAMPLE_ID, RGB_R"),
        ("BEGIN_DATA_FORMAT\n", "", "line 8: BEGIN_DATA without BEGIN_DATA_FORMAT"),
    ],
)
def test_refusals_name_the_line(old: str, new: str, message: str) -> None:
    assert old in CHART
    assert f"chart.txt: {message}" in refused(CHART.replace(old, new, 1))


def test_what_is_no_such_text_is_refused(tmp_path: Path) -> None:
    assert "no measurements" in refused("")
    assert "no measurements" in refused("hello\x00\x1b[2J")
    assert "over 100,000 characters" in refused("1 " * 60_000)
    assert "line 200001: comes after 200,000 others" in refused("\n" * 200_001)
    with pytest.raises(CgatsError, match="cannot be read"):
        cgats.read(tmp_path / "missing.txt")
    with pytest.raises(CgatsError, match="cannot be read"):
        cgats.read(tmp_path)
    large = tmp_path / "large.txt"
    large.write_bytes(b"# \n" * 4_000_000)
    with pytest.raises(CgatsError, match="over 10 MB"):
        cgats.read(large)


def test_the_source_is_told_in_a_few_lines_however_many_there_are() -> None:
    lines = "".join(f'COPYRIGHT "owner {number}"\n' for number in range(180_000))
    chart = parsed(lines + 'DESCRIPTOR "a chart"\n' + CHART)
    assert chart.source.startswith("owner 0; owner 1; owner 2")
    assert len(chart.source) <= 400
    assert chart.title == "a chart"


def test_too_many_patches_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cgats, "MAX_ROWS", 2)
    assert "line 12: is patch 3; give at most 2" in refused(CHART)
