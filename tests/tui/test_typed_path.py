"""Paths as people type, paste or drop them."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.files.in_file import typed_path


@pytest.mark.parametrize(
    ("text", "path"),
    [
        (" quay.png ", "quay.png"),
        ("'/tmp/the quay.png'", "/tmp/the quay.png"),
        (r"/tmp/the\ quay.png", "/tmp/the quay.png"),
        ("the quay.png", "the quay.png"),
        ("Oda's lamp.png", "Oda's lamp.png"),
        ("~nobody-of-that-name/x.png", "~nobody-of-that-name/x.png"),
    ],
)
def test_paths(text: str, path: str) -> None:
    assert typed_path(text) == Path(path)


def test_home_and_names_that_are_there(tmp_path: Path) -> None:
    assert typed_path("~/quay.png") == Path.home() / "quay.png"
    odd = tmp_path / r"a\ b.png"
    odd.write_text("")
    assert typed_path(str(odd)) == odd


@given(st.text())
def test_any_text_is_some_path(text: str) -> None:
    assert isinstance(typed_path(text), Path)
