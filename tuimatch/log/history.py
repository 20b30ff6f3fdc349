"""What was done, so that it can be undone, also after a restart.

A step is what a person did, however many rows it changed; it belongs to a project, so that undoing
in one never touches another: what is done to several at once is a step in each. Of each row changed
the columns as they were are kept; undoing puts them back and keeps what it replaces, so that it can
be redone. Of ticks only those are kept that were set or taken away. A step that was undone is
passed over for good once something else is done after it, but stays in the file.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from tuimatch.errors import LogError
from tuimatch.log import soundness
from tuimatch.log.choice import moment_now
from tuimatch.log.database import Database
from tuimatch.log.soundness import Columns


@dataclass(frozen=True)
class _Doing:
    """What is being done.

    Attributes:
        project_id: The project whose rows are changed now.
        steps: The step of each project that something was changed in.
    """

    what: str
    project_id: int
    steps: dict[int, int]


class History:
    """The steps of a log."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self._doing: _Doing | None = None

    @contextmanager
    def step(self, what: str, project_id: int) -> Iterator[None]:
        """Make the changes inside, to rows of one project, one step.

        A step inside another is part of it, or of what that is called in the other's project.
        Call it inside a transaction.
        """
        outer = self._doing
        self._doing = (
            _Doing(what, project_id, {}) if outer is None else replace(outer, project_id=project_id)
        )
        try:
            yield
        finally:
            self._doing = outer

    def insert(self, of: str, columns: Columns) -> int:
        """Add a row, as part of the step."""
        row = _insert(self.database.db, of, columns)
        self._note(of, row, None)
        return row

    def update(self, of: str, row: int, columns: Columns) -> None:
        """Change columns of a row, as part of the step; what stays the same is not a change."""
        db = self.database.db
        now = _read(db, of, row, columns)
        before = {name: was for name, was in now.items() if was != columns[name]}
        if before:
            self._note(of, row, before)
            _update(db, of, row, columns)

    def ticks(self, row: int, ticks: Iterable[tuple[str, float]], on: bool) -> None:
        """Set ticks of a choice, or take them away, as part of the step.

        What is so already is not a change.

        Args:
            row: The choice.
            ticks: Ink and tint of each.
            on: Whether to set them.
        """
        wanted: Columns = {"ticks": list(map(list, ticks)), "on": int(on)}
        before = _swap_ticks(self.database.db, row, wanted)
        if before["ticks"]:
            self._note("choice", row, before)

    def take_over(self, row: int) -> None:
        """Make the taking of a choice part of the step, unless it was changed since by another.

        Undoing the step then takes the choice away. Call it when the step has been begun.
        """
        assert self._doing is not None
        db, number = self.database.db, self._doing.steps[self._doing.project_id]
        taking = self.taking_of(row, self._doing.project_id)
        if taking is not None:
            db.execute(
                "UPDATE change SET step_id = ? WHERE step_id = ? AND of = 'choice' AND row = ?",
                (number, taking, row),
            )
            db.execute(
                "DELETE FROM step WHERE id = ?"
                " AND NOT EXISTS (SELECT * FROM change WHERE step_id = step.id)",
                (taking,),
            )

    def is_alone(self, number: int) -> bool:
        """Whether a step changed one row only."""
        count = "SELECT count(*) FROM change WHERE step_id = ?"
        (changes,) = self.database.db.execute(count, (number,)).fetchone()
        return bool(changes == 1)

    def taking_of(self, row: int, project_id: int) -> int | None:
        """The step that took a choice; None where another has changed it since.

        The step that is being done does not count.
        """
        now = self._doing.steps.get(project_id) if self._doing else None
        changes = self.database.db.execute(
            "SELECT step_id, before FROM change JOIN step ON step.id = step_id"
            " WHERE of = 'choice' AND row = ? AND state = 'done' AND step_id IS NOT ?"
            " AND step.project_id = ?",
            (row, now, project_id),
        ).fetchall()
        match changes:
            case [(int(taking), None)]:
                return taking
        return None

    def undo(self, project_id: int | None) -> str | None:
        """Take back the last step of a project, or of all, and say what it was.

        Call it inside a transaction.
        """
        return self._turn("done", "undone", "DESC", project_id)

    def redo(self, project_id: int | None) -> str | None:
        """Redo what was undone last and say what it was. Call it inside a transaction."""
        return self._turn("undone", "done", "ASC", project_id)

    def _turn(self, state: str, to: str, order: str, project_id: int | None) -> str | None:
        db = self.database.db
        whose = "" if project_id is None else "AND project_id = ?"
        # In a project the order of steps is that of their numbers. Over all of them what was done,
        # undone or redone last comes first, but never before a later step of its own project.
        least = "max" if order == "DESC" else "min"
        step = db.execute(
            "SELECT id, what FROM step WHERE id IN"
            f" (SELECT {least}(id) FROM step WHERE state = ? {whose} GROUP BY project_id)"
            f" ORDER BY done_at DESC, id {order} LIMIT 1",
            (state,) if project_id is None else (state, project_id),
        ).fetchone()
        if step is None:
            return None
        number, what = step
        self._turn_step(number, what, to, order)
        return str(what)

    def undo_step(self, number: int) -> None:
        """Take back one step, on which later ones do not depend. Call it inside a transaction."""
        (what,) = self.database.db.execute(
            "SELECT what FROM step WHERE id = ?", (number,)
        ).fetchone()
        self._turn_step(number, what, "undone", "DESC")

    def _turn_step(self, number: int, what: str, to: str, order: str) -> None:
        db = self.database.db
        kept, put = ("after", "before") if to == "undone" else ("before", "after")
        changes = db.execute(
            f"SELECT id, of, row, {put} FROM change WHERE step_id = ? ORDER BY id {order}",
            (number,),
        ).fetchall()
        for change, of, row, image in changes:
            columns = soundness.image(image)
            self._changed(of, row)
            try:
                now = _swap(db, of, row, columns)
            except (LookupError, sqlite3.IntegrityError) as error:
                problem = (
                    "is not there; redo first what was undone in its own project"
                    if isinstance(error, LookupError)
                    else "would be there twice; remove or rename first what came in its place"
                )
                turned = "undone" if to == "undone" else "redone"
                raise LogError(
                    f"{self.database.path}: {what!r} cannot be {turned}: {of} {row} {problem}"
                ) from error
            db.execute(
                f"UPDATE change SET {kept} = ?, {put} = NULL WHERE id = ?", (_json(now), change)
            )
        db.execute(
            "UPDATE step SET state = ?, done_at = ? WHERE id = ?", (to, _moment_after(db), number)
        )

    def _changed(self, of: str, row: int) -> None:
        if of == "choice":
            self.database.changed.add(row)

    def _note(self, of: str, row: int, before: Columns | None) -> None:
        assert self._doing is not None
        steps, project_id = self._doing.steps, self._doing.project_id
        if project_id not in steps:
            steps[project_id] = self._begun(self._doing.what, project_id)
        self._changed(of, row)
        self.database.db.execute(
            "INSERT INTO change (step_id, of, row, before) VALUES (?, ?, ?, ?)",
            (steps[project_id], of, row, _json(before)),
        )

    def _begun(self, what: str, project_id: int) -> int:
        db = self.database.db
        db.execute(
            "UPDATE step SET state = 'passed' WHERE state = 'undone' AND project_id = ?",
            (project_id,),
        )
        cursor = db.execute(
            "INSERT INTO step (project_id, what, done_at, state) VALUES (?, ?, ?, 'done')",
            (project_id, what, moment_now()),
        )
        return cursor.lastrowid or 0


