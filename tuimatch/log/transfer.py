"""Moving a project between machines whole: choices, the palettes they were made with, and ticks.

The file is JSON. A choice is known by its identity, in whatever project it is by now; of two
versions of a choice the one changed last counts. So importing a file again changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NoReturn

from tuimatch.errors import LogError
from tuimatch.log.choice import MAX_NAME, MAX_NOTE, Choice, checked_text, recipe_text
from tuimatch.log.log import Log
from tuimatch.log.ticks import Tick
from tuimatch.palette import Triple
from tuimatch.palette_file import MAX_BYTES as MAX_PALETTE
from tuimatch.text import printable

FORMAT = "tuimatch project"
VERSION = 1
MAX_BYTES = 200_000_000

_IDENTITY = re.compile(r"[0-9a-f]{32}")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SRGB = re.compile(r"#[0-9a-f]{6}")


@dataclass(frozen=True)
class Entry:
    """A choice on its way, with what the log knows besides.

    Attributes:
        removed_at: When it was removed, or None.
        ticks: Kind, ink and tint of what has been laid.
    """

    choice: Choice
    removed_at: str | None
    ticks: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True)
class Bundle:
    """A project on its way.

    Attributes:
        palettes: Name and full text by digest.
    """

    project: str
    palettes: dict[str, tuple[str, str]]
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Merged:
    """What an import did: how many choices were new, newer than those here, or neither."""

    project: str
    added: int
    changed: int
    same: int


def gather(log: Log, project: str) -> Bundle:
    """Everything the log has of a project, what was removed included.

    Raises:
        LogError: There is no such project, or the log cannot be read.
    """
    with log.database.transaction() as db:
        number, name = log.projects.existing(project)
        removed = dict(
            db.execute("SELECT identity, removed_at FROM choice WHERE project_id = ?", (number,))
        )
        choices = log.choices_of(number)
        entries = tuple(
            Entry(
                choice,
                removed[choice.identity],
                tuple(
                    db.execute(
                        "SELECT kind, ink, tint FROM tick WHERE choice_id = ?"
                        " ORDER BY kind, ink, tint",
                        (choice.id,),
                    )
                ),
            )
            for choice in choices
        )
        digests = {choice.palette_digest for choice in choices}
        palettes = {
            digest: (title, text)
            for digest, title, text in db.execute("SELECT digest, name, text FROM palette")
            if digest in digests
        }
    return Bundle(name, palettes, entries)


def to_json(bundle: Bundle) -> str:
    """The text of a file that `read` takes."""
    choices = []
    for entry in bundle.entries:
        choice = entry.choice
        described = choice.as_json()
        del described["id"], described["project"]
        choices.append(
            {
                "identity": choice.identity,
                **described,
                "palette_digest": choice.palette_digest,
                "changed_at": choice.changed_at,
                "removed_at": entry.removed_at,
                "ticks": [
                    {"kind": kind, "ink": ink, "tint": tint} for kind, ink, tint in entry.ticks
                ],
            }
        )
    document = {
        "format": FORMAT,
        "version": VERSION,
        "project": bundle.project,
        "palettes": {
            digest: {"name": name, "text": text} for digest, (name, text) in bundle.palettes.items()
        },
        "choices": choices,
    }
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def merge(log: Log, bundle: Bundle, project: str | None = None) -> Merged:
    """Bring a project into the log, all of it or nothing; one undo takes it back.

    Args:
        log: Where to.
        bundle: What.
        project: The project to bring it into; the one of the same name unless given.

    Raises:
        LogError: It could not be written; the log is as it was.
    """
    project = project or bundle.project
    with log.database.transaction() as db:
        here = {
            identity: (number, changed_at)
            for number, identity, changed_at in db.execute(
                "SELECT id, identity, changed_at FROM choice"
            )
        }
        new = [e for e in bundle.entries if e.choice.identity not in here]
        newer = [
            e
            for e in bundle.entries
            if e.choice.identity in here
            and _moment(e.choice.changed_at) > _moment(here[e.choice.identity][1])
        ]
        number = log.projects.id_of(project)
        if new or newer:
            for digest, (name, text) in bundle.palettes.items():
                log.add_palette(digest, name, text)
            with log.together(f"imported {len(new)} and updated {len(newer)} choices", project):
                for entry in new:
                    _put_ticks(log, log.insert(entry.choice, number, entry.removed_at), entry)
                for entry in newer:
                    row = here[entry.choice.identity][0]
                    log.update(row, entry.choice, entry.removed_at)
                    _put_ticks(log, row, entry)
    return Merged(project, len(new), len(newer), len(bundle.entries) - len(new) - len(newer))


def read(path: Path) -> Bundle:
    """Read and check a file.

    Raises:
        LogError: The file cannot be read or is not one that `to_json` could have made.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise LogError(f"{path}: cannot be read ({error.strerror or error})") from error
    if len(data) > MAX_BYTES:
        raise LogError(f"{path}: is over {MAX_BYTES // 1_000_000} MB; that is no exported project")
    return _Reader(str(path)).bundle(data)


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _put_ticks(log: Log, row: int, entry: Entry) -> None:
    log.ticks.replace(row, ((kind, Tick(row, ink, tint)) for kind, ink, tint in entry.ticks))


