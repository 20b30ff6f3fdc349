"""Two interfaces in two terminals on one log: nothing is lost, and each sees what the other did."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from kept import labels
from terminal import Terminal

from tuimatch.log import Log


class Window(NamedTuple):
    """A terminal, and the other beside it, whose output is read while this one is waited for."""

    own: Terminal
    other: Terminal

    def sees(self, *texts: str) -> None:
        for text in texts:
            self.own.until(lambda text=text: self.other.read(0) is None or text in self.own.text)

    def no_longer_sees(self, text: str) -> None:
        self.own.until(lambda: self.other.read(0) is None or text not in self.own.text)

    def does(self, *keys: str) -> None:
        self.own.press(*keys)
        self.other.settle(0.05)

    def take(self, rank: int, label: str) -> None:
        """Take a recipe and call it so; each press waits for what it does."""
        self.does(str(rank))
        self.sees("a label, such as")
        self.does(label, "enter")
        self.no_longer_sees("a label, such as")
        self.sees(label)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


def kept(path: Path) -> list[str]:
    with Log(path) as log:
        return labels(log.choices("ferrow"))


def test_takes_removals_and_undo_in_both_lose_nothing(path: Path) -> None:
    opening = ("--log", str(path), "--project", "ferrow")
    with (
        Terminal("tomato", *opening, size=(160, 45)) as first,
        Terminal("#5a8a3a", *opening, size=(160, 45)) as second,
    ):
        one, two = Window(first, second), Window(second, first)
        for window in (one, two):
            window.sees("ΔE", "Take")
        # What one takes is on the strip of the other, without a key being pressed there.
        one.take(1, "harbour")
        two.sees("harbour")
        two.take(1, "meadow")
        one.sees("meadow")
        one.take(2, "brick")
        two.take(2, "reed")
        one.sees("reed")
        two.sees("brick")
        assert kept(path) == ["harbour", "meadow", "brick", "reed"]
        # Undo is of the project: what was done last goes, wherever it was done.
        one.does("u")  # the recipe of reed and its label, which are one step
        one.sees("undone: took")
        two.no_longer_sees("reed")
        two.does("U")
        two.sees("redone: took", "reed")
        one.sees("reed")
        assert kept(path) == ["harbour", "meadow", "brick", "reed"]
        # One removes in its review, the other brings it back.
        one.does("v")
        one.sees("4 recipes")
        one.does("/", "brick", "enter")
        one.sees("1 recipe")
        one.does("x")
        one.sees("removed brick")
        two.no_longer_sees("brick")
        assert kept(path) == ["harbour", "meadow", "reed"]
        two.does("u")
        two.sees("undone: removed", "brick")
        assert kept(path) == ["harbour", "meadow", "brick", "reed"]
        one.does("escape", "escape")
        one.sees("Take", "brick")
        # Both at the same moment.
        for terminal, label in ((first, "left"), (second, "right")):
            terminal.send("3")
            terminal.until("a label, such as")
            terminal.send(f"{label}\r")
        one.sees("left", "right")
        two.sees("left", "right")
        assert sorted(kept(path)) == ["brick", "harbour", "left", "meadow", "reed", "right"]
        for terminal in (first, second):
            terminal.press("q")
            assert terminal.wait() == 0
    assert sorted(kept(path)) == ["brick", "harbour", "left", "meadow", "reed", "right"]