def _swap(db: sqlite3.Connection, of: str, row: int, columns: Columns | None) -> Columns | None:
    """Put a row's columns back, None for no row at all; returns what they were, likewise.

    Only choices ever come and go, and their ticks with them.

    Raises:
        LookupError: There is no such row.
    """
    if columns is None:
        now = _read(db, of, row, None)
        ticks = db.execute("SELECT ink, tint FROM tick WHERE choice_id = ?", (row,))
        now["ticks"] = ticks.fetchall()
        db.execute(f"DELETE FROM {of} WHERE id = ?", (row,))
        return now
    if "on" in columns:
        return _swap_ticks(db, row, columns)
    if "id" in columns:
        ticks = columns.pop("ticks", [])
        _insert(db, of, columns)
        db.executemany(
            "INSERT OR IGNORE INTO tick (choice_id, ink, tint) VALUES (?, ?, ?)",
            [(row, *tick) for tick in ticks],
        )
        return None
    now = _read(db, of, row, columns)
    if of == "choice":
        columns = {**columns, "changed_at": moment_now()}
    _update(db, of, row, columns)
    return now


def _swap_ticks(db: sqlite3.Connection, row: int, image: Columns) -> Columns:
    """Set ticks of a choice, or take them away; returns what puts back those that changed."""
    if db.execute("SELECT id FROM choice WHERE id = ?", (row,)).fetchone() is None:
        raise LookupError(row)
    rows = db.execute("SELECT ink, tint FROM tick WHERE choice_id = ?", (row,))
    there, on = set(rows.fetchall()), bool(image["on"])
    changing = [tick for tick in image["ticks"] if (tuple(tick) in there) != on]
    sql = (
        "INSERT OR IGNORE INTO tick (choice_id, ink, tint) VALUES (?, ?, ?)"
        if on
        else "DELETE FROM tick WHERE choice_id = ? AND ink = ? AND tint = ?"
    )
    db.executemany(sql, [(row, *tick) for tick in changing])
    if changing:
        db.execute("UPDATE choice SET changed_at = ? WHERE id = ?", (moment_now(), row))
    return {"ticks": changing, "on": int(not on)}


def _moment_after(db: sqlite3.Connection) -> str:
    """Now, or a moment after all steps where the clock says less."""
    (last,) = db.execute("SELECT max(done_at) FROM step").fetchone()
    now = moment_now()
    if now > last:
        return now
    try:
        later = datetime.fromisoformat(last) + timedelta(microseconds=1)
        return later.isoformat(timespec="microseconds")
    except (ValueError, OverflowError):
        return now


def _read(db: sqlite3.Connection, of: str, row: int, columns: Columns | None) -> Columns:
    """Columns of a row, all with its id when none are named."""
    names = "*" if columns is None else ", ".join(columns)
    cursor = db.execute(f"SELECT {names} FROM {of} WHERE id = ?", (row,))
    found = cursor.fetchone()
    if found is None:
        raise LookupError(row)
    return dict(zip((name for name, *_ in cursor.description), found, strict=True))


def _insert(db: sqlite3.Connection, of: str, columns: Columns) -> int:
    marks = ", ".join("?" * len(columns))
    cursor = db.execute(
        f"INSERT INTO {of} ({', '.join(columns)}) VALUES ({marks})", tuple(columns.values())
    )
    return cursor.lastrowid or 0


def _update(db: sqlite3.Connection, of: str, row: int, columns: Columns) -> None:
    names = ", ".join(f"{name} = ?" for name in columns)
    db.execute(f"UPDATE {of} SET {names} WHERE id = ?", (*columns.values(), row))


def _json(columns: Columns | None) -> str | None:
    return None if columns is None else json.dumps(columns, ensure_ascii=False)
