"""The file in which a project moves between machines: JSON, checked like anything foreign."""

from __future__ import annotations

import hashlib
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

from tuimatch.errors import LogError
from tuimatch.files import in_file, json_out
from tuimatch.log import kinds
from tuimatch.log.bundle import Bundle, Entry
from tuimatch.log.choice import COLUMNS, MAX_NAME, Choice, recipe_text
from tuimatch.log.kinds import Kind
from tuimatch.palette.file import MAX_BYTES as MAX_PALETTE
from tuimatch.palette.file import MOST_STEM
from tuimatch.text import printable

FORMAT = "tuimatch project"
# 1 had no intent and no target as meant. Up to 2 a tick had a kind, and one ink of a choice could
# stand there twice: it is laid all the same.
VERSION = 3

# A project of 20,000 choices with a line of notes each takes some 20 MB, with the longest notes 30.
MAX_BYTES = 40_000_000
_MAX_MEMORY = 400_000_000
_A_VALUE = 90  # bytes, the short string with its place in a list; an object takes the double

_PROJECT = kinds.text(MAX_NAME, empty=False)
_MOST_TITLE = 200
_TITLE = kinds.text(_MOST_TITLE)


def to_json(bundle: Bundle) -> str:
    """The text of a file that `read` takes.

    Raises:
        LogError: `read` would refuse it for its size.
    """
    choices = []
    for entry in bundle.entries:
        choice = entry.choice
        # An older tuimatch, which did not make file names printable, may have kept the choice.
        described = replace(choice, palette=printable(choice.palette)[:MOST_STEM]).as_json()
        del described["id"], described["project"]
        choices.append(
            {
                "identity": choice.identity,
                **described,
                "changed_at": choice.changed_at,
                "removed_at": entry.removed_at,
                "ticks": [{"ink": ink, "tint": tint} for ink, tint in entry.ticks],
            }
        )
    document = {
        "format": FORMAT,
        "version": VERSION,
        "project": bundle.project,
        "archived_at": bundle.archived_at,
        "palettes": {
            digest: {"name": printable(name)[:_MOST_TITLE], "text": text}
            for digest, (name, text) in bundle.palettes.items()
        },
        "choices": choices,
    }
    text = json_out.to_json(document, indent=1) + "\n"
    if len(text.encode()) > MAX_BYTES or _is_too_large(text):
        raise LogError(
            f"project {bundle.project!r} has too much for a file that can be imported"
            f" ({len(bundle.entries):,} recipes); copy the log itself"
        )
    return text


def read(path: Path) -> Bundle:
    """Read and check a file.

    Raises:
        LogError: The file cannot be read or is not one that `to_json` could have made.
    """
    give = "a file that `tuimatch log export` wrote"
    data = in_file.read_bytes(path, MAX_BYTES, give, lambda said: LogError(f"{path}: {said}"))
    return _Reader(str(path)).bundle(data)


def _is_too_large(text: str) -> bool:
    """Whether parsing a text may take too much: the text again, and what stands for each value."""
    values = text.count("[") + text.count(",") + text.count(":") + 2 * text.count("{")
    return 2 * sys.getsizeof(text) + _A_VALUE * values > _MAX_MEMORY


def _digest(text: str) -> str:
    """The digest of a palette's text; empty for half a surrogate pair, which no file can hold."""
    try:
        return hashlib.sha256(text.encode()).hexdigest()
    except UnicodeEncodeError:
        return ""


