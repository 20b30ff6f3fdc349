"""Which entries hold the words typed.

Every word must occur somewhere in an entry: in its label, page, note, recipe, target or sRGB; words
between quotes must stand together, such as "magenta 50". Case and accents do not count.

An index of all runs of three characters (SQLite's FTS5, trigram) finds words of three or more
without reading the entries; for shorter words the known runs that begin with them are looked up.
The project is such a run too, so that a small project in a large log is found as fast.
"""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tuimatch.text import is_unsafe

# A quote still open reaches to the end: it is being typed.
_WORD = re.compile(r'"([^"]*)"?|(\S+)')

# Beyond so many runs a short word is so common that reading the newest entries is faster.
_MOST_RUNS = 60

# So many matches are sorted. Of more, the order's index is gone through until enough of it match,
# against a list of the matches or, where that would be long, by reading each entry.
_MOST_SORTED = 2_000
_MOST_LISTED = 20_000

# How entries can be ordered; each order has an index in the schema.
ORDERS = {
    "newest": "id DESC",
    "oldest": "id",
    "label": "label COLLATE NOCASE, id",
    "page": "CAST(page AS INTEGER), page, id",
    "delta_e": "delta_e, id",
}


def folded(text: str) -> str:
    """A text without case and accents."""
    if text.isascii():
        return text.casefold()
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in parts if not unicodedata.combining(c))


# The columns of a choice that are searched.
_SEARCHED = ("label", "page", "note", "target_text", "srgb", "recipe")


def indexed_row(project_id: int, row: Mapping[str, Any]) -> str:
    """What is searched of a choice, from its columns."""
    return indexed(project_id, *(row[name] for name in _SEARCHED))


def indexed(project_id: int, *texts: str) -> str:
    """What is searched of an entry; each character but the padding begins a run of three."""
    return "\n".join((_project_run(project_id), *map(folded, texts))) + "\n\n"


def runs(text: str) -> set[str]:
    """The runs of three characters in an indexed text."""
    return {text[i : i + 3] for i in range(len(text) - 2)}


def words(text: str) -> list[str]:
    """What must be found: each word, and what stands between quotes as it stands."""
    # No text in the log holds what is unsafe, so that such a word finds nothing.
    safe = "".join(" " if c.isspace() else "\1" if is_unsafe(c) else c for c in text)
    found = (quoted or word for quoted, word in _WORD.findall(folded(safe)))
    return [word for word in found if word.strip()]


def _project_run(project_id: int) -> str:
    # Private-use characters, which no text in the log can hold.
    return "".join(chr(0xE000 + (project_id >> shift & 0xFFF)) for shift in (24, 12, 0))


def _quoted(run: str) -> str:
    return '"' + run.replace('"', '""') + '"'


def _holding(count: int) -> str:
    """The condition that so many words occur, in pairs of pairs: SQLite minds a long chain."""
    parts = ["instr(folded, ?) > 0"] * count
    while len(parts) > 1:
        parts = [f"({' AND '.join(parts[at : at + 2])})" for at in range(0, len(parts), 2)]
    return f" AND {parts[0]}" if parts else ""


@dataclass(frozen=True)
class Query:
    """What is looked for.

    Attributes:
        match: What the index is asked; empty when it cannot help.
        loose: The words the index is not asked for.
        needed: Every text an entry must hold, those in `match` too.
    """

    match: str
    loose: tuple[str, ...]
    needed: tuple[str, ...]

    @classmethod
    def of(cls, db: sqlite3.Connection, text: str, project_id: int | None) -> Query:
        """The query for the words of a text in a project or in all."""
        matches, loose = [], []
        needed = words(text)
        for word in needed:
            if len(word) > 2:
                matches.append(_quoted(word))
                continue
            found = db.execute(
                "SELECT run FROM run WHERE run >= ? AND run < ? LIMIT ?",
                (word, word + chr(0x10FFFF), _MOST_RUNS + 1),
            ).fetchall()
            if len(found) > _MOST_RUNS:
                loose.append(word)
            elif found:
                matches.append("(" + " OR ".join(_quoted(run) for (run,) in found) + ")")
            else:  # nothing has it, so nothing has that and two paddings
                matches.append(_quoted(word + "\n\n"))
        if project_id is not None:
            needed.append(_project_run(project_id))
            matches.append(_quoted(needed[-1]))
        return cls(" AND ".join(matches), tuple(loose), tuple(needed))

    def ids(
        self, db: sqlite3.Connection, order: str = "newest", limit: int = -1, offset: int = 0
    ) -> list[int]:
        """The numbers of the entries that match, in order."""
        sql, values = self._select(db, order)
        rows = db.execute(
            f"{sql} ORDER BY {ORDERS[order]} LIMIT ? OFFSET ?", (*values, limit, offset)
        )
        return [number for (number,) in rows]

    def count(self, db: sqlite3.Connection) -> int:
        """How many entries match."""
        sql, values = self._select(db, "newest")
        return int(db.execute(f"SELECT count(*) FROM ({sql})", values).fetchone()[0])

    def _select(self, db: sqlite3.Connection, order: str) -> tuple[str, tuple[object, ...]]:
        loose = _holding(len(self.loose))
        if self.match and order in ("newest", "oldest"):
            if not self.loose:
                return "SELECT rowid AS id FROM search WHERE search MATCH ?", (self.match,)
            return (
                "SELECT id FROM (SELECT search.rowid AS id, choice.folded AS folded FROM search"
                f" JOIN choice ON choice.id = search.rowid WHERE search MATCH ?) WHERE 1{loose}",
                (self.match, *self.loose),
            )
        if self.match:
            sql = "SELECT rowid FROM search WHERE search MATCH ?"
            (count,) = db.execute(
                f"SELECT count(*) FROM ({sql} LIMIT ?)", (self.match, _MOST_LISTED + 1)
            ).fetchone()
            if count <= _MOST_LISTED:
                # The + keeps SQLite from looking up each match: it goes through the order's index.
                in_order = "+" if count > _MOST_SORTED else ""
                return (
                    f"SELECT id FROM choice WHERE removed_at IS NULL AND {in_order}id IN ({sql})"
                    f"{loose}",
                    (self.match, *self.loose),
                )
        needed = _holding(len(self.needed))
        return f"SELECT id FROM choice WHERE removed_at IS NULL{needed}", self.needed
