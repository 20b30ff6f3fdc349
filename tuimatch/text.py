"""Foreign text is data: what may be shown of it, and how numbers are written."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from datetime import UTC, datetime

# Control, format (bidirectional overrides, joiners), surrogate, private use, line and paragraph
# separators: each could steer a terminal or hide what a line really says.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}

_HEX = re.compile("#[0-9a-fA-F]{6}")


def is_unsafe(character: str) -> bool:
    """Whether one character could act on a terminal or deceive a reader."""
    return unicodedata.category(character) in _UNSAFE


def has_unsafe(text: str) -> bool:
    """Whether a text holds a character that `printable` would have to replace."""
    # `str.isprintable` is false for just these, and for every space but the usual one.
    return not text.isprintable() and any(map(is_unsafe, text))


def printable(text: str) -> str:
    r"""The text with every unsafe character written as an escape, such as ``\x1b``."""
    if not has_unsafe(text):
        return text
    return "".join(c.encode("unicode_escape").decode("ascii") if is_unsafe(c) else c for c in text)


def percent(tint: float) -> str:
    """A tint in percent as people read it, in three figures at most: 50, 23.5; 71.01 is 71."""
    return exact(float(f"{tint:.3g}")) if abs(tint) < 1000 else exact(tint)


def exact(number: float) -> str:
    """A number as files and the log keep it, without needless decimals: 50, 71.01."""
    return f"{number:g}"


def bar(done: float, width: int = 24) -> str:
    """How much is done, 0…1, as a bar of `width` characters and a percentage."""
    filled = round(width * done)
    return f"{'█' * filled}{'░' * (width - filled)} {round(100 * done):3d} %"


def hexed(rgb: Iterable[float]) -> str:
    """Three numbers of 0…255, rounded, as CSS writes 8-bit sRGB: ``#f3e3a1``."""
    return "#{:02x}{:02x}{:02x}".format(*map(round, rgb))


def rgb_of_hex(text: str) -> tuple[int, int, int]:
    """What `hexed` wrote, in letters of either case; what a person types `css_text` reads.

    Raises:
        ValueError: It is not # and six hex digits.
    """
    if not _HEX.fullmatch(text):
        raise ValueError(f"{text[:40]!r} is not six hex digits such as #ffe800")
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def local_time(moment: str) -> str:
    """A moment in the time of this machine, such as ``2026-11-25 11:15``.

    Args:
        moment: UTC, ISO 8601, as the log keeps it; what is not a time is given back as it is.
    """
    try:
        found = datetime.fromisoformat(moment)
    except ValueError:
        return printable(moment)
    if found.tzinfo is None:
        found = found.replace(tzinfo=UTC)
    try:
        return f"{found.astimezone():%Y-%m-%d %H:%M}"
    except (OverflowError, ValueError, OSError):  # before year 1 or after 9999 here
        return printable(moment)


def local_day(moment: str) -> str:
    """The day of a moment in the time of this machine: ``2026-11-25``; see `local_time`."""
    return local_time(moment)[:10]
