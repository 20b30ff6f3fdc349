"""The tables of the log, and the way to them from every older version."""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import closing
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from tuimatch.errors import LogError
from tuimatch.log.choice import COLUMNS
from tuimatch.log.choice import VERSION as LAST
from tuimatch.log.search import indexed, runs
from tuimatch.log.soundness import UnsoundRowError


def _added(version: int) -> str:
    """The statements that add the columns of a choice that a version has first."""
    return "\n\n".join(
        f"ALTER TABLE choice ADD COLUMN {column.name} {column.kind.sql}"
        for column in COLUMNS
        if column.since == version
    )


# Forward migrations, statements parted by blank lines; the schema version is how many of them a
# file has had (PRAGMA user_version). What has been released here is never edited.
MIGRATIONS = (
    """
    CREATE TABLE project (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE COLLATE NOCASE,
        created_at TEXT NOT NULL
    )

    CREATE TABLE palette (
        digest TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        text TEXT NOT NULL
    )

    CREATE TABLE choice (
        id INTEGER PRIMARY KEY,
        identity TEXT NOT NULL UNIQUE,
        project_id INTEGER NOT NULL REFERENCES project (id),
        palette_digest TEXT NOT NULL REFERENCES palette (digest),
        palette TEXT NOT NULL,
        label TEXT NOT NULL DEFAULT '',
        target_text TEXT NOT NULL,
        target_lab TEXT NOT NULL,
        recipe TEXT NOT NULL,
        tints TEXT NOT NULL,
        lab TEXT NOT NULL,
        srgb TEXT NOT NULL,
        delta_e REAL NOT NULL,
        chosen_at TEXT NOT NULL
    )

    CREATE INDEX choice_by_project ON choice (project_id, id)
    """,
    # 2: page and note; removing, editing and undoing; finding; ticks. AUTOINCREMENT, because a
    # number that was shown for one choice must never mean another.
    """
    ALTER TABLE project ADD COLUMN archived_at TEXT

    ALTER TABLE choice RENAME TO choice_1

    DROP INDEX choice_by_project

    CREATE TABLE choice (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        identity TEXT NOT NULL UNIQUE,
        project_id INTEGER NOT NULL REFERENCES project (id),
        palette_digest TEXT NOT NULL REFERENCES palette (digest),
        palette TEXT NOT NULL,
        label TEXT NOT NULL,
        page TEXT NOT NULL,
        note TEXT NOT NULL,
        target_text TEXT NOT NULL,
        target_lab TEXT NOT NULL,
        recipe TEXT NOT NULL,
        tints TEXT NOT NULL,
        lab TEXT NOT NULL,
        srgb TEXT NOT NULL,
        delta_e REAL NOT NULL,
        chosen_at TEXT NOT NULL,
        changed_at TEXT NOT NULL,
        removed_at TEXT,
        folded TEXT NOT NULL
    )

    INSERT INTO choice
        SELECT id, identity, project_id, palette_digest, palette, label, '', '', target_text,
            target_lab, recipe, tints, lab, srgb, delta_e, chosen_at, chosen_at, NULL,
            indexed(project_id, label, '', '', target_text, srgb, recipe)
        FROM choice_1 ORDER BY id

    DROP TABLE choice_1

    CREATE INDEX choice_by_project ON choice (project_id, id) WHERE removed_at IS NULL

    CREATE INDEX choice_by_label ON choice (label COLLATE NOCASE, id) WHERE removed_at IS NULL

    CREATE INDEX choice_by_page ON choice (CAST(page AS INTEGER), page, id)
        WHERE removed_at IS NULL

    CREATE INDEX choice_by_delta_e ON choice (delta_e, id) WHERE removed_at IS NULL

    CREATE VIEW findable AS SELECT id, folded FROM choice WHERE removed_at IS NULL

    CREATE VIRTUAL TABLE search USING fts5(
        folded, content = 'findable', content_rowid = 'id', tokenize = 'trigram case_sensitive 1'
    )

    INSERT INTO search (rowid, folded) SELECT id, folded FROM choice

    CREATE TRIGGER search_insert AFTER INSERT ON choice WHEN new.removed_at IS NULL BEGIN
        INSERT INTO search (rowid, folded) VALUES (new.id, new.folded);
    END

    CREATE TRIGGER search_delete AFTER DELETE ON choice WHEN old.removed_at IS NULL BEGIN
        INSERT INTO search (search, rowid, folded) VALUES ('delete', old.id, old.folded);
    END

    CREATE TRIGGER search_update AFTER UPDATE OF folded, removed_at ON choice BEGIN
        INSERT INTO search (search, rowid, folded)
            SELECT 'delete', old.id, old.folded WHERE old.removed_at IS NULL;
        INSERT INTO search (rowid, folded)
            SELECT new.id, new.folded WHERE new.removed_at IS NULL;
    END

    CREATE TABLE run (run TEXT PRIMARY KEY) WITHOUT ROWID

    CREATE TABLE step (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        project_id INTEGER NOT NULL REFERENCES project (id),
        what TEXT NOT NULL,
        done_at TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('done', 'undone', 'passed'))
    )

    CREATE INDEX step_by_project ON step (project_id, state, id)

    CREATE INDEX step_by_state ON step (state, id)

    CREATE TABLE change (
        id INTEGER PRIMARY KEY,
        step_id INTEGER NOT NULL REFERENCES step (id),
        of TEXT NOT NULL CHECK (of IN ('choice', 'project')),
        row INTEGER NOT NULL,
        before TEXT,
        after TEXT
    )

    CREATE INDEX change_by_step ON change (step_id, id)

    CREATE TABLE tick (
        choice_id INTEGER NOT NULL REFERENCES choice (id) ON DELETE CASCADE,
        kind TEXT NOT NULL,
        ink TEXT NOT NULL,
        tint REAL NOT NULL,
        PRIMARY KEY (choice_id, kind, ink, tint)
    ) WITHOUT ROWID

    CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID
    """,
    # 3: what the target was adapted to, and whether a row is as it was written. Added columns are
    # NULL in older rows; the table of columns says what such a row stands for.
    _added(3) + "\n\nALTER TABLE choice ADD COLUMN checksum TEXT",
    # 4: one tick for an ink of a choice. Before, laying a recipe and the passes each had their own
    # kind; what was laid in either is laid.
    """
    ALTER TABLE tick RENAME TO tick_3

    CREATE TABLE tick (
        choice_id INTEGER NOT NULL REFERENCES choice (id) ON DELETE CASCADE,
        ink TEXT NOT NULL,
        tint REAL NOT NULL,
        PRIMARY KEY (choice_id, ink, tint)
    ) WITHOUT ROWID

    INSERT INTO tick SELECT DISTINCT choice_id, ink, tint FROM tick_3

    DROP TABLE tick_3
    """,
    *map(_added, range(5, LAST + 1)),
)
VERSION = len(MIGRATIONS)


