"""What has been laid already: one ink of one choice, ticked off.

Ticks belong to the drawing, not to the choice. Here they are set and taken away without a step;
`Log.tick` does the same so that it can be undone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tuimatch.errors import LogError
from tuimatch.log import soundness
from tuimatch.log.choice import moment_now
from tuimatch.log.database import Database


@dataclass(frozen=True, order=True)
class Tick:
    """One tint of an ink laid for a choice, the choice by its number."""

    choice: int
    ink: str
    tint: float


class Ticks:
    """The ticks of a log; those of one kind know nothing of those of another."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def of(self, kind: str | None, choices: Iterable[int] | None = None) -> set[Tick]:
        """The ticks of a kind, such as ``laying``.

        Args:
            kind: Any short word; None for every kind.
            choices: The numbers of the choices meant; all unless given.

        Raises:
            LogError: The log cannot be read.
        """
        with self.database.reading() as db:
            if choices is None:
                rows = db.execute(
                    "SELECT choice_id, ink, tint FROM tick WHERE kind = ifnull(?, kind)", (kind,)
                ).fetchall()
            else:
                rows = [
                    row
                    for number in choices
                    for row in db.execute(
                        "SELECT choice_id, ink, tint FROM tick"
                        " WHERE choice_id = ? AND kind = ifnull(?, kind)",
                        (number, kind),
                    )
                ]
            return {Tick(choice, ink, soundness.number(tint)) for choice, ink, tint in rows}

    def of_choice(self, choice: int) -> tuple[tuple[str, str, float], ...]:
        """All the ticks of a choice: kind, ink and tint, in order."""
        with self.database.reading() as db:
            rows = db.execute(
                "SELECT kind, ink, tint FROM tick WHERE choice_id = ? ORDER BY kind, ink, tint",
                (choice,),
            )
            return tuple((kind, ink, soundness.number(tint)) for kind, ink, tint in rows)

    def replace(self, choice: int, ticks: Iterable[tuple[str, Tick]]) -> None:
        """Make these, with their kinds, all the ticks of a choice. Call it inside a transaction."""
        db = self.database.db
        self.database.changed.add(choice)
        db.execute("DELETE FROM tick WHERE choice_id = ?", (choice,))
        db.executemany(
            "INSERT OR IGNORE INTO tick (choice_id, kind, ink, tint) VALUES (?, ?, ?, ?)",
            [(choice, kind, tick.ink, tick.tint) for kind, tick in ticks],
        )

    def put(self, kind: str, ticks: Iterable[Tick], on: bool = True) -> None:
        """Set ticks or take them away, all or none.

        Raises:
            LogError: There is no such choice, or nothing could be written.
        """
        sql = (
            "INSERT OR REPLACE INTO tick (choice_id, kind, ink, tint) VALUES (?, ?, ?, ?)"
            if on
            else "DELETE FROM tick WHERE choice_id = ? AND kind = ? AND ink = ? AND tint = ?"
        )
        with self.database.transaction() as db:
            for tick in ticks:
                self.database.changed.add(tick.choice)
                changed = db.execute(
                    "UPDATE choice SET changed_at = ? WHERE id = ?", (moment_now(), tick.choice)
                )
                if not changed.rowcount:
                    raise LogError(f"{self.database.path}: no choice {tick.choice}")
                db.execute(sql, (tick.choice, kind, tick.ink, tick.tint))

    def change(self, kind: str, on: Iterable[Tick], off: Iterable[Tick]) -> None:
        """Set ticks and take others away, all or none.

        Raises:
            LogError: There is no such choice, or nothing could be written.
        """
        with self.database.transaction():
            self.put(kind, on)
            self.put(kind, off, on=False)
