"""Columns that line up in a terminal, whatever is written in them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from command import Cli
from hypothesis import given
from hypothesis import strategies as st
from kept import COAT, PALETTE, choice, keep
from wcwidth import wcswidth  # the cells as another library counts them

from tuimatch.cli.tables import aligned
from tuimatch.log import Log
from tuimatch.palette import file as palette_file

LABELS = ["灯りのガラス", "lamp", "e\u0301clat", "ｆｕｌｌ"]


def starts(line: str, word: str) -> int:
    """The cell in which a word of a line begins."""
    return wcswidth(line[: line.index(word)])


def test_wide_and_combining_characters_take_their_cells() -> None:
    rows = [[label, "end"] for label in LABELS]
    lines = aligned(rows, "<<")
    assert {starts(line, "end") for line in lines} == {14}
    assert {wcswidth(line) for line in aligned([row[:1] for row in rows], ">")} == {12}


@given(st.lists(st.tuples(*[st.text("aé漆か゛\u0301 ｱ", max_size=6)] * 2), min_size=1))
def test_every_column_begins_in_one_cell(rows: list[tuple[str, str]]) -> None:
    lines = aligned([[*row, "|"] for row in rows], "<><")
    assert len({starts(line, "|") for line in lines}) == 1


def test_a_column_of_nothing_is_left_out_and_foreign_text_is_data() -> None:
    assert aligned([["a", "", "b"], ["\x1b[2J", "", "c"]], "<<>") == ["a        b", "\\x1b[2J  c"]


@pytest.mark.parametrize(
    ("command", "column"),
    [
        (("log",), "#ffe800"),
        (("projects",), "since"),
        (("economy", "--project", "灯り"), "yellow 100 %"),
        (("passes", "--project", "灯り"), r"\d: "),
        (("match", "tomato", "--palette", "own.toml"), r"(?<=\d)  (?=[a-z])|(?<=ge)  (?=d)"),
    ],
)
def test_a_japanese_label_breaks_no_table(cli: Cli, command: tuple[str, ...], column: str) -> None:
    text = PALETTE.text.replace('"yellow"', '"黄色のインク"').replace('"magenta"', '"紅"')
    (cli.folder / "own.toml").write_text(text, encoding="utf-8")
    own = palette_file.load(str(cli.folder / "own.toml"))
    with Log(cli.log) as log:
        keep(log, "hull", "灯りのガラス", project="灯り")
        tints = dict(zip([ink.name for ink in own.inks], COAT, strict=True))
        coat = replace(choice("mast", project="灯り"), palette_digest=own.digest, tints=tints)
        log.keep(own, coat)
        keep(log, "mast", project="boats")
    begun = [
        wcswidth(line[: found.start()])
        for line in cli(*command).splitlines()
        if (found := re.search(column, line))
    ]
    assert len(begun) > 1
    assert len(set(begun)) == 1
