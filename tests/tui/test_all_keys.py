"""Every key of the interface: explained, and printed as a file that it reads."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from command import Cli
from textual.screen import Screen

from tuimatch.tui import keys_file
from tuimatch.tui.all_keys import OWNERS, defaults, meanings
from tuimatch.tui.screens.help_screen import HelpScreen


def test_the_keys_printed_are_the_keys_there_are(tmp_path: Path) -> None:
    own = tmp_path / "keys.toml"
    own.write_text('[keys]\nmatch.take = "enter,Y"')
    tuimatch = Cli(tmp_path)
    tuimatch.environment["TUIMATCH_KEYS"] = str(own)
    printed = tuimatch("keys")
    own.write_text(printed, encoding="utf-8")
    there = keys_file.load({"TUIMATCH_KEYS": str(own)}, defaults())
    assert there == defaults() | {"match.take": "enter,Y"}
    assert 'match.take = "enter,Y"' in printed
    assert "# Copy the recipe and keep it in the log" in printed
    assert len(tomllib.loads(printed)["keys"]["match"]) > 40


def test_every_key_says_what_it_does() -> None:
    assert all(meanings().values())


@pytest.mark.parametrize("owner", [one for one in OWNERS if issubclass(one, Screen)])
def test_every_screen_explains_itself(owner: type[Screen[object]]) -> None:
    keys_bound = {key for b in owner.BINDINGS for key in getattr(b, "key", "").split(",")}
    # Where every key is typed into an answer, a function key helps.
    assert keys_bound & {"question_mark", "f1"}
    assert owner is HelpScreen or hasattr(owner, "action_help")
