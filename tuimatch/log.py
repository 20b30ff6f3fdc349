"""The log: which recipe was chosen for what, kept per project in one SQLite file.

One write is one transaction and is on disk when the call returns. The palette's full text is kept
with the choices made from it, once for each distinct text, so that a choice can be understood after
its palette has changed.
"""

from __future__ import annotations

import json
import os
import sqlite3
import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from tuimatch.errors import LogError
from tuimatch.palette import Palette, Triple
from tuimatch.text import has_unsafe

UNSORTED = "unsorted"
MAX_NAME = 60

# Forward migrations; the schema version is how many of them a file has had (PRAGMA user_version).
_MIGRATIONS = (
    """
    CREATE TABLE project (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE COLLATE NOCASE,
        created_at TEXT NOT NULL
    );
    CREATE TABLE palette (
        digest TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        text TEXT NOT NULL
    );
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
    );
    CREATE INDEX choice_by_project ON choice (project_id, id);
    """,
)
VERSION = len(_MIGRATIONS)


@dataclass(frozen=True)
class Choice:
    """A recipe taken for a target.

    Attributes:
        id: The number it has in this log; 0 before it is kept.
        palette: The name the palette went by; `palette_digest` says which text that was.
        tints: Percent by ink name in laying order, every ink, 0 for none.
        srgb: What a screen shows of it, ``#rrggbb``.
        chosen_at: UTC, ISO 8601 with seconds.
    """

    project: str
    label: str
    target_text: str
    target_lab: Triple
    palette: str
    palette_digest: str
    recipe: str
    tints: dict[str, float]
    lab: Triple
    srgb: str
    delta_e: float
    chosen_at: str
    identity: str
    id: int = 0

    def as_json(self) -> dict[str, Any]:
        """The choice as the command line prints it."""
        return {
            "id": self.id,
            "project": self.project,
            "label": self.label,
            "target": {"text": self.target_text, "lab": list(self.target_lab)},
            "palette": self.palette,
            "recipe": self.recipe,
            "tints": self.tints,
            "lab": list(self.lab),
            "srgb": self.srgb,
            "delta_e": self.delta_e,
            "chosen_at": self.chosen_at,
        }


def new_choice(
    palette: Palette,
    tints: tuple[float, ...],
    *,
    project: str,
    target_text: str,
    target_lab: Triple,
    lab: Triple,
    srgb: tuple[int, int, int],
    delta_e: float,
    label: str = "",
) -> Choice:
    """A choice made now, ready to be kept."""
    return Choice(
        project=project,
        label=label,
        target_text=target_text,
        target_lab=target_lab,
        palette=palette.stem,
        palette_digest=palette.digest,
        recipe=palette.recipe_text(tints),
        tints={ink.name: tint for ink, tint in zip(palette.inks, tints, strict=True)},
        lab=lab,
        srgb="#{:02x}{:02x}{:02x}".format(*srgb),
        delta_e=delta_e,
        chosen_at=datetime.now(UTC).isoformat(timespec="seconds"),
        identity=uuid.uuid4().hex,
    )


def default_path() -> Path:
    """The log in the user's data folder."""
    import platformdirs  # only when no --log is given

    return Path(platformdirs.user_data_dir("tuimatch", appauthor=False)) / "log.sqlite"


def checked_name(name: str, what: str) -> str:
    """A project's name or a label, without the space around it.

    Raises:
        LogError: It is too long or holds control characters.
    """
    name = name.strip()
    if has_unsafe(name):
        raise LogError(f"{what} {name!r} holds a control character; give plain printable text")
    if len(name) > MAX_NAME:
        raise LogError(f"{what} has {len(name)} characters; give at most {MAX_NAME}")
    return name


