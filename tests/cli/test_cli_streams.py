"""The command where a stream is closed or its disk is full, and where a file cannot be."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from command import Cli
from support import PATIENCE


def ended(cli: Cli, *arguments: str, closed: tuple[int, ...] = (), **streams) -> tuple:
    """Exit code, output and errors of a command some of whose streams are closed."""

    def close() -> None:
        for number in closed:
            os.close(number)

    with cli.start(*arguments, preexec_fn=close, **streams) as process:
        out, err = process.communicate(timeout=PATIENCE)
        return process.returncode, out, err


def test_closed_standard_input_holds_no_colours(cli: Cli) -> None:
    assert ended(cli, "match", "-", closed=(0,)) == (0, "", "")


@pytest.mark.parametrize("arguments", [(), ("red",), ("pick", "a.png"), ("palettes", "make")])
def test_what_needs_a_terminal_says_so_where_standard_input_is_closed(
    cli: Cli, arguments: tuple[str, ...]
) -> None:
    out = ("--out", "own.toml") if arguments[:1] == ("palettes",) else ()
    code, said, refusal = ended(cli, *arguments, *out, closed=(0,))
    assert (code, said) == (2, "")
    assert "terminal" in refusal
    assert refusal.count("\n") == 1


@pytest.mark.parametrize("closed", [(1,), (0, 1), (0, 1, 2)])
def test_closed_standard_output_is_quiet(cli: Cli, closed: tuple[int, ...]) -> None:
    assert ended(cli, "match", "tomato", closed=closed) == (0, "", "")
    assert ended(cli, "--help", closed=closed) == (0, "", "")


def test_closed_standard_error_takes_the_line_with_it(cli: Cli) -> None:
    assert ended(cli, "match", "burple", closed=(2,)) == (2, "", "")


FULL = Path("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="needs /dev/full")
@pytest.mark.parametrize("arguments", [("match", "tomato"), ("palettes",)])
def test_a_full_disk_gets_one_line(cli: Cli, arguments: tuple[str, ...]) -> None:
    with FULL.open("w") as full:
        code, _, refusal = ended(cli, *arguments, stdout=full)
        assert (code, refusal) == (2, "tuimatch: cannot read or write: No space left on device\n")
        assert ended(cli, *arguments, stdout=full, stderr=full)[0] == 2


def test_the_home_of_nobody(cli: Cli) -> None:
    nobody = "~nobody-of-this-name"
    assert "no such home folder" in cli.refuses("log", "--log", f"{nobody}/x")
    assert "no such palette" in cli.refuses("match", "red", "--palette", f"{nobody}/x")
    assert "cannot be read" in cli.refuses("match", "red", "--palette", f"{nobody}/x.toml")
    assert "cannot be read" in cli.refuses("swatch", f"{nobody}/x.png")
    assert "cannot be read" in cli.refuses("pick", f"{nobody}/x.png", "--at", "1,1")
    out = ("--out", "own.toml")
    assert "cannot be read" in cli.refuses("palettes", "make", f"{nobody}/x.csv", *out)
    assert "cannot be read" in cli.refuses("palettes", "import", f"{nobody}/x.ti3", *out)
    assert list(cli.folder.iterdir()) == []
