"""Tables on the command line: columns that line up, exact colours where the terminal shows them."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from tuimatch.text import printable

RGB = tuple[int, int, int]
_SWATCH = 4  # cells


def print_table(
    rows: Sequence[Sequence[str]],
    columns: str,
    *,
    heads: Sequence[str] = (),
    seams: Sequence[Sequence[RGB]] = (),
) -> None:
    """Print rows as columns; nothing where there are no rows.

    Args:
        rows: Cells as plain text.
        columns: How each column is set: ``<`` to the left, ``>`` to the right.
        heads: A row above the others.
        seams: For each row the colours before it, as many for every row; they are left out where
            the terminal cannot show them.
    """
    if not rows:
        return
    lines = aligned([heads, *rows] if heads else rows, columns)
    if seams and truecolour():
        before = [swatches(*colours) for colours in seams]
        room = " " * (_SWATCH * len(seams[0]) + 1)
        lines = [a + b for a, b in zip([room, *before] if heads else before, lines, strict=True)]
    print("\n".join(lines))


def aligned(rows: Sequence[Sequence[str]], columns: str) -> list[str]:
    """A line for each row, two spaces between the columns; no column for empty cells alone.

    Widths are those of a terminal, where ``漆`` takes two cells and a combining mark none.
    """
    shown = [[printable(cell) for cell in row] for row in rows]
    kept = [i for i in range(len(columns)) if any(row[i] for row in shown)]
    widths = {i: max(_cells(row[i]) for row in shown) for i in kept}
    return ["  ".join(_set(row[i], widths[i], columns[i]) for i in kept).rstrip() for row in shown]


def _set(cell: str, width: int, side: str) -> str:
    room = " " * (width - _cells(cell))
    return room + cell if side == ">" else cell + room


def _cells(text: str) -> int:
    if text.isascii():
        return len(text)
    from rich.cells import cell_len  # as the interface measures

    return cell_len(text)


def truecolour() -> bool:
    """Whether standard output is a terminal that shows 24-bit colour."""
    return (
        sys.stdout.isatty()
        and "NO_COLOR" not in os.environ
        and os.environ.get("TERM") != "dumb"
        and os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit")
    )


def swatches(*colours: RGB, width: int = _SWATCH) -> str:
    """Swatches that touch, and a space."""
    ground = "\x1b[48;2;{};{};{}m"
    return "".join(ground.format(*rgb) + " " * width for rgb in colours) + "\x1b[0m "
