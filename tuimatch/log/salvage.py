"""Rows read straight from the pages of a SQLite file, where SQLite can no longer get at them.

SQLite finds a row by way of other pages; when one of those is damaged, whole rows are out of its
reach. Here every leaf page of a table is read for itself (SQLite file format, sections 1.5, 1.6
and 2.1), whatever pages lead to it. Which table a leaf is of must be told from its rows.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import pairwise

Value = int | float | str | bytes | None

_MAGIC = b"SQLite format 3\0"
_LEAF_OF_TABLE = 0x0D
_USUAL_PAGE = 4096
_SIZES = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0)

# The head of a log of ours where it does not depend on what is in it (SQLite file format, 1.3).
_HEAD = {
    **{0: _MAGIC, 18: b"\1\1\0\x40\x20\x20"},
    **{44: bytes((0, 0, 0, 4)), 56: bytes((0, 0, 0, 1)), 64: bytes(4)},
}


def page_size(data: bytes) -> int:
    """The size of the pages: the one that the head names, or the usual one where that has more."""
    (named,) = struct.unpack_from(">H", data.ljust(18, b"\0"), 16)
    named = 65536 if named == 1 else named
    if named == _USUAL_PAGE or named < 512 or named & named - 1:
        return _USUAL_PAGE
    return max(_USUAL_PAGE, named, key=lambda size: sum(1 for _ in rows(data, size)))


def with_sound_head(data: bytes, size: int) -> bytes:
    """A file as SQLite can open it, whatever its first bytes have become."""
    image = bytearray(data.ljust(size, b"\0"))
    for at, part in _HEAD.items():
        image[at : at + len(part)] = part
    struct.pack_into(">H", image, 16, size if size < 65536 else 1)
    struct.pack_into(">I", image, 28, len(image) // size)
    image[92:96] = image[24:28]  # else SQLite does not believe the number of pages
    return bytes(image)


def rows(
    data: bytes, size: int, more: Iterable[tuple[int, bytes]] = ()
) -> Iterator[tuple[int, tuple[Value, ...]]]:
    """The rowid and the values of every row on a whole leaf page, in the order of the pages.

    Args:
        data: The file.
        size: Of its pages.
        more: Other states of pages, each with its number.
    """
    own = ((start // size + 1, start) for start in range(0, len(data) - size + 1, size))
    for number, start in own:
        yield from _rows_of(data, start, number, data, size)
    for number, page in more:
        if len(page) == size:
            yield from _rows_of(page, 0, number, data, size)


def _rows_of(
    page: bytes, start: int, number: int, data: bytes, size: int
) -> Iterator[tuple[int, tuple[Value, ...]]]:
    head = start + (100 if number == 1 else 0)
    if page[head] != _LEAF_OF_TABLE:
        return
    (count,) = struct.unpack_from(">H", page, head + 3)
    for cell in range(count):
        # Whatever a damaged page says, only what makes a whole row is taken.
        with suppress(struct.error, IndexError, ValueError):
            (at,) = struct.unpack_from(">H", page, head + 8 + 2 * cell)
            yield _row(page, start + at, data, size)


def _row(page: bytes, at: int, data: bytes, size: int) -> tuple[int, tuple[Value, ...]]:
    length, at = _varint(page, at)
    rowid, at = _varint(page, at)
    rowid -= (rowid >> 63) << 64
    most = size - 35
    local = length
    if length > most:
        least = (size - 12) * 32 // 255 - 23
        local = least + (length - least) % (size - 4)
        local = local if local <= most else least
    payload = bytearray(page[at : at + local])
    if local < length:
        (following,) = struct.unpack_from(">I", page, at + local)
        seen = {0}  # a damaged page may point back to one before it, or to itself
        while following not in seen and len(payload) < length:
            seen.add(following)
            start = (following - 1) * size
            (following,) = struct.unpack_from(">I", data, start)
            payload += data[start + 4 : start + size]
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
