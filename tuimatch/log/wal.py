"""The file of changes beside a log, ``-wal``: whose it is, and what stands in it.

SQLite applies to a file whatever whole changes stand beside it under its name (SQLite file format,
section 4), also those of another file that was moved there. So each change counts on in the file's
application id, which begins at random in each new log: the changes beside a log are its own when
they begin where the log ends, or overlap with what of them it has already.
"""

from __future__ import annotations

import secrets
import sqlite3
import struct
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from tuimatch.log import schema

_HEADER, _FRAME = 32, 24
_MAGIC = {0x377F0682: "<", 0x377F0683: ">"}
_ID_AT = 68  # of the application id in the first page


@dataclass(frozen=True)
class Frame:
    """A page as one change left it.

    Attributes:
        page: Its number, from 1.
        data: The page.
        whole: Whether it belongs to a change that was finished, by all the checksums before it.
        marked: Whether it has the mark of the changes that the file was begun with.
    """

    page: int
    data: bytes
    whole: bool
    marked: bool

    @property
    def counted(self) -> int | None:
        """How far its change counted; None where it is not a first page."""
        return int(struct.unpack_from(">I", self.data, _ID_AT)[0]) if self.page == 1 else None


def beside(path: Path) -> Path:
    """Where the changes of a log are."""
    return path.with_name(path.name + "-wal")


def read(path: Path) -> bytes:
    """What stands in the file of changes beside a log; nothing where there is none."""
    try:
        return beside(path).read_bytes()
    except OSError:
        return b""


def is_broken_off(db: sqlite3.Connection, path: Path, before: bytes) -> bool:
    """Whether SQLite gave up reading the changes beside a log before their end.

    Args:
        db: The log, just opened.
        path: Where it is.
        before: What stood in the file of changes before it was opened.
    """
    marked = [n for n, frame in enumerate(frames(before, checked=False), 1) if frame.marked]
    if not marked:
        return False
    _, taken, _ = db.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
    # Where another program has begun them again meanwhile, they were whole.
    if taken >= marked[-1] or _head(beside(path)) != before[:_HEADER]:
        return False
    # What a killed program left unfinished is behind the end too, but its count goes no further.
    found = frames(before)
    end = max([_id_in(path), *_counted(frame for frame in found if frame.whole)])
    beyond = _counted(frame for frame in found if frame.marked and not frame.whole)
    return any(end < number < end + 2**16 for number in beyond)


def count(db: sqlite3.Connection) -> None:
    """Count on in the open transaction; the first page is part of every change by that."""
    (number,) = db.execute("PRAGMA application_id").fetchone()
    number = number + 1 if 0 < number < 2**31 - 1 else secrets.randbelow(2**30) + 2**20
    db.execute(f"PRAGMA application_id = {number}")


def frames(data: bytes, *, checked: bool = True) -> list[Frame]:
    """Every page in a file of changes, in order, also those after a broken one.

    Args:
        data: What stands in the file.
        checked: Whether to look at the checksums, or only at what each change is marked with.
    """
    if len(data) < _HEADER:
        return []
    magic, _, size, _ = struct.unpack_from(">4I", data)
    order = _MAGIC.get(magic)
    if order is None or size < 512 or size & size - 1 or size > 65536:
        order, size = "<", 4096  # as every machine of today writes it
    check = _sums(data[:24], (0, 0), order)
    unbroken = check == struct.unpack_from(">2I", data, 24)
    mark = data[16:24] if unbroken else data[_HEADER + 8 : _HEADER + 16]
    found: list[Frame] = []
    finished = 0
    for at in range(_HEADER, len(data) - _FRAME - size + 1, _FRAME + size):
        page, pages = struct.unpack_from(">2I", data, at)
        content = data[at + _FRAME : at + _FRAME + size]
        marked = data[at + 8 : at + 16] == mark
        unbroken = unbroken and marked
        if unbroken and checked:
            check = _sums(content, _sums(data[at : at + 8], check, order), order)
            unbroken = check == struct.unpack_from(">2I", data, at + 16)
        found.append(Frame(page, content, unbroken, marked))
        if unbroken and pages:
            finished = len(found)
    return [replace(f, whole=n < finished) for n, f in enumerate(found)]


def set_aside_foreign(path: Path) -> Path | None:
    """Move changes that are of another file out of the way, before SQLite can apply them.

    Returns:
        Where they are now; None when there are none or they are its own.
    """
    changes = beside(path)
    # Another program may be writing meanwhile: only what stands still can be judged.
    for _ in range(20):
        before = _id_in(path), _head(changes)
        if not before[0] or not before[1]:
            return None
        data = read(path)
        # The checksums take long, so they are looked at only when something seems wrong.
        if any(_goes_on(before[0], data, checked) for checked in (False, True)):
            return None
        if (_id_in(path), _head(changes)) == before:
            aside = beside(schema.beside(path, "foreign"))
            changes.replace(aside)
            path.with_name(path.name + "-shm").unlink(missing_ok=True)
            return aside
    return None


def _goes_on(number: int, data: bytes, checked: bool) -> bool:
    """Whether changes begin where a log ends that has counted so far, or overlap with it."""
    counted = _counted(frame for frame in frames(data, checked=checked) if frame.whole)
    return not counted or 0 in counted or counted[0] - 1 <= number <= counted[-1]


def _counted(some: Iterable[Frame]) -> list[int]:
    return [frame.counted for frame in some if frame.counted is not None]


def _id_in(path: Path) -> int:
    """The application id that stands in the file itself; 0 where it cannot be read."""
    try:
        # By SQLite, because opening and closing a file ends the locks that a process has on it.
        uri = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(uri, uri=True)) as db:
            return int(db.execute("PRAGMA application_id").fetchone()[0])
    except sqlite3.Error:
        return 0


def _head(changes: Path) -> bytes:
    try:
        with changes.open("rb") as file:
            return file.read(_HEADER)
    except OSError:
        return b""


def _sums(data: bytes, start: tuple[int, int], order: str) -> tuple[int, int]:
    first, second = start
    for x, y in struct.iter_unpack(f"{order}2I", data):
        first = first + x + second & 0xFFFFFFFF
        second = second + y + first & 0xFFFFFFFF
    return first, second
