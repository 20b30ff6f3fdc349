"""A list of colours is read however people write one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tuimatch.errors import TargetError
from tuimatch.match import typed_colours
from tuimatch.text import hexed


def read(text: str) -> list[tuple[str, str]]:
    return [(hexed(colour.srgb), label) for colour, label in typed_colours.read(text)]


@pytest.mark.parametrize(
    ("line", "colour", "label"),
    [
        ("#d9803f lamp glass", "#d9803f", "lamp glass"),
        ("  #D9803F\tlamp glass ", "#d9803f", "lamp glass"),
        ("#d9803f, lamp glass, lit", "#d9803f", "lamp glass, lit"),
        ('"#d9803f","lamp ""nine"" glass"', "#d9803f", 'lamp "nine" glass'),
        ("#d9803f;lamp glass", "#d9803f", "lamp glass"),
        ("#d9803f", "#d9803f", ""),
        ("#fff paper", "#ffffff", "paper"),
        ("tomato", "#ff6347", ""),
        ("tomato,roof", "#ff6347", "roof"),
        ('"rgb(217, 128, 63)",lamp glass', "#d9803f", "lamp glass"),
        ("rgb(217 128 63)", "#d9803f", ""),
        ("rgb(217, 128, 63)", "#d9803f", ""),
    ],
)
def test_a_line(line: str, colour: str, label: str) -> None:
    assert read(line) == [(colour, label)]


def test_heads_and_empty_lines_are_passed_over() -> None:
    assert read("colour,label\n\n#fff,paper\r\n\n#000 ink\n") == [
        ("#ffffff", "paper"),
        ("#000000", "ink"),
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no colour"),
        ("colour,label", "holds no colour"),
        ("#fff\nroof", "line 2: is not a colour"),
        ("#ggg paper", "line 1: "),
        ("#12345 sky", "line 1: "),
        ("#fff\n" * 241, "at most 240"),
    ],
)
def test_refusals(text: str, said: str) -> None:
    with pytest.raises(TargetError, match=said) as caught:
        typed_colours.read(text)
    assert "\n" not in str(caught.value)


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    path = tmp_path / "list.txt"
    with pytest.raises(TargetError, match="cannot be read"):
        typed_colours.read_file(path)
    path.write_bytes(b"\xff\xfe#")
    with pytest.raises(TargetError, match="UTF-8"):
        typed_colours.read_file(path)
    path.write_text("#fff\nroof\n", encoding="utf-8")
    with pytest.raises(TargetError, match="line 2"):
        typed_colours.read_file(path)
