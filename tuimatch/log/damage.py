"""A damaged log: set aside with its date, and what can be read of it put in its place.

Rows are read by SQLite as far as it gets; what it cannot reach is read from the pages themselves.
"""

from __future__ import annotations

import hashlib
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from tuimatch.log import salvage, schema, soundness, wal
from tuimatch.log.choice import Choice
from tuimatch.log.search import indexed_row

_MAGIC = b"SQLite format 3\0"
_SUFFIXES = {".sqlite", ".sqlite3", ".db"}

# What Python says of a text that is not UTF-8, which SQLite does not check: when it is read,
# and when our function for the index gets it.
_NO_TEXT = ("Could not decode to UTF-8", "user-defined function raised exception")

# Parents before children; the index of runs is made again.
_TABLES = ("project", "palette", "choice", "tick", "meta", "step", "change")
_WITHOUT_ROWID = {"tick", "meta"}

_REPAIRING = ".repairing"
_PATIENCE = 60.0
_NAMED = 5  # so many doubtful choices

File = tuple[int, int]
Row = dict[str, Any]


def is_damage(error: Exception, path: Path) -> bool:
    """Whether an error means that a log is damaged, rather than that a file is not a log."""
    if isinstance(error, soundness.UnsoundRowError | UnicodeDecodeError) or str(error).startswith(
        _NO_TEXT
    ):
        return True
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_CORRUPT:
        return True
    if code != sqlite3.SQLITE_NOTADB:
        return False
    with suppress(OSError), path.open("rb") as file:
        # A letter that is given to --log by mistake stays where it was.
        return file.read(len(_MAGIC)) == _MAGIC or path.suffix in _SUFFIXES
    return False


def file_of(path: Path) -> File:
    """What tells the file at a path from another one put there later."""
    found = path.stat()
    return found.st_dev, found.st_ino


def repair(path: Path, opened: File, changes: bytes = b"") -> str:
    """Set a damaged log aside and put what can be read of it in its place.

    Args:
        path: Where the log is.
        opened: The file that was found damaged.
        changes: What stood in the file of changes beside it before it was opened; closing may have
            taken that away.

    Returns:
        One line that says where both are; empty when another program has repaired it meanwhile.
    """
    with _alone(path):
        if path.exists() and file_of(path) != opened:
            return ""
        aside, partial = schema.beside(path, "damaged"), schema.beside(path, "recovered")
        schema.alike(partial, path)
        try:
            count, doubtful = _recover(path, partial, changes)
            _set_aside(path, aside, changes)
            partial.replace(path)
        except BaseException:
            partial.unlink(missing_ok=True)
            raise
    choices = "1 recipe was" if count == 1 else f"{count:,} recipes were"
    said = f"{path}: was damaged; it is kept as {aside}, {choices} recovered into a new log"
    if doubtful:
        named = ", ".join(f"{c.id} ({c.name})" for c in doubtful[:_NAMED])
        more = f" and {len(doubtful) - _NAMED:,} more" if len(doubtful) > _NAMED else ""
        said += f"; the damage has altered these, check them: {named}{more}"
    return said


