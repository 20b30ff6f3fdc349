"""The open file of a log: its connection, its transactions, and errors that name the way out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep

from tuimatch.errors import LogError
from tuimatch.log import damage, schema, soundness
from tuimatch.log.soundness import UnsoundRowError

_ELSEWHERE = "or give another log with --log"

# What SQLite's primary result codes mean to a person, and the way out.
_WAYS_OUT = {
    sqlite3.SQLITE_BUSY: f"another program is writing to it: try again, {_ELSEWHERE}",
    sqlite3.SQLITE_FULL: f"the disk is full: make room and try again, {_ELSEWHERE}",
    sqlite3.SQLITE_READONLY: f"it is read-only: make it and its folder writable, {_ELSEWHERE}",
    sqlite3.SQLITE_IOERR: f"the disk fails: make sure that it has room and is whole, {_ELSEWHERE}",
}


class Database:
    """A log's file. Use it in the thread that opened it.

    Attributes:
        path: The SQLite file.
        db: The connection to it.
        notice: One line about what happened to the file on the way, or empty.
    """

    db: sqlite3.Connection

    def __init__(self, path: Path, patience: float) -> None:
        """Open the file, making it and its folder when they are not there.

        Raises:
            LogError: It cannot be opened, is no log, or is of a newer version.
        """
        self.path, self.notice = path, ""
        self._patience = patience
        with self._explained("opened"):
            path.parent.mkdir(parents=True, exist_ok=True)
            try:
                self._connect()
            except (sqlite3.DatabaseError, UnsoundRowError) as error:
                if not damage.is_damage(error, path):
                    raise
                self.notice = damage.mend(path, self._file)
                self._connect()

    def close(self) -> None:
        """Close the file."""
        self.db.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Read; several reads inside see one state when a transaction is open."""
        with self._explained("read"):
            yield self.db

    @contextmanager
    def transaction(self) -> Iterator[sqlite3.Connection]:
        """Write all or nothing; on disk when it ends. One inside another is part of it."""
        if self.db.in_transaction:
            yield self.db
            return
        with self._explained("written"), _atomic(self.db):
            yield self.db

    def version(self) -> int:
        """Another number each time another connection has changed the file (SQLite data_version).

        Raises:
            LogError: It cannot be read.
        """
        with self.reading() as db:
            return int(db.execute("PRAGMA data_version").fetchone()[0])

    def _connect(self) -> None:
        db = sqlite3.connect(self.path, timeout=self._patience, isolation_level=None)
        db.row_factory = soundness.without_blobs
        self._file = damage.file_of(self.path)
        try:
            db.execute("PRAGMA foreign_keys = ON")
            if schema.version_of(db) != schema.VERSION:
                with _atomic(db):
                    version, backup = schema.version_of(db), schema.migrate(db, self.path)
                if backup is not None:
                    self.notice = (
                        f"{self.path}: was of schema {version}; a copy as it was: {backup}"
                    )
            self._write_ahead(db)
            # In WAL mode only FULL puts each commit on disk before it returns.
            db.execute("PRAGMA synchronous = FULL")
        except BaseException:
            db.close()
            raise
        self.db = db

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
        except (sqlite3.Error, OSError, UnsoundRowError) as error:
            if damage.is_damage(error, self.path):
                raise self._mended() from error
            raise LogError(f"{self.path}: the log cannot be {done}: {_way_out(error)}") from error

    def _mended(self) -> LogError:
        self.db.close()
        try:
            self.notice = damage.mend(self.path, self._file) or self.notice
            self._connect()
        except (sqlite3.Error, OSError, UnsoundRowError) as error:
            return LogError(f"{self.path}: the log is damaged: {_way_out(error)}")
        return LogError(f"{self.notice}; what was asked just now is not done: do it again")


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


def _way_out(error: sqlite3.Error | OSError | UnsoundRowError) -> str:
    if isinstance(error, OSError):
        why = error.strerror or str(error)
    else:
        way_out = _WAYS_OUT.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
        if way_out is not None:
            return way_out
        why = str(error)
    return f"{why}: check the file and its folder, {_ELSEWHERE}"
