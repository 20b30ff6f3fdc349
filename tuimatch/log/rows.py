"""The rows of an open log: choices with their palettes and ticks, read and written.

Each can be one part of a larger step. `log`, `session` and `transfer` make their steps of them.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tuimatch.log import soundness
from tuimatch.log.bundle import Entry
from tuimatch.log.choice import Choice, checksum, moment_now
from tuimatch.log.database import Database
from tuimatch.log.history import History
from tuimatch.log.projects import Projects
from tuimatch.log.search import indexed_row, runs
from tuimatch.log.soundness import Columns
from tuimatch.log.ticks import Ticks

_SELECT = (
    "SELECT choice.*, project.name AS project FROM choice"
    " JOIN project ON project.id = choice.project_id WHERE"
)

# While choices are brought in by the thousand.
_BULK_MEMORY = 64_000_000
_MOST_NOTED = 300_000


class Rows:
    """The rows of an open log.

    Attributes:
        path: The SQLite file.
        projects: Whose choices they are.
        ticks: What has been laid already.
    """

    def __init__(self, path: Path, patience: float) -> None:
        self.path = path
        self.database = Database(path, patience)
        self.history = History(self.database)
        self.projects = Projects(self.database, self.history)
        self.ticks = Ticks(self.database)
        self._bulk: set[str] | None = None

    def entries(self, numbers: Sequence[int]) -> list[Entry]:
        """The choices of these numbers with all that moves along, those removed too."""
        found = []
        with self.database.reading() as db:
            for start in range(0, len(numbers), 500):
                some = ", ".join(map(str, numbers[start : start + 500]))
                removed = dict(
                    db.execute(f"SELECT id, removed_at FROM choice WHERE id IN ({some})")
                )
                ticks: dict[int, list[tuple[str, float]]] = {}
                for number, ink, tint in db.execute(
                    "SELECT choice_id, ink, tint FROM tick"
                    f" WHERE choice_id IN ({some}) ORDER BY choice_id, ink, tint"
                ):
                    ticks.setdefault(number, []).append((ink, soundness.number(tint)))
                found += [
                    Entry(c, removed[c.id], tuple(ticks.get(c.id, ())))
                    for c in choices_where(db, f"choice.id IN ({some}) ORDER BY choice.id")
                ]
        return found

    def palette_row(self, digest: str) -> tuple[str, str]:
        """The name and the full text of a palette; both empty when it is lost."""
        with self.database.reading() as db:
            found = db.execute("SELECT name, text FROM palette WHERE digest = ?", (digest,))
            name, text = found.fetchone() or ("", "")
            return str(name), str(text)

    # Writing; call these inside a transaction and a step of the history.

    @contextmanager
    def in_bulk(self) -> Iterator[None]:
        """For thousands of choices in one transaction: the index stays in memory meanwhile."""
        db = self.database.db
        (usual,) = db.execute("PRAGMA cache_size").fetchone()
        db.execute(f"PRAGMA cache_size = -{_BULK_MEMORY // 1024}")  # in KiB
        self._bulk = set()
        try:
            yield
            waiting, self._bulk = self._bulk, None
            self._note_runs(waiting)
        finally:
            self._bulk = None
            db.execute(f"PRAGMA cache_size = {usual}")

    def add_palette(self, digest: str, name: str, text: str) -> None:
        """Keep the text of a palette once; put it back where it was lost."""
        self.database.db.execute(
            "INSERT INTO palette (digest, name, text) VALUES (?, ?, ?)"
            " ON CONFLICT (digest) DO UPDATE SET text = excluded.text WHERE text = ''",
            (digest, name, text),
        )

    def insert(
        self,
        choice: Choice,
        project_id: int,
        removed_at: str | None = None,
        ticks: Iterable[tuple[str, float]] = (),
    ) -> int:
        """Add the row of a choice, with what is laid of it already, and give its number."""
        columns = self._columns(choice, project_id, removed_at)
        columns |= {"identity": choice.identity, "project_id": project_id}
        row = self.history.insert("choice", columns)
        # What undoes the row takes its ticks along.
        self.database.db.executemany(
            "INSERT OR IGNORE INTO tick (choice_id, ink, tint) VALUES (?, ?, ?)",
            [(row, ink, tint) for ink, tint in ticks],
        )
        return row

    def update(self, row: int, choice: Choice, removed_at: str | None = None) -> None:
        """Put what a choice says into a row, all but its project."""
        (project_id,) = self.database.db.execute(
            "SELECT project_id FROM choice WHERE id = ?", (row,)
        ).fetchone()
        self.history.update("choice", row, self._columns(choice, project_id, removed_at))

    def set_ticks(self, row: int, ticks: Iterable[tuple[str, float]]) -> None:
        """Make these all the ticks of a choice, ink and tint of each."""
        wanted = set(ticks)
        there = {(tick.ink, tick.tint) for tick in self.ticks.of([row])}
        self.history.ticks(row, sorted(there - wanted), on=False)
        self.history.ticks(row, sorted(wanted - there), on=True)

    def _columns(self, choice: Choice, project_id: int, removed_at: str | None) -> Columns:
        row = choice.as_row()
        text = indexed_row(project_id, row)
        self._note_runs(runs(text))
        return {
            **row,
            # What is doubtful stays so, whatever is changed of it.
            "checksum": "" if choice.doubtful else checksum(choice.identity, project_id, row),
            "changed_at": choice.changed_at or moment_now(),
            "removed_at": removed_at,
            "folded": text,
        }

    def _note_runs(self, found: set[str]) -> None:
        """Note runs of characters; in bulk by the hundred thousand, in the order of the index."""
        if self._bulk is not None:
            self._bulk |= found
            if len(self._bulk) < _MOST_NOTED:
                return
            found, self._bulk = self._bulk, set()
        self.database.db.executemany(
            "INSERT OR IGNORE INTO run VALUES (?)", [(run,) for run in sorted(found)]
        )


def choices_where(db: sqlite3.Connection, where: str, *values: object) -> list[Choice]:
    """The choices that a condition of SQL holds for."""
    rows = db.execute(f"{_SELECT} {where}", values)
    names = [name for name, *_ in rows.description]
    return [Choice.from_row(dict(zip(names, row, strict=True))) for row in rows]