def wait_for_mending(path: Path) -> None:
    """Wait while another program is repairing the log."""
    if path.with_name(path.name + _REPAIRING).exists():
        with _alone(path):
            pass


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Keep other programs from repairing the same log; a killed one does not."""
    lock = path.with_name(path.name + _REPAIRING)
    with closing(_locked(lock)):
        try:
            yield
        finally:
            with suppress(OSError):
                lock.unlink()


def _locked(lock: Path) -> sqlite3.Connection:
    until = monotonic() + _PATIENCE
    while True:
        db = sqlite3.connect(lock, timeout=_PATIENCE, isolation_level=None)
        try:
            db.execute("BEGIN EXCLUSIVE")
            # A lock that its owner has removed keeps nobody out.
            if lock.exists():
                return db
        except sqlite3.OperationalError:
            if monotonic() > until:
                db.close()
                raise
        db.close()
        sleep(0.01)


def _set_aside(path: Path, aside: Path, changes: bytes) -> None:
    # Uncommitted and foreign leftovers of the old file must not be taken for the new one's.
    for suffix in ("-wal", "-shm"):
        with suppress(FileNotFoundError):
            path.with_name(path.name + suffix).replace(aside.with_name(aside.name + suffix))
    if changes and not wal.beside(aside).exists():
        schema.alike(wal.beside(aside), path)
        wal.beside(aside).write_bytes(changes)
    try:
        os.link(path, aside)  # so that there is a log at the path at every moment
    except OSError:
        path.replace(aside)


def _recover(path: Path, target: Path, kept: bytes) -> tuple[int, list[Choice]]:
    """Put the readable rows into a new log; how many choices there are, and the doubtful ones."""
    data = path.read_bytes()
    changes = wal.frames(kept) + wal.frames(wal.read(path))
    size = salvage.page_size(data)
    image = salvage.with_sound_head(_with_changes(data, changes, size), size)
    older = [(n + 1, data[n * size : (n + 1) * size]) for n in range(len(data) // size)]
    older = [(n, page) for n, page in older if page != image[(n - 1) * size : n * size]]
    older += [(frame.page, frame.data) for frame in changes]
    with (
        tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.") as file,
        closing(sqlite3.connect(target, isolation_level=None)) as new,
    ):
        file.write(image)
        file.flush()
        new.execute("BEGIN")
        schema.build(new, schema.VERSION)
        names = {table: _names(table) for table in _TABLES}
        uri = f"{Path(file.name).absolute().as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(uri, uri=True)) as old:
            # What is not UTF-8 cannot be kept.
            old.text_factory = lambda text: text.decode(errors="surrogateescape")
            for table in _TABLES:
                for row in _rows(old, table, names[table]):
                    _put(new, table, row)
        for table, row in _salvaged(salvage.rows(image, size, older), names):
            _put(new, table, row)
        _make_whole(new)
        wal.count(new)
        new.execute("COMMIT")
        rows = new.execute("SELECT *, '' AS project FROM choice")
        columns = [name for name, *_ in rows.description]
        choices = [Choice.from_row(dict(zip(columns, row, strict=True))) for row in rows]
        return len(choices), [choice for choice in choices if choice.doubtful]


def _with_changes(data: bytes, changes: list[wal.Frame], size: int) -> bytes:
    """A file as it is with the finished changes beside it."""
    image = bytearray(data)
    for frame in changes:
        if frame.whole and len(frame.data) == size and frame.page:
            end = frame.page * size
            image.extend(bytes(max(0, end - len(image))))
            image[end - size : end] = frame.data
    return bytes(image)


def _names(table: str) -> dict[int, list[str]]:
    """The columns of a table by how many there are: no two schema versions have as many."""
    return {len(names): names for names in schema.columns_by_version(table).values()}


def _rows(db: sqlite3.Connection, table: str, names: dict[int, list[str]]) -> Iterator[Row]:
    """The rows as far as SQLite gets at them."""
    order = "" if table in _WITHOUT_ROWID else "NOT INDEXED ORDER BY rowid"
    with suppress(sqlite3.Error, UnicodeDecodeError):
        for row in db.execute(f"SELECT * FROM {table} {order}"):
            if len(row) in names:
                yield dict(zip(names[len(row)], row, strict=True))


def _salvaged(
    rows: Iterable[tuple[int, tuple[salvage.Value, ...]]], names: dict[str, dict[int, list[str]]]
) -> Iterator[tuple[str, Row]]:
    """Projects, palettes and choices from every page that can be read, the newest rows first.

    A page no longer used may hold a row as it once was, or one whose taking was undone.
    """
    found: dict[str, list[Row]] = {"project": [], "palette": [], "choice": []}
    for rowid, values in rows:
        table = _table_of(values)
        if table and len(values) in names[table]:
            row = dict(zip(names[table][len(values)], values, strict=True))
            if "id" in row:
                row["id"] = rowid
            found[table].append(row)
    for table, own in found.items():
        for row in sorted(own, key=_moment_of, reverse=True):
            yield table, row


def _moment_of(row: Row) -> str:
    """When a row was last changed, as far as its table and schema know."""
    known = (row[name] for name in ("changed_at", "chosen_at", "created_at") if name in row)
    return str(next(known, ""))


def _table_of(values: tuple[salvage.Value, ...]) -> str | None:
    match values:
        case (None, str(identity), int(), *_):
            return "choice" if re.fullmatch("[0-9a-f]{32}", identity) else None
        case (str(digest), str(), str()) if len(digest) == 64:
            return "palette"
        case (None, str(), str(created_at)) | (None, str(), str(created_at), str() | None):
            return "project" if re.match(r"\d{4}-\d\d-\d\dT", created_at) else None
    return None


def _put(db: sqlite3.Connection, table: str, row: Row) -> None:
    """Keep a row if it is sound; a row can be read and still hold a bad disk's nonsense."""
    try:
        row = _checked(table, row)
        marks = ", ".join("?" * len(row))
        db.execute(
            f"INSERT OR IGNORE INTO {table} ({', '.join(row)}) VALUES ({marks})",
            tuple(row.values()),
        )
    except (sqlite3.Error, TypeError, AttributeError, ValueError):
        if table == "change":  # a step is undone whole or not at all
            db.execute("DELETE FROM step WHERE id = ?", (row["step_id"],))


