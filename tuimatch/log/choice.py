"""One choice: a recipe taken for a target, and what its texts may hold."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from operator import itemgetter
from typing import Any

from tuimatch.colour.intent import Intent
from tuimatch.errors import LogError
from tuimatch.log import kinds, soundness
from tuimatch.log.kinds import Kind
from tuimatch.palette.model import Palette, Triple
from tuimatch.text import exact, hexed, percent

UNSORTED = "unsorted"
MAX_NAME = 60
MAX_NOTE = 500
MAX_RECIPE = 2_000

# How a wanted colour was adapted to the paper before it was compared; the first was the only one.
INTENTS = tuple(intent.value for intent in Intent)

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Choice:
    """A recipe taken for a target.

    Attributes:
        target_lab: The colour as given, CIELAB under D50.
        meant_lab: The same as adapted to the paper by `intent`: what the recipe was compared with.
        palette: The name the palette went by; `palette_digest` says which text that was.
        tints: Percent by ink name in laying order, every ink, 0 for none.
        srgb: What a screen shows of it, ``#rrggbb``.
        chosen_at: UTC, ISO 8601 with seconds.
        identity: The same in every log the choice is brought into.
        id: The number it has in this log; 0 before it is kept.
        page: Where in the comic, such as ``12`` or ``cover``.
        changed_at: When anything of it last changed, UTC; empty before it is kept.
        doubtful: Whether its row in the log is not as it was written.
    """

    project: str
    label: str
    target_text: str
    target_lab: Triple
    meant_lab: Triple
    palette: str
    palette_digest: str
    recipe: str
    tints: dict[str, float]
    lab: Triple
    srgb: str
    delta_e: float
    chosen_at: str
    identity: str
    id: int = 0
    page: str = ""
    note: str = ""
    intent: str = INTENTS[0]
    changed_at: str = ""
    doubtful: bool = False

    @property
    def name(self) -> str:
        """What to call it in a sentence: its label, else its recipe."""
        return self.label or self.recipe_words(None)

    def recipe_words(self, palette: Palette | None, *, roomy: bool = True) -> str:
        """The recipe in the words of a palette with the same inks; else in percentages."""
        if palette is None or [ink.name for ink in palette.inks] != list(self.tints):
            used = (f"{ink} {percent(tint)} %" for ink, tint in self.tints.items() if tint)
            return ", ".join(used) or "bare paper"
        return palette.recipe_words(tuple(self.tints.values()), roomy=roomy)

    def recipe_wordings(self, palette: Palette | None) -> tuple[str, ...]:
        """The recipe in words from the longest wording to the shortest, which names the inks."""
        words = self.recipe_words(palette)
        inks = ", ".join(ink for ink, tint in self.tints.items() if tint)
        short = self.recipe_words(palette, roomy=False)
        return (words, words.replace(" %", ""), short, inks or words)

    @property
    def wanted(self) -> str:
        """The target as it was written, and how it was taken unless as measured."""
        taken = Intent(self.intent)
        adapted = "" if taken is Intent.ABSOLUTE else f", {taken.words}"
        return f"{self.target_text}{adapted}"

    @property
    def recipe_to_lay(self) -> str:
        """The recipe as it leaves the log, written from its tints: a stored text may say more."""
        return recipe_text(self.tints)

    def as_json(self) -> dict[str, Any]:
        """The choice as the command line prints it."""
        found: dict[str, Any] = {"id": self.id, "project": self.project}
        for column in COLUMNS:
            *outer, key = column.path
            inside = found.setdefault(outer[0], {}) if outer else found
            value = getattr(self, column.name)
            inside[key] = list(value) if isinstance(value, tuple) else value
        return {**found, "doubtful": self.doubtful}

    def as_row(self) -> Row:
        """The columns that describe what was chosen, as the log keeps them."""
        return {column.name: column.kind.stored(getattr(self, column.name)) for column in COLUMNS}

    @classmethod
    def from_row(cls, row: Row) -> Choice:
        """The choice of a row joined with its project's name; a row of an older schema will do.

        Raises:
            UnsoundRowError: It holds what no choice can.
        """
        found = {}
        for column in COLUMNS:
            value = row.get(column.name)
            value = column.older(row) if value is None and column.since > 1 else value
            found[column.name] = column.kind.read(value)
        return cls(
            id=row["id"],
            identity=soundness.text(row["identity"]),
            project=soundness.text(row["project"]),
            changed_at=soundness.moment(row["changed_at"]),
            doubtful=is_doubtful(row),
            **found,
        )


@dataclass(frozen=True)
class Column:
    """One value of a choice: everything that the log, JSON and a project file need to know of it.

    Attributes:
        name: The name of the attribute of `Choice` and of the log's column.
        kind: What it may hold.
        since: The schema that has it first. From 3 on the column is added by this table alone.
        older: What an older row stands for, from its other columns as the log keeps them.
        json: Where it stands in JSON, such as ``target.lab``; under its name unless given.
    """

    name: str
    kind: Kind
    since: int = 1
    older: Callable[[Row], object] = lambda row: ""
    json: str = ""

    @property
    def path(self) -> list[str]:
        """Where it stands in JSON, from the outer object inward."""
        return (self.json or self.name).split(".")


# In the order of JSON. A new column is a line here and an attribute of `Choice`.
COLUMNS = (
    Column("label", kinds.text(MAX_NAME)),
    Column("page", kinds.text(MAX_NAME), since=2),
    Column("note", kinds.text(MAX_NOTE), since=2),
    Column("target_text", kinds.text(200, empty=False), json="target.text"),
    Column("target_lab", kinds.LAB, json="target.lab"),
    Column("meant_lab", kinds.LAB, 3, older=itemgetter("target_lab"), json="target.meant_lab"),
    Column("intent", kinds.one_of(*INTENTS), since=3, older=lambda row: INTENTS[0]),
    Column("palette", kinds.text(255, empty=False)),
    Column("palette_digest", kinds.DIGEST),
    Column("recipe", kinds.text(MAX_RECIPE, empty=False)),
    Column("tints", kinds.TINTS),
    Column("lab", kinds.LAB),
    Column("srgb", kinds.SRGB),
    Column("delta_e", kinds.number(0, 1000)),
    Column("chosen_at", kinds.MOMENT),
)
VERSION = max(column.since for column in COLUMNS)


def checksum(identity: str, project_id: int, row: Row, version: int = VERSION) -> str:
    """What tells whether a row is as it was written: ``3:`` and a digest of its values.

    It covers whose choice it is and what was chosen, not what the log notes of its own accord.

    Args:
        identity: Of the choice.
        project_id: The number of its project.
        row: Its columns as the log keeps them.
        version: The schema version whose columns it covers.
    """
    values = [repr(row[column.name]) for column in COLUMNS if column.since <= version]
    text = "\0".join((identity, str(project_id), *values))
    digest = hashlib.blake2b(text.encode(errors="surrogateescape"), digest_size=8)
    return f"{version}:{digest.hexdigest()}"


def is_doubtful(row: Row) -> bool:
    """Whether a row was altered by anything but the log; without a checksum, it counts as sound."""
    kept = row.get("checksum")
    if kept is None:
        return False
    versions = range(3, VERSION + 1)
    return kept not in (checksum(row["identity"], row["project_id"], row, v) for v in versions)


def new_choice(
    palette: Palette,
    tints: tuple[float, ...],
    *,
    project: str,
    target_text: str,
    target_lab: Triple,
    lab: Triple,
    srgb: tuple[int, int, int],
    delta_e: float,
    label: str = "",
    page: str = "",
    note: str = "",
    intent: str = INTENTS[0],
    meant_lab: Triple | None = None,
) -> Choice:
    """A choice made now, ready to be kept.

    Args:
        intent: One of `INTENTS`.
        meant_lab: The target as adapted to the paper; as it is unless given.
    """
    return Choice(
        project=project,
        label=label,
        page=page,
        note=note,
        target_text=target_text,
        target_lab=target_lab,
        meant_lab=target_lab if meant_lab is None else meant_lab,
        intent=intent,
        palette=palette.stem,
        palette_digest=palette.digest,
        recipe=palette.recipe_text(tints),
        tints={ink.name: tint for ink, tint in zip(palette.inks, tints, strict=True)},
        lab=lab,
        srgb=hexed(srgb),
        delta_e=delta_e,
        chosen_at=seconds_now(),
        identity=uuid.uuid4().hex,
    )


def again(choice: Choice, *, project: str, label: str) -> Choice:
    """The same recipe for the same target, taken now: its page comes along, its note does not."""
    return replace(
        choice,
        project=project,
        label=label,
        note="",
        chosen_at=seconds_now(),
        identity=uuid.uuid4().hex,
        id=0,
        changed_at="",
    )


def recipe_text(tints: dict[str, float]) -> str:
    """A recipe as `Palette.recipe_text` writes it, from the tints of a choice."""
    used = [f"{ink} {exact(tint)} %" for ink, tint in tints.items() if tint]
    return ", ".join(used) or "bare paper"


def checked_name(name: str, what: str) -> str:
    """A project's name, a label or a page, without the space around it.

    Raises:
        LogError: It is too long or holds control characters.
    """
    return checked_text(name, what, MAX_NAME)


def checked_text(text: str, what: str, most: int) -> str:
    """A text in composed form (NFC) without the space around it.

    Raises:
        LogError: It is too long or holds control characters.
    """
    try:
        return kinds.composed(text, most)
    except ValueError as error:
        raise LogError(f"{what} {error}") from error


def seconds_now() -> str:
    """The time, UTC, ISO 8601 with seconds."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def moment_now() -> str:
    """The time fine enough to order changes by, UTC, ISO 8601 with microseconds."""
    return datetime.now(UTC).isoformat(timespec="microseconds")
