"""How hypothesis tries, and what the tests of commands and of the match screen work with.

The suite tries the same cases each time, as hypothesis's own profile for continuous integration
does: a check that guards a branch must say the same twice. New cases are hunted with
`--hypothesis-profile=long`. Neither has a deadline, for nothing here asserts a time.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from command import Cli
from hypothesis import HealthCheck, settings
from rest import go_on_at_rest
from support import of_profile

if TYPE_CHECKING:
    from match_app import Play

    from tuimatch.log import Log

# The terminal that screens are tested on, whatever the tests run in.
os.environ |= {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
go_on_at_rest()
# A shell lets what it runs in the background ignore interrupts, and with it all that it starts.
if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

settings.register_profile(
    "suite",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=100,
    suppress_health_check=list(HealthCheck),
)
settings.register_profile(
    "long", settings.get_profile("suite"), derandomize=False, print_blob=True, max_examples=5_000
)
settings.load_profile("suite")

# What `-m quick` runs: these folders, whose tests need no terminal and no browser, less the files
# that take longest.
_QUICK = {"chart", "colour", "files", "match", "palette", "recipe"}
_SLOW = {
    *("chart_forms", "ciede2000_bounds", "colorimetry", "neighbours", "ranking", "reach"),
    *("verdict", "wheel"),
}


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """`-m quick` does not even read the other folders."""
    within = collection_path.parent == Path(__file__).parent
    if within and collection_path.name not in _QUICK and config.getoption("markexpr") == "quick":
        return True
    return None  # as pytest would


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """One worker more than cores for `-n auto`: tests on a terminal wait more than they work."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """No law runs without the profile: with a deadline, or on cases that no one can repeat."""
    wild = [item.nodeid for item in items if not of_profile(getattr(item, "obj", None))]
    if wild:
        raise pytest.UsageError(f"made with settings older than the profile: {', '.join(wild)}")
    for item in items:
        if item.path.parent.name in _QUICK and item.path.stem.removeprefix("test_") not in _SLOW:
            item.add_marker("quick")


@pytest.fixture
def play(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Play:
    """Plays a scene on the match screen, whatever desktop the tests run on."""
    import match_app

    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    return partial(match_app.play, tmp_path / "log.sqlite")


@pytest.fixture
def cli(tmp_path: Path) -> Cli:
    """The command in a folder of its own, with no log yet."""
    return Cli(tmp_path)


@pytest.fixture
def ferrow(cli: Cli) -> Cli:
    """The same with three choices in the log."""
    from kept import three_choices

    three_choices(cli.log)
    return cli


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A log's file in a folder of its own, neither there yet."""
    return tmp_path / "folder" / "log.sqlite"


@pytest.fixture
def log(path: Path) -> Iterator[Log]:
    """The log in it, open."""
    from tuimatch.log import Log

    with Log(path) as opened:
        yield opened