def _checked(table: str, row: Row) -> Row:
    """A row as this schema has it; refuse what reading would take for damage again."""
    soundness.without_blobs(None, tuple(row.values()))
    match table:
        case "palette":
            if hashlib.sha256(row["text"].encode()).hexdigest() != row["digest"]:
                raise ValueError("the text and its digest do not agree")
        case "choice":
            # What the first schema had not.
            row = {"page": "", "note": "", "changed_at": row["chosen_at"], **row}
            Choice.from_row({**row, "project": ""})
            row["folded"] = indexed_row(row["project_id"], row)
        case "tick":
            soundness.number(row["tint"])
            row = {name: value for name, value in row.items() if name != "kind"}
        case "change":
            soundness.image(row["before"])
            soundness.image(row["after"])
    return row


def _make_whole(db: sqlite3.Connection) -> None:
    """Replace lost parents, and drop the steps that cannot be undone any more."""
    db.execute(
        "INSERT OR IGNORE INTO project (id, name, created_at)"
        " SELECT project_id, 'recovered ' || project_id, min(chosen_at) FROM choice"
        " WHERE project_id NOT IN (SELECT id FROM project) GROUP BY project_id"
    )
    db.execute(
        "INSERT OR IGNORE INTO palette (digest, name, text)"
        " SELECT palette_digest, palette, '' FROM choice"
        " WHERE palette_digest NOT IN (SELECT digest FROM palette)"
    )
    db.execute(
        "DELETE FROM change WHERE step_id NOT IN (SELECT id FROM step WHERE state = 'done')"
        " OR step_id IN (SELECT step_id FROM change WHERE of = 'choice' AND row NOT IN"
        " (SELECT id FROM choice))"
        " OR step_id IN (SELECT step_id FROM change WHERE of = 'project' AND row NOT IN"
        " (SELECT id FROM project))"
    )
    db.execute("DELETE FROM step WHERE id NOT IN (SELECT step_id FROM change)")
    db.execute("DELETE FROM step WHERE project_id NOT IN (SELECT id FROM project)")
    db.execute("DELETE FROM tick WHERE choice_id NOT IN (SELECT id FROM choice)")
    schema.index_runs(db)
