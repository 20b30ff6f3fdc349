"""Limits as they are typed: how many inks, without an ink, an ink at a tint, how much coverage.

A limit is checked against the palette alone, so a wrong one is refused before a recipe is mixed.
Every refusal is a `NarrowingError` of one line: the option, what is wrong, what would be right.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite

from tuimatch.errors import NarrowingError
from tuimatch.match.limits import Narrowing
from tuimatch.palette.model import Palette
from tuimatch.text import exact

NO_LIMIT = "none"


def read(
    palette: Palette,
    *,
    without: Iterable[str] = (),
    fixed: Iterable[str] = (),
    max_inks: str | None = None,
    max_coverage: str | None = None,
) -> Narrowing:
    """The narrowing that the options ask for.

    Args:
        palette: Its own coverage limit is taken unless another is given.
        without: Values of ``--without``; inks by name or symbol.
        fixed: Values of ``--with``, such as ``magenta=50`` or ``coral=brick``.
        max_inks: Value of ``--max-inks``.
        max_coverage: Value of ``--max-coverage``, percent; ``none`` removes the palette's limit.

    Raises:
        NarrowingError: An ink, tint or number is wrong, or two of them contradict each other.
    """
    left_out = frozenset(ink(palette, text, f"--without {text}") for text in without)
    tints: dict[int, float] = {}
    for text in fixed:
        position, tint = fixed_tint(palette, text)
        name = palette.inks[position].name
        if position in left_out:
            raise NarrowingError(
                f"--with {text}: {name} is left out by --without; give one of them"
            )
        if tints.setdefault(position, tint) != tint:
            raise NarrowingError(
                f"--with {text}: {name} is fixed at {exact(tints[position])} % already; "
                "give each ink one tint"
            )
    return Narrowing(
        max_inks=None if max_inks is None else ink_count(palette, max_inks),
        without=left_out,
        fixed=frozenset(tints.items()),
        max_coverage=palette.coverage_limit if max_coverage is None else coverage(max_coverage),
    )


def ink(palette: Palette, text: str, option: str) -> int:
    """The position of an ink given by name or symbol.

    Args:
        palette: The palette.
        text: The name or symbol.
        option: What was typed, for the refusal.

    Raises:
        NarrowingError: The palette has no such ink.
    """
    position = palette.ink_position(text)
    if position is None:
        names = ", ".join(ink.name for ink in palette.inks)
        raise NarrowingError(f"{option}: {palette.stem} has no such ink; give {names}")
    return position


def fixed_tint(palette: Palette, text: str) -> tuple[int, float]:
    """The ink and the tint of ``INK=TINT``; the tint in percent, or by the palette's label.

    Raises:
        NarrowingError: It has another form, or the palette lacks the ink or the tint.
    """
    name, equals, value = text.rpartition("=")
    if not equals:
        raise NarrowingError(f"--with {text}: give INK=TINT, such as {_example(palette)}")
    position = ink(palette, name, f"--with {text}")
    found = palette.inks[position]
    tint = found.tint_called(value)
    if tint is None:
        tint = _number(value)
    if tint not in found.steps:
        ladder = ", ".join(map(exact, found.steps))
        raise NarrowingError(f"--with {text}: {found.name} has no such tint; give {ladder}")
    return position, tint


def ink_count(palette: Palette, text: str) -> int:
    """The most inks a recipe may have.

    Raises:
        NarrowingError: It is not a valid number.
    """
    count = _number(text)
    if count is None or count < 0 or count != int(count):
        raise NarrowingError(
            f"--max-inks {text}: is not a valid number; "
            f"give a whole number up to {len(palette.inks)}"
        )
    return int(count)


def coverage(text: str) -> float | None:
    """The most total area coverage in percent, or None for no limit.

    Raises:
        NarrowingError: It is neither.
    """
    if text.strip().casefold() == NO_LIMIT:
        return None
    limit = _number(text)
    if limit is None or limit < 0:
        raise NarrowingError(
            f"--max-coverage {text}: is not a percentage; give a number such as 240, or {NO_LIMIT}"
        )
    return limit


def _number(text: str) -> float | None:
    try:
        number = float(text.strip().removesuffix("%"))
    except ValueError:
        return None
    return number if isfinite(number) else None


def _example(palette: Palette) -> str:
    first = palette.inks[0]
    return f"{first.name}={exact(first.tints[0])}"
