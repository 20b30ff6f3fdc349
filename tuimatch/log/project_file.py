"""The file in which a project moves between machines: JSON, checked like anything foreign."""

from __future__ import annotations

import hashlib
import json
import re
import reprlib
import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NoReturn

from tuimatch.errors import LogError
from tuimatch.files import json_out
from tuimatch.log.choice import MAX_NAME, MAX_NOTE, Choice, checked_text, recipe_text
from tuimatch.palette.file import MAX_BYTES as MAX_PALETTE
from tuimatch.palette.model import Triple
from tuimatch.text import printable

FORMAT = "tuimatch project"
VERSION = 1

# A project of 20,000 choices with a line of notes each takes some 20 MB, with the longest notes 30.
MAX_BYTES = 40_000_000
_MAX_MEMORY = 400_000_000
_A_VALUE = 90  # bytes, the short string with its place in a list; an object takes the double

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
        archived_at: When it was archived, or None.
        palettes: Name and full text by digest.
    """

    project: str
    archived_at: str | None
    palettes: dict[str, tuple[str, str]]
    entries: tuple[Entry, ...]


def to_json(bundle: Bundle) -> str:
    """The text of a file that `read` takes.

    Raises:
        LogError: `read` would refuse it for its size.
    """
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
        "archived_at": bundle.archived_at,
        "palettes": {
            digest: {"name": name, "text": text} for digest, (name, text) in bundle.palettes.items()
        },
        "choices": choices,
    }
    text = json_out.to_json(document, indent=1) + "\n"
    if len(text.encode()) > MAX_BYTES or _is_too_large(text):
        raise LogError(
            f"project {bundle.project!r} has too much for a file that can be imported"
            f" ({len(bundle.entries):,} choices); copy the log itself"
        )
    return text


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
    return _Reader(str(path)).bundle(data)


def _is_too_large(text: str) -> bool:
    """Whether parsing a text may take too much: the text again, and what stands for each value."""
    values = text.count("[") + text.count(",") + text.count(":") + 2 * text.count("{")
    return 2 * sys.getsizeof(text) + _A_VALUE * values > _MAX_MEMORY


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
            self.refuse("", f"is no JSON ({str(error)[:80]})")

    def bundle(self, data: bytes) -> Bundle:
        document = self.parsed(data)
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
        archived_at = self.no_or_time(document, "archived_at", "")
        return Bundle(project, archived_at, palettes, entries)

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
        return Entry(
            choice,
            self.no_or_time(table, "removed_at", at),
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

    def no_or_time(self, table: dict[str, Any], key: str, at: str) -> str | None:
        value = table.get(key)
        return None if value is None else self.time(value, f"{at}{key}")

    def time(self, value: object, key: str) -> str:
        try:
            moment = datetime.fromisoformat(str(value))
        except ValueError:
            moment = None
        if not isinstance(value, str) or moment is None or moment.utcoffset() is None:
            self.refuse(key, f"is {_shown(value)}, no time with its zone")
        return moment.astimezone(UTC).isoformat()


def _shown(value: object) -> str:
    shown = printable(reprlib.repr(value)[:80])
    return shown if len(shown) <= 60 else shown[:57] + "..."