def version_of(db: sqlite3.Connection) -> int:
    """The schema version of an open file; 0 for a new one and for what is not a log."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def check(db: sqlite3.Connection, path: Path) -> None:
    """Look whether an open file has the tables of its version.

    Raises:
        UnsoundRowError: It is a log whose description of itself is damaged.
        LogError: It is another program's database.
    """
    try:
        version, found = version_of(db), _objects(db)
    except sqlite3.OperationalError as error:
        # What SQLite says of a damaged head or description, beside its own words for damage.
        if getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF == sqlite3.SQLITE_ERROR:
            raise UnsoundRowError(str(error)) from error
        raise
    if not found and not version:
        return
    known = _known(VERSION)
    if found == known and version == VERSION:
        return
    of_version = {number: _known(number) for number in range(1, VERSION + 1)}
    fitting = [number for number, objects in of_version.items() if objects == found]
    if fitting:
        if version not in fitting:
            raise UnsoundRowError(f"version {version} with the tables of version {fitting[0]}")
    elif version <= VERSION and not of_version.get(version, known).items() <= found.items():
        if 2 * len(found.keys() & known.keys()) < len(of_version[1]):
            raise LogError(f"{path}: is another program's database; give the log another path")
        raise UnsoundRowError("its tables are not those of its version")


def _objects(db: sqlite3.Connection) -> dict[str, str]:
    """What describes each table, index and trigger, but for what SQLite makes of its own accord."""
    rows = db.execute("SELECT name, sql FROM sqlite_master").fetchall()
    return {
        str(name): " ".join(str(sql).split())
        for name, sql in rows
        if not str(name).startswith(("sqlite_", "search_")) or "TRIGGER" in str(sql)
    }


@cache
def _known(version: int) -> dict[str, str]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        build(db, version)
        return _objects(db)


def migrate(db: sqlite3.Connection, path: Path) -> Path | None:
    """Bring an open log to this version, inside the caller's write transaction.

    Returns:
        The copy of the log as it was, if it was of an older version.

    Raises:
        LogError: It is of a newer version.
    """
    version = version_of(db)
    if version > VERSION:
        raise LogError(
            f"{path}: was written by a newer tuimatch (schema {version}, this one knows"
            f" {VERSION}); update tuimatch, the log is untouched"
        )
    if version == VERSION:
        return None
    backup = _copy(path, f"schema-{version}") if version else None
    build(db, VERSION, version)
    if version:
        index_runs(db)
    return backup


def build(db: sqlite3.Connection, to: int, version: int = 0) -> None:
    """Take a file from one version to another, inside the caller's write transaction."""
    db.create_function("indexed", -1, indexed, deterministic=True)
    for number in range(version, to):
        for statement in MIGRATIONS[number].split("\n\n"):
            db.execute(statement)
        db.execute(f"PRAGMA user_version = {number + 1}")


def columns_by_version(table: str) -> dict[int, list[str]]:
    """The names of a table's columns, in order, in each schema version that has it."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        found = {}
        for version in range(1, VERSION + 1):
            build(db, version, version - 1)
            names = [name for _, name, *_ in db.execute(f"PRAGMA table_info ({table})")]
            if names:
                found[version] = names
        return found


def index_runs(db: sqlite3.Connection) -> None:
    """Note the runs of all entries; afterwards each new entry adds its own."""
    found: set[str] = set()
    for (text,) in db.execute("SELECT folded FROM choice"):
        found |= runs(text)
    db.executemany("INSERT OR IGNORE INTO run VALUES (?)", [(run,) for run in found])


def beside(path: Path, what: str) -> Path:
    """A new name in the same folder that says what it is and when it was made."""
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    stem, number = f"{path.stem}-{what}-{stamp}", 1
    name = path.with_name(f"{stem}{path.suffix}")
    while name.exists():
        number += 1
        name = path.with_name(f"{stem}-{number}{path.suffix}")
    return name


def alike(new: Path, old: Path) -> None:
    """Make an empty file with the permissions of the old one."""
    os.close(os.open(new, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    new.chmod(stat.S_IMODE(old.stat().st_mode))


def _copy(path: Path, what: str) -> Path:
    """A whole copy of the log, read by a connection of its own beside the open transaction."""
    target = beside(path, what)
    partial = target.with_name(target.name + ".partial")
    alike(partial, path)
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(partial)) as copy:
        source.backup(copy)
    partial.replace(target)
    return target
