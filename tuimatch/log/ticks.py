"""What has been laid already: one ink of one choice at one tint, ticked off.

There is one tick, wherever it is set: where a recipe is laid, in the passes of a page, or brought
in with a project. `Log.tick` sets it and takes it away; both are steps, which can be undone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tuimatch.log import soundness
from tuimatch.log.choice import Choice
from tuimatch.log.database import Database
from tuimatch.text import percent


@dataclass(frozen=True, order=True)
class Tick:
    """One tint of an ink laid for a choice, the choice by its number."""

    choice: int
    ink: str
    tint: float


class Ticks:
    """The ticks of a log, to be read."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def of(self, choices: Iterable[int] | None = None) -> set[Tick]:
        """What is ticked.

        Args:
            choices: The numbers of the choices meant; all unless given.

        Raises:
            LogError: The log cannot be read.
        """
        select = "SELECT choice_id, ink, tint FROM tick"
        with self.database.reading() as db:
            if choices is None:
                rows = db.execute(select).fetchall()
            else:
                rows = [
                    row
                    for number in choices
                    for row in db.execute(f"{select} WHERE choice_id = ?", (number,))
                ]
            return {Tick(choice, ink, soundness.number(tint)) for choice, ink, tint in rows}

    def laid(self, choices: Iterable[Choice]) -> dict[int, tuple[str, ...]]:
        """The inks of each recipe that are laid at its tints, in laying order.

        Args:
            choices: As they are in the log.

        Returns:
            The names of the inks by the number of each choice that is begun.

        Raises:
            LogError: The log cannot be read.
        """
        choices = list(choices)
        ticks = self.of(choice.id for choice in choices)
        found = {
            choice.id: tuple(
                ink
                for ink, tint in choice.tints.items()
                if tint and Tick(choice.id, ink, tint) in ticks
            )
            for choice in choices
        }
        return {number: inks for number, inks in found.items() if inks}


def in_words(tints: Iterable[tuple[str, float]]) -> str:
    """Inks with their tints, as they are said."""
    return ", ".join(f"{ink} {percent(tint)} %" for ink, tint in tints)
