"""Which entries hold the words typed.

Every word must occur somewhere in an entry: in its label, page, note, recipe, target or sRGB; words
between quotes must stand together, such as "magenta 50". Case and accents do not count. ``page 4``
is what stands on that page, if there is one, and ``no page`` what stands on none.

An index of all runs of three characters (SQLite's FTS5, trigram) finds words of three or more
without reading the entries; for shorter words the known runs that begin with them are looked up.
The project is such a run too, so that a small project in a large log is found as fast.
"""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tuimatch.log.area import pages
from tuimatch.text import is_unsafe

# A quote still open reaches to the end: it is being typed.
_WORD = re.compile(r'"([^"]*)"?|(\S+)')

# Beyond so many runs a short word is so common that reading the newest entries is faster.
_MOST_RUNS = 60

# Up to so many matches are sorted. Of more, the order's index is gone through until enough match,
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
    return [quoted or word for quoted, word in _parts(text)]


def words_and_pages(text: str, known: Iterable[str]) -> tuple[list[str], list[str] | None]:
    """What must be found, and where.

    Args:
        text: As typed.
        known: The texts of all pages there are.

    Returns:
        The words, and the page texts of which an entry must have one; None for any.
    """
    on = {known_text: {folded(page) for page in pages(known_text)} for known_text in known}
    needed, where, parts = [], None, _parts(text)
    while parts:
        quoted, word = parts.pop(0)
        asked = _page_asked(word, parts)
        there = [text for text, its in on.items() if asked in its]
        # “page turner” are words where no page has that name.
        if there or asked == "" or (asked and asked[0].isdigit()):
            where = there if where is None else [text for text in where if text in there]
            del parts[0]
        else:
            needed.append(quoted or word)
    return needed, where


def _page_asked(word: str, following: list[tuple[str, str]]) -> str | None:
    """The page that a word asks for with the next, ``page 4`` or ``no page``; None for none."""
    if word == "no" and following[:1] == [("", "page")]:
        return ""
    return "".join(following[0]) if word == "page" and following else None


def _parts(text: str) -> list[tuple[str, str]]:
    """What stood between quotes, or a word, of each part; the other is empty."""
    # No text in the log holds what is unsafe, so that such a word finds nothing.
    safe = "".join(" " if c.isspace() else "\1" if is_unsafe(c) else c for c in text)
    return [part for part in _WORD.findall(folded(safe)) if "".join(part).strip()]


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
        pages: The page texts of which an entry must have one; None for any.
    """

    match: str
    loose: tuple[str, ...]
    needed: tuple[str, ...]
    pages: tuple[str, ...] | None = None

    @classmethod
    def of(cls, db: sqlite3.Connection, text: str, project_id: int | None) -> Query:
        """The query for the words of a text in a project or in all."""
        matches, loose = [], []
        with_page = "page" in words(text)
        rows = db.execute("SELECT DISTINCT page FROM choice") if with_page else ()
        needed, where = words_and_pages(text, (page for (page,) in rows))
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
        on_pages = None if where is None else tuple(where)
        return cls(" AND ".join(matches), tuple(loose), tuple(needed), on_pages)

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
        on_pages = "" if self.pages is None else " AND page IN (SELECT value FROM json_each(?))"
        page_values = () if self.pages is None else (json.dumps(self.pages),)
        loose = _holding(len(self.loose)) + on_pages
        if self.match and order in ("newest", "oldest"):
            if not loose:
                return "SELECT rowid AS id FROM search WHERE search MATCH ?", (self.match,)
            return (
                "SELECT id FROM (SELECT search.rowid AS id, choice.folded AS folded,"
                " choice.page AS page FROM search JOIN choice ON choice.id = search.rowid"
                f" WHERE search MATCH ?) WHERE 1{loose}",
                (self.match, *self.loose, *page_values),
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
                    (self.match, *self.loose, *page_values),
                )
        needed = _holding(len(self.needed)) + on_pages
        sql = f"SELECT id FROM choice WHERE removed_at IS NULL{needed}"
        return sql, (*self.needed, *page_values)
