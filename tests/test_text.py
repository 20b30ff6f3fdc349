"""Foreign text is data."""

from __future__ import annotations

import sys

from hypothesis import given
from hypothesis import strategies as st

from tuimatch.text import has_unsafe, is_unsafe, printable


def test_a_text_is_unsafe_when_a_character_of_it_is():
    for number in range(sys.maxunicode + 1):
        assert has_unsafe(f"a{chr(number)}") == is_unsafe(chr(number)), hex(number)


@given(st.text())
def test_what_is_printed_is_safe_and_safe_text_stays(text):
    assert not has_unsafe(printable(text))
    assert has_unsafe(text) or printable(text) == text