class _Reader:
    """Checks a parsed document; knows the file's name for its refusals."""

    def __init__(self, file: str) -> None:
        self.file = file

    def refuse(self, key: str, problem: str) -> NoReturn:
        where = f"{self.file}: {key}" if key else self.file
        raise LogError(f"{where}: {problem}; import what `tuimatch log export` wrote")

    def bundle(self, data: bytes) -> Bundle:
        try:
            document = json.loads(data.decode("utf-8-sig"))
        except UnicodeDecodeError as error:
            self.refuse("", f"is not UTF-8 at byte {error.start}")
        except (ValueError, RecursionError) as error:
            self.refuse("", f"is no JSON ({str(error)[:80]})")
        if not isinstance(document, dict) or document.get("format") != FORMAT:
            self.refuse("format", f"is not {FORMAT!r}")
        version = document.get("version")
        if version != VERSION:
            self.refuse("version", f"is {_shown(version)}, this tuimatch knows {VERSION}")
        palettes = self.palettes(self.value(document, "palettes", "", dict))
        choices = self.value(document, "choices", "", list)
        project = self.text(document, "project", "", MAX_NAME, empty=False)
        entries = tuple(
            self.entry(table, f"choices[{number}].", project, palettes)
            for number, table in enumerate(choices, 1)
        )
        if len({entry.choice.identity for entry in entries}) < len(entries):
            self.refuse("choices", "holds an identity twice")
        return Bundle(project, palettes, entries)

    def palettes(self, tables: dict[str, Any]) -> dict[str, tuple[str, str]]:
        found = {}
        for digest, table in tables.items():
            at = f"palettes.{digest[:12]}."
            if not _DIGEST.fullmatch(digest) or not isinstance(table, dict):
                self.refuse(at[:-1], "is no palette")
            text = self.value(table, "text", at, str)
            if len(text) > MAX_PALETTE:
                self.refuse(f"{at}text", "is over 1 MB")
            # A text lost to a damaged disk is empty.
            if text and hashlib.sha256(text.encode(errors="replace")).hexdigest() != digest:
                self.refuse(f"{at}text", "is not the text of that digest")
            found[digest] = (self.text(table, "name", at, 200), text)
        return found

    def entry(
        self, table: object, at: str, project: str, palettes: dict[str, tuple[str, str]]
    ) -> Entry:
        if not isinstance(table, dict):
            self.refuse(at[:-1], f"is {_shown(table)}, no choice")
        target = self.value(table, "target", at, dict)
        tints = {
            self.checked(ink, f"{at}tints", 40): self.number(tint, f"{at}tints", 0, 100)
            for ink, tint in self.value(table, "tints", at, dict).items()
        }
        recipe = self.value(table, "recipe", at, str)
        if not tints or recipe != recipe_text(tints):
            self.refuse(f"{at}recipe", f"{_shown(recipe)} is not what tints say")
        digest = table.get("palette_digest")
        if not isinstance(digest, str) or digest not in palettes:
            self.refuse(f"{at}palette_digest", "is none of the palettes")
        choice = Choice(
            project=project,
            label=self.text(table, "label", at, MAX_NAME),
            page=self.text(table, "page", at, MAX_NAME),
            note=self.text(table, "note", at, MAX_NOTE),
            target_text=self.text(target, "text", f"{at}target.", 200, empty=False),
            target_lab=self.lab(target.get("lab"), f"{at}target.lab"),
            palette=self.text(table, "palette", at, 255, empty=False),
            palette_digest=str(digest),
            recipe=recipe,
            tints=tints,
            lab=self.lab(table.get("lab"), f"{at}lab"),
            srgb=self.matching(table, "srgb", at, _SRGB),
            delta_e=self.number(table.get("delta_e"), f"{at}delta_e", 0, 1000),
            chosen_at=self.time(table.get("chosen_at"), f"{at}chosen_at"),
            identity=self.matching(table, "identity", at, _IDENTITY),
            changed_at=self.time(table.get("changed_at"), f"{at}changed_at"),
        )
        removed_at = table.get("removed_at")
        return Entry(
            choice,
            None if removed_at is None else self.time(removed_at, f"{at}removed_at"),
            tuple(
                self.tick(tick, f"{at}ticks[{number}]")
                for number, tick in enumerate(self.value(table, "ticks", at, list), 1)
            ),
        )

    def tick(self, table: object, at: str) -> tuple[str, str, float]:
        if not isinstance(table, dict):
            self.refuse(at, f"is {_shown(table)}, no tick")
        return (
            self.text(table, "kind", f"{at}.", 40, empty=False),
            self.text(table, "ink", f"{at}.", 40, empty=False),
            self.number(table.get("tint"), f"{at}.tint", 0, 100),
        )

    # Single values.

    def value(self, table: dict[str, Any], key: str, at: str, kind: type) -> Any:
        value = table.get(key)
        if not isinstance(value, kind):
            said = "is missing" if value is None else f"is {_shown(value)}"
            self.refuse(f"{at}{key}", said)
        return value

    def text(
        self, table: dict[str, Any], key: str, at: str, most: int, *, empty: bool = True
    ) -> str:
        text = self.checked(self.value(table, key, at, str), f"{at}{key}", most)
        if not text and not empty:
            self.refuse(f"{at}{key}", "is empty")
        return text

    def checked(self, text: str, key: str, most: int) -> str:
        return checked_text(text, f"{self.file}: {key}:", most)

    def matching(self, table: dict[str, Any], key: str, at: str, form: re.Pattern[str]) -> str:
        value = str(self.value(table, key, at, str))
        if not form.fullmatch(value):
            self.refuse(f"{at}{key}", f"is {_shown(value)}")
        return value

    def number(self, value: object, key: str, least: float, most: float) -> float:
        if (
            not isinstance(value, int | float)
            or isinstance(value, bool)
            or not least <= value <= most
        ):
            self.refuse(key, f"is {_shown(value)}, not a number from {least:g} to {most:g}")
        return float(value)

    def lab(self, value: object, key: str) -> Triple:
        if not isinstance(value, list) or len(value) != 3:
            self.refuse(key, f"is {_shown(value)}, not [L, a, b]")
        first, second, third = (self.number(x, key, -300, 300) for x in value)
        return first, second, third

    def time(self, value: object, key: str) -> str:
        try:
            moment = datetime.fromisoformat(str(value))
        except ValueError:
            moment = None
        if not isinstance(value, str) or moment is None or moment.utcoffset() is None:
            self.refuse(key, f"is {_shown(value)}, no time with its zone")
        return moment.astimezone(UTC).isoformat()


def _shown(value: object) -> str:
    shown = printable(repr(value)[:80])
    return shown if len(shown) <= 60 else shown[:57] + "..."
