"""A recipe as it is written: what a palette's inks give, asked for by their tints."""

from __future__ import annotations

import re

from tuimatch.errors import TargetError
from tuimatch.palette.model import Ink, Palette
from tuimatch.text import percent

_NUMBER = re.compile(r"(\d{1,3}(?:\.\d{1,2})?)\s*%?")
# Far longer than a recipe; what is pasted may be a megabyte, and each prefix may be an ink's name.
_LONGEST = 2000
_LABEL_AND_SHARE = re.compile(rf"(.+) {_NUMBER.pattern}")


def read(palette: Palette, text: str) -> tuple[float, ...] | None:
    """The tints of a recipe such as ``yellow 100 %, magenta 50 %`` or ``coral: brick``.

    It can also be typed as it is shown, ``coral: brick 60 %``. Inks go by name or symbol, in any
    order and letter case; an ink that is not named is not laid.

    Returns:
        Percent for every ink in laying order, or None when the text does not list inks with tints:
        it may still be a colour.

    Raises:
        TargetError: It is a recipe, but names an ink twice or a tint that the ink does not have.
    """
    if len(text) > _LONGEST:
        return None
    text = " ".join(text.split())
    if text.casefold() == palette.recipe_text((0.0,) * len(palette.inks)):
        return (0.0,) * len(palette.inks)
    tints: dict[int, float] = {}
    for part in text.split(","):
        found = _ink_and_tint(palette, part.strip())
        if found is None:
            return None
        position, written = found
        ink = palette.inks[position]
        tint = _tint(ink, written)
        if tint not in ink.steps:
            ladder = ", ".join(map(percent, ink.steps))
            raise TargetError(text, f"{ink.name} has no tint {written}; give {ladder}")
        if position in tints:
            raise TargetError(text, f"has {ink.name} twice; give each ink one tint")
        tints[position] = tint
    return tuple(tints.get(position, 0.0) for position in range(len(palette.inks)))


def _ink_and_tint(palette: Palette, part: str) -> tuple[int, str] | None:
    """An ink's position and what is written after its name."""
    for end in range(len(part) - 1, 0, -1):  # the longest name first: "light cyan 50" is not cyan
        if part[end] in " :=" and (position := palette.ink_position(part[:end])) is not None:
            written = part[end:].strip(" :=")
            if _tint(palette.inks[position], written) is not None:
                return position, written
    return None


def _tint(ink: Ink, written: str) -> float | None:
    """The tint that a number means, or a label, or the two together as they are shown."""
    called = ink.tint_called(written)
    if called is not None:
        return called
    number = _NUMBER.fullmatch(written)
    if number:
        tint = float(number[1])
        shown = (step for step in ink.steps if percent(step) == percent(tint))
        return tint if tint in ink.steps else next(shown, tint)
    with_share = _LABEL_AND_SHARE.fullmatch(written)
    tint_called = ink.tint_called(with_share[1]) if with_share else None
    if with_share is None or tint_called is None:
        return None
    return tint_called if percent(tint_called) == percent(float(with_share[2])) else None
