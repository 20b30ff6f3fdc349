"""The projects of a log: made, used, renamed, archived; the last one used is remembered."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from tuimatch.errors import LogError
from tuimatch.log.choice import UNSORTED, checked_name, seconds_now
from tuimatch.log.database import Database
from tuimatch.log.history import History


@dataclass(frozen=True)
class Project:
    """A project.

    Attributes:
        archived_at: UTC; None unless it is archived.
        choices: How many it has, without those removed.
        current: Whether it was the last one used.
    """

    name: str
    created_at: str
    archived_at: str | None
    choices: int
    current: bool


class Projects:
    """The projects of a log; names count in any letter case."""

    def __init__(self, database: Database, history: History) -> None:
        self.database, self.history = database, history
        # What this session knew a project by, also after another window has renamed it.
        self._known: dict[str, int] = {}
        self._file = -1

    def all(self, *, archived: bool = False) -> list[Project]:
        """The projects in order of their making.

        Args:
            archived: Whether to give the archived ones too.

        Raises:
            LogError: The log cannot be read.
        """
        current = self.current()
        with self.database.reading() as db:
            rows = db.execute(
                "SELECT name, created_at, archived_at, (SELECT count(*) FROM choice"
                " WHERE project_id = project.id AND removed_at IS NULL) FROM project"
                " WHERE ? OR archived_at IS NULL ORDER BY id",
                (archived,),
            )
            return [
                Project(name, created_at, archived_at, choices, name == current)
                for name, created_at, archived_at, choices in rows
            ]

    def current(self) -> str:
        """The last one used, or the unsorted one."""
        with self.database.reading() as db:
            found = db.execute(
                "SELECT name FROM project"
                " JOIN meta ON meta.key = 'project' AND project.id = meta.value"
            ).fetchone()
            return UNSORTED if found is None else str(found[0])

    def create(self, name: str) -> str:
        """Make a project, use it and give its name back.

        Raises:
            LogError: There is one of that name, the name will not do, or it cannot be written.
        """
        name = _checked(name)
        with self.database.transaction() as db:
            taken = _row(db, name)
            if taken is not None:
                raise LogError(f"there is a project {taken[1]!r} already; choose another name")
            self._make(name, None)
            self.use_id(self.existing(name)[0])
        return name

    def use(self, name: str) -> str:
        """Remember a project as the one in use and give its name back.

        Raises:
            LogError: There is no such project, or it cannot be written.
        """
        with self.database.transaction():
            number, name = self.existing(name)
            self.use_id(number)
        return name

    def rename(self, old: str, new: str) -> str:
        """Give a project another name; it can be undone.

        Raises:
            LogError: There is no such project, the new name is taken or will not do, or nothing
                can be written.
        """
        new = _checked(new)
        with self.database.transaction() as db:
            number, old = self.existing(old)
            taken = _row(db, new)
            if taken is not None and taken[0] != number:
                raise LogError(f"there is a project {taken[1]!r} already; choose another name")
            with self.history.step(f"renamed project {old} to {new}", number):
                self.history.update("project", number, {"name": new})
        return new

    def archive(self, name: str) -> str:
        """Leave a project out of the lists; its choices stay. It can be undone.

        Raises:
            LogError: There is no such project, or it cannot be written.
        """
        with self.database.transaction() as db:
            number, name = self.existing(name)
            with self.history.step(f"archived project {name}", number):
                self.history.update("project", number, {"archived_at": seconds_now()})
            db.execute("DELETE FROM meta WHERE key = 'project' AND value = ?", (str(number),))
        return name

    def restore(self, name: str) -> str:
        """Put an archived project back into the lists. It can be undone.

        Raises:
            LogError: There is no such project, or it cannot be written.
        """
        with self.database.transaction():
            number, name = self.existing(name)
            with self.history.step(f"restored project {name}", number):
                self.history.update("project", number, {"archived_at": None})
        return name

    def id_of(self, name: str, archived_at: str | None = None) -> int:
        """The number of a project, made when there is none. Call it inside a transaction.

        Args:
            name: Its name.
            archived_at: When it was archived, if it has to be made.
        """
        name = checked_name(name, "the project's name") or UNSORTED
        found = self._find(name)
        if found is None:
            self._make(name, archived_at)
        return self.existing(name)[0]

    def _make(self, name: str, archived_at: str | None) -> None:
        self.database.db.execute(
            "INSERT INTO project (name, created_at, archived_at) VALUES (?, ?, ?)",
            (name, seconds_now(), archived_at),
        )

    def find_id(self, name: str) -> int | None:
        """The number of a project, or None."""
        found = self._find(checked_name(name, "the project's name") or UNSORTED)
        return None if found is None else found[0]

    def name_of(self, number: int) -> str:
        """The name that the project of a number has now."""
        with self.database.reading() as db:
            (name,) = db.execute("SELECT name FROM project WHERE id = ?", (number,)).fetchone()
            return str(name)

    def use_id(self, number: int) -> None:
        """Remember a project by its number. Call it inside a transaction."""
        self.database.db.execute(
            "INSERT OR REPLACE INTO meta (key, value) VALUES ('project', ?)", (str(number),)
        )

    def existing(self, name: str) -> tuple[int, str]:
        """The number of a project and its name as it is written.

        Raises:
            LogError: There is no such project.
        """
        db = self.database.db
        found = self._find(checked_name(name, "the project's name") or UNSORTED)
        if found is None:
            names = [name for (name,) in db.execute("SELECT name FROM project ORDER BY id")]
            known = f"there are {', '.join(names)}" if names else "there is none yet"
            raise LogError(f"no project {name!r}; {known}")
        return found

    def _find(self, name: str) -> tuple[int, str] | None:
        """The number and name of a project, also by the name that this session knew it by."""
        db = self.database.db
        if self._file != self.database.opened:  # numbers of another file mean nothing
            self._known, self._file = {}, self.database.opened
        found = _row(db, name)
        if found is None and name.casefold() in self._known:
            row = db.execute(
                "SELECT id, name FROM project WHERE id = ?", (self._known[name.casefold()],)
            ).fetchone()
            found = None if row is None else (int(row[0]), str(row[1]))
        if found is not None:
            self._known[name.casefold()] = found[0]
        return found


def _row(db: sqlite3.Connection, name: str) -> tuple[int, str] | None:
    found = db.execute("SELECT id, name FROM project WHERE name = ?", (name,)).fetchone()
    return None if found is None else (int(found[0]), str(found[1]))


def _checked(name: str) -> str:
    name = checked_name(name, "the project's name")
    if not name:
        raise LogError("the project's name is empty; give a name such as ferrow")
    return name
