"""A short run of the monkey; `tests/monkey.py` hunts on."""

from __future__ import annotations

import monkey
import pytest


@pytest.mark.parametrize("seed", [1, 2])
def test_nothing_that_is_hit_makes_the_interface_fail(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    assert monkey.run(seed, 250) >= 250
