"""Exact colours on the command line, where the terminal can show them."""

from __future__ import annotations

import os
import sys

RGB = tuple[int, int, int]


def truecolour() -> bool:
    """Whether standard output is a terminal that shows 24-bit colour."""
    return (
        sys.stdout.isatty()
        and "NO_COLOR" not in os.environ
        and os.environ.get("TERM") != "dumb"
        and os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit")
    )


def swatches(*colours: RGB, width: int = 4) -> str:
    """Swatches that touch, and a space."""
    ground = "\x1b[48;2;{};{};{}m"
    return "".join(ground.format(*rgb) + " " * width for rgb in colours) + "\x1b[0m "
