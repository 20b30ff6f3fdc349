"""What a column may hold: how the log keeps it, and what of it is taken from elsewhere."""

from __future__ import annotations

import json
import re
import reprlib
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from tuimatch.log import soundness
from tuimatch.palette.model import Triple
from tuimatch.text import has_unsafe, printable

# No choice was made earlier, and every time zone can show what lies between.
_FIRST_YEAR, _LAST_YEAR = 1970, 9998


@dataclass(frozen=True)
class Kind:
    """One kind of value.

    Attributes:
        read: The value of what the log holds; raises `UnsoundRowError`.
        taken: The value of what a project file holds; raises `ValueError`, whose message follows
            the name of the key: ``is 5, not [L, a, b]``.
        stored: What the log holds for a value.
        sql: The type of its column.
    """

    read: Callable[[object], Any]
    taken: Callable[[object], Any]
    stored: Callable[[Any], str | float] = str
    sql: str = "TEXT"


def composed(text: str, most: int) -> str:
    """A text in composed form (NFC) without the space around it.

    Raises:
        ValueError: It is too long or holds control characters; the message follows its name.
    """
    text = text.strip()
    # Composing a hostile text takes time by the square of its length, and leaves a quarter or more.
    if len(text) <= 4 * most:
        text = unicodedata.normalize("NFC", text)
        if has_unsafe(text):
            raise ValueError(f"{text[:60]!r} holds a control character; give plain printable text")
    if len(text) > most:
        raise ValueError(f"has {len(text)} characters; give at most {most}")
    return text


def text(most: int, *, empty: bool = True) -> Kind:
    """A text of so many characters."""

    def taken(value: object) -> str:
        found = composed(_of(str, value), most)
        if not found and not empty:
            raise ValueError("is empty")
        return found

    return Kind(soundness.text, taken)


def form(pattern: str, read: Callable[[object], str] = soundness.text) -> Kind:
    """A text of one form."""

    def taken(value: object) -> str:
        if not re.fullmatch(pattern, _of(str, value)):
            raise ValueError(f"is {shown(value)}")
        return str(value)

    return Kind(read, taken)


def one_of(*words: str) -> Kind:
    """One of a few words."""

    def taken(value: object) -> str:
        if value not in words:
            raise ValueError(f"is {shown(value)}; give one of {', '.join(words)}")
        return str(value)

    def read(value: object) -> str:
        if value not in words:
            raise soundness.UnsoundRowError(f"{value!r:.80} is not one of {', '.join(words)}")
        return str(value)

    return Kind(read, taken)


def number(least: float, most: float) -> Kind:
    """A number from least to most."""

    def taken(value: object) -> float:
        usable = isinstance(value, int | float) and not isinstance(value, bool)
        if not usable or not least <= value <= most:  # type: ignore[operator]
            raise ValueError(f"is {shown(value)}, not a number from {least:g} to {most:g}")
        return float(value)  # type: ignore[arg-type]

    return Kind(soundness.number, taken, float, "REAL")


def _lab(value: object) -> Triple:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"is {shown(value)}, not [L, a, b]")
    first, second, third = map(_COORDINATE.taken, value)
    return first, second, third


def _tints(value: object) -> dict[str, float]:
    tints: Mapping[object, object] = _of(dict, value)
    if not tints:
        raise ValueError("is empty")
    return {INK.taken(ink): TINT.taken(tint) for ink, tint in tints.items()}


def _moment(value: object) -> str:
    try:
        found = datetime.fromisoformat(str(value))
    except ValueError:
        found = None
    if not isinstance(value, str) or found is None or found.utcoffset() is None:
        raise ValueError(f"is {shown(value)}, not a time with its zone")
    if not _FIRST_YEAR <= found.year <= _LAST_YEAR:
        raise ValueError(f"is {shown(value)}, not a time from {_FIRST_YEAR} to {_LAST_YEAR}")
    return found.astimezone(UTC).isoformat()


def _of(kind: type, value: object) -> Any:
    if not isinstance(value, kind):
        raise ValueError("is missing" if value is None else f"is {shown(value)}")
    return value


def shown(value: object) -> str:
    """A foreign value in a refusal, cut to what a line has room for."""
    found = printable(reprlib.repr(value)[:80])
    return found if len(found) <= 60 else found[:57] + "..."


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


_COORDINATE = number(-300, 300)
INK = text(40, empty=False)
TINT = number(0, 100)
IDENTITY = form("[0-9a-f]{32}")
DIGEST = form("[0-9a-f]{64}")
SRGB = form("#[0-9a-f]{6}", soundness.srgb)
LAB = Kind(soundness.triple, _lab, _json)
TINTS = Kind(soundness.tints, _tints, _json)
MOMENT = Kind(soundness.moment, _moment)