class _Reader:
    """Checks a parsed document; knows the file's name for its refusals."""

    def __init__(self, file: str) -> None:
        self.file = file

    def refuse(self, key: str, problem: str) -> NoReturn:
        where = f"{self.file}: {key}" if key else self.file
        raise LogError(f"{where}: {problem}; import what `tuimatch log export` wrote")

    def parsed(self, data: bytes) -> Any:
        if len(data) > MAX_BYTES:
            self.refuse("", f"is over {MAX_BYTES // 1_000_000} MB")
        try:
            text = data.decode("utf-8-sig")
            if _is_too_large(text):
                self.refuse("", "holds too many values")
            return json.loads(text)
        except UnicodeDecodeError as error:
            self.refuse("", f"is not UTF-8 at byte {error.start}")
        except (ValueError, RecursionError) as error:
            self.refuse("", f"is not JSON ({str(error)[:80]})")

    def bundle(self, data: bytes) -> Bundle:
        document = self.parsed(data)
        if not isinstance(document, dict) or document.get("format") != FORMAT:
            self.refuse("format", f"is not {FORMAT!r}")
        version = document.get("version")
        if version not in range(1, VERSION + 1):
            self.refuse("version", f"is {kinds.shown(version)}, this tuimatch knows {VERSION}")
        palettes = self.palettes(self.value(document, "palettes", "", dict))
        choices = self.value(document, "choices", "", list)
        project = self.take(_PROJECT, document, "project")
        entries = tuple(
            self.entry(table, f"choices[{number}].", project, palettes)
            for number, table in enumerate(choices, 1)
        )
        if len({entry.choice.identity for entry in entries}) < len(entries):
            self.refuse("choices", "holds an identity twice")
        inks: dict[str, set[str]] = {}
        for number, entry in enumerate(entries, 1):
            own = set(entry.choice.tints)
            if inks.setdefault(entry.choice.palette_digest, own) != own:
                self.refuse(f"choices[{number}].tints", "has other inks than its palette")
        archived_at = self.no_or_time(document, "archived_at", "")
        return Bundle(project, archived_at, palettes, entries)

    def palettes(self, tables: dict[str, Any]) -> dict[str, tuple[str, str]]:
        found = {}
        for digest, table in tables.items():
            at = f"palettes.{digest[:12]}."
            self.checked(kinds.DIGEST, digest, at[:-1])
            if not isinstance(table, dict):
                self.refuse(at[:-1], "is not a palette")
            text = self.value(table, "text", at, str)
            if len(text) > MAX_PALETTE:
                self.refuse(f"{at}text", "is over 1 MB")
            # A text lost to a damaged disk is empty.
            if text and _digest(text) != digest:
                self.refuse(f"{at}text", "does not agree with its digest")
            found[digest] = (self.take(_TITLE, table, "name", at), text)
        return found

    def entry(
        self, table: object, at: str, project: str, palettes: dict[str, tuple[str, str]]
    ) -> Entry:
        if not isinstance(table, dict):
            self.refuse(at[:-1], f"is {kinds.shown(table)}, not a recipe")
        given: dict[str, Any] = {}
        found: dict[str, Any] = {}
        for column in COLUMNS:
            *outer, key = column.path
            inside = table
            for name in outer:
                inside = self.value(inside, name, at, dict)
            value = inside.get(key)
            if value is None and column.since > 2:  # the file is from before it was added
                value = column.older(given)
            given[column.name] = value
            found[column.name] = self.checked(column.kind, value, at + ".".join(column.path))
        if found["recipe"] != recipe_text(found["tints"]):
            self.refuse(f"{at}recipe", f"{kinds.shown(found['recipe'])} does not agree with tints")
        if found["palette_digest"] not in palettes:
            self.refuse(f"{at}palette_digest", "is not one of the palettes")
        choice = Choice(
            project=project,
            identity=self.take(kinds.IDENTITY, table, "identity", at),
            changed_at=self.take(kinds.MOMENT, table, "changed_at", at),
            doubtful=table.get("doubtful") is True,
            **found,
        )
        return Entry(
            choice,
            self.no_or_time(table, "removed_at", at),
            tuple(
                self.tick(tick, f"{at}ticks[{number}]")
                for number, tick in enumerate(self.value(table, "ticks", at, list), 1)
            ),
        )

    def tick(self, table: object, at: str) -> tuple[str, float]:
        if not isinstance(table, dict):
            self.refuse(at, f"is {kinds.shown(table)}, not a tick")
        return (
            self.take(kinds.INK, table, "ink", f"{at}."),
            self.take(kinds.TINT, table, "tint", f"{at}."),
        )

    # Single values.

    def value(self, table: dict[str, Any], key: str, at: str, kind: type) -> Any:
        value = table.get(key)
        if not isinstance(value, kind):
            said = "is missing" if value is None else f"is {kinds.shown(value)}"
            self.refuse(f"{at}{key}", said)
        return value

    def take(self, kind: Kind, table: dict[str, Any], key: str, at: str = "") -> Any:
        return self.checked(kind, table.get(key), f"{at}{key}")

    def checked(self, kind: Kind, value: object, key: str) -> Any:
        try:
            return kind.taken(value)
        except ValueError as error:
            self.refuse(key, str(error))

    def no_or_time(self, table: dict[str, Any], key: str, at: str) -> str | None:
        return None if table.get(key) is None else str(self.take(kinds.MOMENT, table, key, at))
