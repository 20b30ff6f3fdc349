"""Which choices a command means: those of a page, or some by their numbers."""

from __future__ import annotations

import argparse


def add_scope(parser: argparse.ArgumentParser) -> None:
    """Let a command for a project be for a page of it, or for some of its areas alone."""
    scope = parser.add_mutually_exclusive_group()
    scope.add_argument("--page", metavar="N", help="only the areas of this page")
    scope.add_argument(
        "--only",
        action="extend",
        type=_numbers,
        metavar="ID[,ID…]",
        help="only these areas, by the numbers that `tuimatch log` prints; may be given again",
    )


def number(text: str) -> int:
    """The number of a choice."""
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        raise argparse.ArgumentTypeError(f"{text!r} is no number of a choice; `log` lists them")
    return int(text)


def _numbers(text: str) -> list[int]:
    return [number(part.strip()) for part in text.split(",")]
