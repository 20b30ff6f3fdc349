"""What is remembered over a restart, beside the project in use: one text for each thing.

It stands in the table ``meta`` under the thing and whose it is. Whoever reads a text checks it as
what comes from a file: another program may have written it.
"""

from __future__ import annotations

from contextlib import suppress
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # A thing can be named before SQLite is there.
    from tuimatch.log.database import Database
    from tuimatch.log.projects import Projects

_MOST = 4_000  # characters of a value


class Thing(Enum):
    """A thing that is remembered: each project has its own, except for the wording.

    A new one is a member here, and two lines where it is noted and recalled.
    """

    PALETTE = "palette"
    PAGE = "page"
    INTENT = "intent"
    LIMITS = "limits"
    WORDING = "wording"  # of each palette, by its name


class Remembered:
    """The things that a log remembers."""

    def __init__(self, database: Database, projects: Projects) -> None:
        self.database, self.projects = database, projects

    def recall(self, thing: Thing, whose: str) -> str:
        """What is remembered; empty where there is nothing, or it is not a text.

        Args:
            thing: What.
            whose: The project's name, or that of the palette.

        Raises:
            LogError: The log cannot be read.
        """
        with self.database.reading() as db:
            scope = whose if thing is Thing.WORDING else self.projects.find_id(whose)
            # In hex, because neither SQLite nor its wrapper looks whether a text is UTF-8.
            found = db.execute(
                "SELECT hex(value) FROM meta WHERE key = ? AND length(value) <= ?",
                (f"{thing.value}:{scope}", _MOST),
            ).fetchone()
        with suppress(UnicodeDecodeError):
            return "" if found is None else bytes.fromhex(found[0]).decode()
        return ""

    def note(self, thing: Thing, whose: str, value: str) -> None:
        """Remember a value in place of the one before; an empty one is forgotten.

        Raises:
            LogError: It could not be written.
        """
        with self.database.transaction(anywhere=True) as db:
            scope = whose if thing is Thing.WORDING else self.projects.id_of(whose)
            key = f"{thing.value}:{scope}"
            if value:
                db.execute("INSERT OR REPLACE INTO meta (key, value) VALUES (?, ?)", (key, value))
            else:
                db.execute("DELETE FROM meta WHERE key = ?", (key,))
