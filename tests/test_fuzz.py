"""Whatever foreign data come in, nothing but the one-line refusal comes out.

More cases than the default in a longer run: ``--hypothesis-profile=long`` (tests/conftest.py).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tuimatch import cgats
from tuimatch.errors import TuimatchError

Result = TypeVar("Result")


def read_or_refused(read: Callable[[], Result]) -> Result | None:
    """What was read, or None after a refusal of one printable line; all else is a failure."""
    try:
        return read()
    except TuimatchError as error:
        message = str(error)
    assert message
    assert message.isprintable()
    return None


def damaged(data: st.DataObject, whole: bytes) -> bytes:
    """The bytes of a good file with up to eight small wounds."""
    raw = bytearray(whole)
    for _ in range(data.draw(st.integers(1, 8))):
        at = data.draw(st.integers(0, len(raw)))
        raw[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
    return bytes(raw)


CHART = b"""CGATS.17
ORIGINATOR "nobody"
BEGIN_DATA_FORMAT
SAMPLE_ID CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B
END_DATA_FORMAT
BEGIN_DATA
"A 1" 0 0 0 90 0 2 # paper
"A 2" 100 0 0 55.5 -36 -5.0e1
END_DATA
"""
CHART_WORDS = [
    *("BEGIN_DATA_FORMAT", "END_DATA_FORMAT", "BEGIN_DATA", "END_DATA", "ILLUMINANT", "D65"),
    *("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", "CMY_C", "CMY_M", "CMY_Y"),
    *("LAB_L", "LAB_A", "LAB_B", "XYZ_X", "XYZ_Y", "XYZ_Z", "0", "100", "50", "-1", "1e9", "1,5"),
    *('"', '""', "#", "\n", "\r", "\x1b[2J", "\x00", "\u2028"),
]


@given(
    st.one_of(
        st.text(),
        st.lists(st.sampled_from(CHART_WORDS)).map(" ".join),
        st.lists(st.sampled_from(CHART_WORDS)).map("\n".join),
    )
)
def test_any_text_as_a_chart(text: str) -> None:
    chart = read_or_refused(lambda: cgats.parse(text, file="chart.txt"))
    assert chart is None or (len(chart) and np.isfinite(chart.lab).all())


@given(st.data())
def test_a_damaged_chart(data: st.DataObject) -> None:
    text = damaged(data, CHART).decode("utf-8-sig", errors="replace")
    read_or_refused(lambda: cgats.parse(text, file="chart.txt"))