class Log:
    """An open log. Use it in the thread that opened it."""

    def __init__(self, path: Path, *, patience: float = 5.0) -> None:
        """Open a log, making it and its folder when they are not there.

        Args:
            path: The SQLite file.
            patience: Seconds to wait for another program that is writing.

        Raises:
            LogError: It cannot be opened, is no log, or is of a newer version.
        """
        self.path = path
        with self._explained("opened"):
            path.parent.mkdir(parents=True, exist_ok=True)
            self._db = sqlite3.connect(path, timeout=patience, isolation_level=None)
            try:
                self._db.execute("PRAGMA foreign_keys = ON")
                self._migrate()
                self._db.execute("PRAGMA journal_mode = WAL")
                # In WAL mode only FULL puts each commit on disk before it returns.
                self._db.execute("PRAGMA synchronous = FULL")
            except BaseException:
                self._db.close()
                raise

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def keep(self, palette: Palette, choice: Choice) -> Choice:
        """Put a choice on disk and give it back with its number.

        Raises:
            LogError: It could not be written; the log is as it was.
        """
        with self._transaction():
            self._db.execute(
                "INSERT OR IGNORE INTO palette (digest, name, text) VALUES (?, ?, ?)",
                (palette.digest, palette.name, palette.text),
            )
            cursor = self._db.execute(
                "INSERT INTO choice (identity, project_id, palette_digest, palette, label,"
                " target_text, target_lab, recipe, tints, lab, srgb, delta_e, chosen_at)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    choice.identity,
                    self._project_id(choice.project),
                    choice.palette_digest,
                    choice.palette,
                    choice.label,
                    choice.target_text,
                    json.dumps(choice.target_lab),
                    choice.recipe,
                    json.dumps(choice.tints),
                    json.dumps(choice.lab),
                    choice.srgb,
                    choice.delta_e,
                    choice.chosen_at,
                ),
            )
            return replace(choice, id=cursor.lastrowid or 0)

    def relabel(self, number: int, label: str) -> None:
        """Give a choice a label.

        Raises:
            LogError: There is no such choice, the label will not do, or nothing could be written.
        """
        label = checked_name(label, "the label")
        with self._transaction():
            found = self._db.execute("UPDATE choice SET label = ? WHERE id = ?", (label, number))
            if not found.rowcount:
                raise LogError(f"{self.path}: no choice {number}; `tuimatch log` lists them")

    def choices(self, project: str | None = None, *, last: int | None = None) -> list[Choice]:
        """The choices of a project, or of all, oldest first.

        Args:
            project: Its name in any letter case; None for all.
            last: Only so many of the newest.

        Raises:
            LogError: The log cannot be read.
        """
        where = "" if project is None else "WHERE project.name = ?"
        values: list[object] = [] if project is None else [project]
        with self._explained("read"):
            rows = self._db.execute(
                "SELECT choice.*, project.name AS project FROM choice"
                f" JOIN project ON project.id = choice.project_id {where}"
                " ORDER BY choice.id DESC LIMIT ?",
                [*values, -1 if last is None else last],
            )
            rows.row_factory = sqlite3.Row
            return [_choice(row) for row in rows][::-1]

    def projects(self) -> list[str]:
        """The names of all projects, in order of their making."""
        with self._explained("read"):
            return [name for (name,) in self._db.execute("SELECT name FROM project ORDER BY id")]

    def _project_id(self, name: str) -> int:
        name = checked_name(name, "the project's name") or UNSORTED
        self._db.execute(
            "INSERT OR IGNORE INTO project (name, created_at) VALUES (?, ?)",
            (name, datetime.now(UTC).isoformat(timespec="seconds")),
        )
        row = self._db.execute("SELECT id FROM project WHERE name = ?", (name,)).fetchone()
        return int(row[0])

    def _migrate(self) -> None:
        with self._transaction():
            (version,) = self._db.execute("PRAGMA user_version").fetchone()
            if version > VERSION:
                raise LogError(
                    f"{self.path}: was written by a newer tuimatch (schema {version}, this one"
                    f" knows {VERSION}); update tuimatch, the log is untouched"
                )
            if version == 0 and self._db.execute("SELECT 1 FROM sqlite_master").fetchone():
                raise LogError(
                    f"{self.path}: is another program's database; give a path of its own"
                )
            for number in range(version, VERSION):
                for statement in _MIGRATIONS[number].split(";"):
                    self._db.execute(statement)
                self._db.execute(f"PRAGMA user_version = {number + 1}")

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with self._explained("written"):
            # IMMEDIATE takes the write lock first: nothing read here can be stale when written.
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                self._db.execute("ROLLBACK")
                raise
            self._db.execute("COMMIT")

    @contextmanager
    def _explained(self, done: str) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            why = error.strerror if isinstance(error, OSError) else str(error)
            raise LogError(
                f"{self.path}: the log cannot be {done} ({why}); "
                "check the file and its folder, or give another with --log"
            ) from error


def read_only_choices(path: Path, project: str | None = None) -> list[Choice]:
    """The choices of a log that may not exist yet, without making it."""
    if not path.exists():
        return []
    with closing(Log(path)) as log:
        return log.choices(project)


def _choice(row: sqlite3.Row) -> Choice:
    return Choice(
        id=row["id"],
        identity=row["identity"],
        project=row["project"],
        label=row["label"],
        target_text=row["target_text"],
        target_lab=_triple(row["target_lab"]),
        palette=row["palette"],
        palette_digest=row["palette_digest"],
        recipe=row["recipe"],
        tints=json.loads(row["tints"]),
        lab=_triple(row["lab"]),
        srgb=row["srgb"],
        delta_e=row["delta_e"],
        chosen_at=row["chosen_at"],
    )


def _triple(text: str) -> Triple:
    first, second, third = json.loads(text)
    return float(first), float(second), float(third)


def log_path(given: str | None) -> Path:
    """The log to use: the one given, TUIMATCH_LOG, or the one in the user's data folder."""
    chosen = given or os.environ.get("TUIMATCH_LOG")
    return Path(chosen).expanduser() if chosen else default_path()
