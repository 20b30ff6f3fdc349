"""The open file of a log: its connection, its transactions, and errors that name the way out.

What is written counts once the file that it was written to is the file at the log's path: another
may have come in its place, moved, renamed over it or repaired by another window. Then the log is
opened again, and what this session has written before is written again.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep

from tuimatch.errors import LogError
from tuimatch.log import damage, schema, soundness, wal
from tuimatch.log.soundness import UnsoundRowError

_ELSEWHERE = "or give another log with --log"
_READ_ONLY = f"it is read-only: make it and its folder writable, {_ELSEWHERE}"

# What SQLite's primary result codes mean to a person, and the way out.
_WAYS_OUT = {
    sqlite3.SQLITE_BUSY: f"another program is writing to it: try again, {_ELSEWHERE}",
    sqlite3.SQLITE_FULL: f"the disk is full: make room and try again, {_ELSEWHERE}",
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_IOERR: f"the disk fails: make sure that it has room and is whole, {_ELSEWHERE}",
}

# What can go wrong in a file, rather than in our code.
# (What SQLite says of a damaged text may itself not be UTF-8.)
_Fault = sqlite3.Error | OSError | UnsoundRowError | UnicodeDecodeError
_FAULTS = (sqlite3.Error, OSError, UnsoundRowError, UnicodeDecodeError)


class Database:
    """A log's file. Use it in the thread that opened it.

    Attributes:
        path: The SQLite file.
        db: The connection to it.
        notice: One line about what happened to the file on the way, or empty.
        opened: How many files were opened one after another.
        changed: The numbers of the choices changed in the transaction that is open.
        remember: Called with these before a transaction is committed.
        write_again: Called when another file is at the path; writes what this session has written
            and says how many choices that were.
    """

    db: sqlite3.Connection

    def __init__(self, path: Path, patience: float) -> None:
        """Open the file, making it and its folder when they are not there.

        Raises:
            LogError: It cannot be opened, is not a log, or is of a newer version.
        """
        self.path, self.notice = path, ""
        self.changed: set[int] = set()
        self.remember: Callable[[set[int]], None] = lambda numbers: None
        self.write_again: Callable[[], int] = lambda: 0
        self._patience = patience
        self._file: damage.File | None = None
        self._changes = b""
        self._copied: tempfile.TemporaryDirectory[str] | None = None
        self.opened = 0
        self._inside = False
        self._owes = False
        with self._explained("opened"):
            self._open()

    def close(self) -> None:
        """Close the file."""
        self.db.close()
        if self._copied is not None:
            self._copied.cleanup()
            self._copied = None

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Read; several reads inside see one state when a transaction is open."""
        if not self._inside and self.path.exists() and self._is_elsewhere():
            self._follow()
        with self._explained("read"):
            yield self.db

    @contextmanager
    def transaction(self, *, anywhere: bool = False) -> Iterator[sqlite3.Connection]:
        """Write all or nothing; on disk when it ends. One inside another is part of it.

        Args:
            anywhere: Whether it may go on in a file that has come in the place of the one that was
                open; not where numbers or steps of the old one are meant.

        Raises:
            LogError: It could not be written, or another file has come in its place.
        """
        if self._inside:
            yield self.db
            return
        if self._copied is not None:
            raise LogError(f"{self.path}: the log cannot be written: {_READ_ONLY}")
        if self._owes or self._is_elsewhere():
            self._follow()
            if not anywhere:
                raise LogError(f"{self.notice}; the last step was not done: do it again")
        with self._explained("written"):
            try:
                with _atomic(self.db):
                    self._inside = True
                    yield self.db
                    self.remember(self.changed)
                    wal.count(self.db)
            finally:
                self._inside = False
                self.changed.clear()
        with self._explained("written"):
            damage.wait_for_mending(self.path)
        if self._is_elsewhere():
            self._follow()

    def version(self) -> int:
        """A number that is new each time another connection changed the file, or it was exchanged.

        Raises:
            LogError: It cannot be read.
        """
        with self.reading() as db:
            # SQLite's own number starts again with each connection.
            return self.opened << 32 | int(db.execute("PRAGMA data_version").fetchone()[0])

    def _is_elsewhere(self) -> bool:
        """Whether the open file is not the one at the path."""
        if self._copied is not None:
            return False
        try:
            return damage.file_of(self.path) != self._file
        except OSError:
            return True

    def _follow(self) -> None:
        """Open the file that is at the path now, and write into it what this session has written.

        Raises:
            LogError: It cannot be opened or written; the next attempt tries again.
        """
        what = (
            "another file has come in its place"
            if self.path.exists()
            else "it was moved or deleted, and a new log was begun there"
        )
        self._owes = True
        with self._explained("opened"):
            self.db.close()
            self._file = None
            self._open()
            self._write_again(what)

    def _write_again(self, what: str) -> None:
        self._owes = False
        try:
            count = self.write_again()
        except BaseException:
            self._owes = True
            raise
        choices = "1 recipe" if count == 1 else f"{count:,} recipes"
        written = f"{choices} of this session written into it again" if count else "nothing to add"
        self.notice = "; ".join(filter(None, (self.notice, f"{self.path}: {what}; {written}")))

    def _open(self) -> None:
        self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        self.notice = ""
        try:
            self._connect()
        except (sqlite3.DatabaseError, UnsoundRowError, UnicodeDecodeError) as error:
            if not damage.is_damage(error, self.path):
                if not _is_read_only(error, self.path):
                    raise
                self._read_a_copy()
                return
            assert self._file is not None
            self.notice = damage.repair(self.path, self._file, self._changes)
            self._connect()

    def _read_a_copy(self) -> None:
        """Read a copy of a log that may not be written: SQLite itself would have to write."""
        self._copied = tempfile.TemporaryDirectory(prefix="tuimatch-")
        copy = Path(self._copied.name) / "log.sqlite"
        for suffix in ("", "-wal"):
            with suppress(FileNotFoundError):
                shutil.copyfile(f"{self.path}{suffix}", f"{copy}{suffix}")
        self._connect(copy)

    def _connect(self, path: Path | None = None) -> None:
        path = path or self.path
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        self._file = damage.file_of(path)
        foreign = wal.set_aside_foreign(path)
        self._changes = wal.read(path)
        db = sqlite3.connect(path, timeout=self._patience, isolation_level=None)
        db.row_factory = soundness.without_blobs
        backup, version = None, 0
        try:
            db.execute("PRAGMA foreign_keys = ON")
            schema.check(db, path)
            if wal.is_broken_off(db, path, self._changes):
                raise UnsoundRowError("the changes beside it are not whole")
            self._changes = b""
            if schema.version_of(db) != schema.VERSION:
                with _atomic(db):
                    version, backup = schema.version_of(db), schema.migrate(db, path)
                    wal.count(db)
            self._write_ahead(db)
            # In WAL mode only FULL puts each commit on disk before it returns.
            db.execute("PRAGMA synchronous = FULL")
        except BaseException:
            db.close()
            raise
        self.db, self.opened = db, self.opened + 1
        if backup is not None:
            self.notice = f"{self.path}: was of schema {version}; a copy as it was: {backup}"
        if foreign is not None:
            said = f"{self.path}: the changes beside it belong to another log; kept as {foreign}"
            self.notice = "; ".join(filter(None, (self.notice, said)))

    def _write_ahead(self, db: sqlite3.Connection) -> None:
        # While others open a new log too, SQLite refuses this at once instead of waiting.
        until = monotonic() + self._patience
        while True:
            try:
                db.execute("PRAGMA journal_mode = WAL")
                return
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or monotonic() > until:
                    raise
                sleep(0.01)

    @contextmanager
    def _explained(self, done: str) -> Iterator[None]:
        try:
            yield
        except _FAULTS as error:
            if damage.is_damage(error, self.path) and self._file is not None:
                raise self._mended(self._file) from error
            raise LogError(f"{self.path}: the log cannot be {done}: {_way_out(error)}") from error

    def _mended(self, file: damage.File) -> LogError:
        if self.opened:
            self.db.close()
        self._inside, self._owes = False, True
        try:
            said = damage.repair(self.path, file, self._changes)
            self._connect()
            self.notice = "; ".join(filter(None, (said, self.notice)))
            self._owes = False
            self.write_again()
        except LogError as error:
            self._owes = True
            return error
        except _FAULTS as error:
            return LogError(f"{self.path}: the log is damaged: {_way_out(error)}")
        return LogError(f"{self.notice}; the last step was not done: do it again")


@contextmanager
def _atomic(db: sqlite3.Connection) -> Iterator[None]:
    # IMMEDIATE takes the write lock first: nothing read here can be stale when written.
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        # SQLite has rolled back by itself after some errors; the first one counts.
        with suppress(sqlite3.Error):
            db.execute("ROLLBACK")
        raise


def _is_read_only(error: Exception, path: Path) -> bool:
    """Whether SQLite failed because a log that is there may be read but not written."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN) or not path.is_file():
        return False
    writable = all(os.access(x, os.W_OK, effective_ids=True) for x in (path, path.parent))
    return not writable and os.access(path, os.R_OK, effective_ids=True)


def _way_out(error: _Fault) -> str:
    if isinstance(error, OSError):
        why = error.strerror or str(error)
    else:
        way_out = _WAYS_OUT.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
        if way_out is not None:
            return way_out
        why = str(error)
    return f"{why}: check the file and its folder, {_ELSEWHERE}"
