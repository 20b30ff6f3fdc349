"""Times as people see them."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest

from tuimatch.text import local_time


@pytest.fixture
def _new_york(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "EST5EDT,M3.2.0,M11.1.0")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("_new_york")
@pytest.mark.parametrize(
    ("moment", "shown"),
    [
        ("2026-11-25T16:15:41+00:00", "2026-11-25 11:15"),
        ("2026-07-01T02:30:00+00:00", "2026-06-30 22:30"),
        ("2026-11-25T16:15:41.250000", "2026-11-25 11:15"),
        ("0001-01-01T00:00:00+00:00", "0001-01-01T00:00:00+00:00"),
        ("long ago\x1b", "long ago\\x1b"),
    ],
)
def test_the_clock_on_the_wall(moment: str, shown: str) -> None:
    assert local_time(moment) == shown
