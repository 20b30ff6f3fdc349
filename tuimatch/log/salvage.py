"""Rows read straight from the pages of a SQLite file, where SQLite can no longer get at them.

SQLite finds a row by way of other pages; when one of those is damaged, whole rows are out of its
reach. Here every leaf page of a table is read for itself (SQLite file format, sections 1.5, 1.6
and 2.1), whatever pages lead to it. Which table a leaf is of must be told from its rows.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import suppress
from itertools import pairwise
from pathlib import Path

Value = int | float | str | bytes | None

_MAGIC = b"SQLite format 3\0"
_LEAF_OF_TABLE = 0x0D
_USUAL_PAGE = 4096
_SIZES = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0)


def rows(path: Path) -> Iterator[tuple[int, tuple[Value, ...]]]:
    """The rowid and the values of every row on a whole leaf page, in the order of the pages."""
    data = path.read_bytes()
    size, reserved = _USUAL_PAGE, 0
    if data.startswith(_MAGIC):
        (size,) = struct.unpack_from(">H", data, 16)
        size, reserved = (65536 if size == 1 else max(size, 512)), data[20]
    for start in range(0, len(data) - size + 1, size):
        head = start + (100 if start == 0 else 0)
        if data[head] != _LEAF_OF_TABLE:
            continue
        (count,) = struct.unpack_from(">H", data, head + 3)
        for cell in range(count):
            # Whatever a damaged page says, only what makes a whole row is taken.
            with suppress(struct.error, IndexError, ValueError):
                (at,) = struct.unpack_from(">H", data, head + 8 + 2 * cell)
                yield _row(data, start + at, size, size - reserved)


def _row(data: bytes, at: int, size: int, usable: int) -> tuple[int, tuple[Value, ...]]:
    length, at = _varint(data, at)
    rowid, at = _varint(data, at)
    most = usable - 35
    local = length
    if length > most:
        least = (usable - 12) * 32 // 255 - 23
        local = least + (length - least) % (usable - 4)
        local = local if local <= most else least
    payload = bytearray(data[at : at + local])
    if local < length:
        (page,) = struct.unpack_from(">I", data, at + local)
        seen = {0}  # a damaged page may point back to one before it, or to itself
        while page not in seen and len(payload) < length:
            seen.add(page)
            start = (page - 1) * size
            (page,) = struct.unpack_from(">I", data, start)
            payload += data[start + 4 : start + usable]
    if len(payload) < length:
        raise ValueError("the row is not whole")
    return rowid, tuple(_values(bytes(payload[:length])))


def _values(payload: bytes) -> Iterator[Value]:
    end, at = _varint(payload, 0)
    types = []
    while at < end:
        kind, at = _varint(payload, at)
        types.append(kind)
    sizes = [_SIZES[kind] if kind < 10 else (kind - 12) // 2 for kind in types]
    ends = [end]
    for length in sizes:
        ends.append(ends[-1] + length)
    if ends[-1] != len(payload):
        raise ValueError("the row is not whole")
    for kind, (first, last) in zip(types, pairwise(ends), strict=True):
        part = payload[first:last]
        if kind == 0:
            yield None
        elif kind == 7:
            yield float(struct.unpack(">d", part)[0])
        elif kind < 10:
            yield kind - 8 if kind > 7 else int.from_bytes(part, "big", signed=True)
        elif kind % 2:
            yield part.decode("utf-8")
        else:
            yield part


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for place in range(8):
        byte = data[at + place]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + place + 1
    return value << 8 | data[at + 8], at + 9
