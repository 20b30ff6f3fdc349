"""Foreign text is data."""

from __future__ import annotations

import csv
import io
import json
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.files import csv_out
from tuimatch.files.json_out import to_json
from tuimatch.text import has_unsafe, hexed, is_unsafe, printable, rgb_of_hex


def test_a_text_is_unsafe_when_a_character_of_it_is():
    for number in range(sys.maxunicode + 1):
        assert has_unsafe(f"a{chr(number)}") == is_unsafe(chr(number)), hex(number)


@given(st.text())
def test_what_is_printed_is_safe_and_safe_text_stays(text):
    assert not has_unsafe(printable(text))
    assert has_unsafe(text) or printable(text) == text


@given(st.recursive(st.text() | st.integers() | st.none(), lambda x: st.lists(x, max_size=3)))
def test_json_holds_all_and_nothing_unsafe(value):
    for indent in (None, 1):
        text = to_json({"a": value}, indent=indent)
        assert json.loads(text) == {"a": value}
        assert not has_unsafe(text.replace("\n", "") if indent else text)


def test_json_leaves_ordinary_text_readable():
    assert to_json({"Öl": "磯 😀", "n": 1.5}) == '{"Öl": "磯 😀", "n": 1.5}'
    assert to_json("\x9b\x7f\u202e\U000e0041") == r'"\u009b\u007f\u202e\udb40\udc41"'


@given(st.lists(st.text(), min_size=1))
def test_csv_holds_nothing_unsafe_and_no_formula(cells):
    text = csv_out.to_csv(["a"] * len(cells), [cells])
    (_, row) = csv.reader(io.StringIO(text, newline=""))
    assert not any(map(has_unsafe, row))
    assert not any(cell.lstrip(" ").startswith(tuple("=+-@＝＋－＠")) for cell in row)
    assert [cell.removeprefix("'") for cell in row] == [
        printable(cell).removeprefix("'") for cell in cells
    ]


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_hex_reads_back_in_either_case(rgb):
    assert rgb_of_hex(hexed(rgb)) == rgb_of_hex(hexed(rgb).upper()) == rgb
    assert hexed([x + 0.4 for x in rgb]) == hexed(rgb)


@pytest.mark.parametrize(
    "text", ["", "#fff", "fffdf5", "#fffdf5 ", "#fffdf5\n", "#+1+2+3", "#１１１１１１"]
)
def test_only_six_hex_digits_are_hex(text):
    with pytest.raises(ValueError, match="is not six hex digits"):
        rgb_of_hex(text)
