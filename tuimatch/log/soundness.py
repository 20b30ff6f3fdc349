"""What a row must hold beyond what SQLite checks; one that does not is taken for damage.

SQLite keeps any text in a column of JSON, bytes in one of text and text in one of numbers, and says
that all is well. So each reader here raises `UnsoundRowError` for a value that is not of its kind.
"""

from __future__ import annotations

import json
import math
import re
from datetime import datetime
from itertools import chain
from typing import Any

from tuimatch.palette.model import Triple

Columns = dict[str, Any]

_SRGB = re.compile(r"#[0-9a-f]{6}")


class UnsoundRowError(ValueError):
    """A row that SQLite reads and that still cannot be ours."""


def without_blobs(_: object, row: tuple[Any, ...]) -> tuple[Any, ...]:
    """A row as it is; one with bytes is refused, as no column of ours holds any.

    For `Connection.row_factory`.

    Raises:
        UnsoundRowError: It holds bytes.
    """
    if bytes in map(type, row):
        raise UnsoundRowError("bytes where a text should be")
    return row


def text(value: object) -> str:
    """A text."""
    if not isinstance(value, str):
        raise UnsoundRowError(f"{value!r:.80} is not text")
    return value


def srgb(value: object) -> str:
    """A colour as ``#rrggbb``."""
    if not _SRGB.fullmatch(text(value)):
        raise UnsoundRowError(f"{value!r:.80} is not a colour")
    return text(value)


def moment(value: object) -> str:
    """A time with its zone, ISO 8601."""
    try:
        if datetime.fromisoformat(text(value)).utcoffset() is not None:
            return text(value)
    except ValueError:
        pass
    raise UnsoundRowError(f"{value!r:.80} is not a time")


def number(value: object) -> float:
    """A number that is finite."""
    try:
        if isinstance(value, int | float) and math.isfinite(value):
            return float(value)
    except OverflowError:
        pass
    raise UnsoundRowError(f"{value!r:.80} is not a number")


def triple(value: object) -> Triple:
    """Three numbers, from JSON."""
    found = _json(value)
    if not isinstance(found, list) or len(found) != 3:
        raise UnsoundRowError(f"{value!r:.80} is not three numbers")
    first, second, third = map(number, found)
    return first, second, third


def tints(value: object) -> dict[str, float]:
    """Numbers by name, from JSON."""
    found = _json(value)
    if not isinstance(found, dict) or not all(map(_is_value, found)):
        raise UnsoundRowError(f"{value!r:.80} is not a recipe")
    return {name: number(tint) for name, tint in found.items()}


def image(value: object) -> Columns | None:
    """The columns of a row as they once were, from JSON; None for no row.

    Ticks are ink and tint. Up to the third schema a kind came first, and is left out here.
    """
    if value is None:
        return None
    found = _json(value)
    # Their names go into the statement that puts them back.
    if not isinstance(found, dict) or not all(map(str.isidentifier, found)):
        raise UnsoundRowError(f"{value!r:.80} is not a row")
    ticks = found.get("ticks", [])
    if not isinstance(ticks, list) or not all(
        isinstance(tick, list) and len(tick) in (2, 3) for tick in ticks
    ):
        raise UnsoundRowError(f"{value!r:.80} is not a row")
    if "ticks" in found:
        found["ticks"] = ticks = [tick[-2:] for tick in ticks]
    values = [found[name] for name in found if name != "ticks"]
    if not all(map(_is_value, chain(values, *ticks))):
        raise UnsoundRowError(f"{value!r:.80} is not a row")
    return found


def _is_value(value: object) -> bool:
    """Whether SQLite can keep a value that JSON can hold."""
    if isinstance(value, str):
        return not any("\ud800" <= c <= "\udfff" for c in value)
    if isinstance(value, int):
        return abs(value) < 2**63
    return value is None or isinstance(value, float)


def _json(value: object) -> Any:
    try:
        return json.loads(text(value))
    except (ValueError, RecursionError) as error:
        raise UnsoundRowError(f"{value!r:.80} is not JSON") from error
