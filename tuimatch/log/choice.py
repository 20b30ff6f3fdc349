"""One choice: a recipe taken for a target, and what its texts may hold."""

from __future__ import annotations

import json
import sqlite3
import unicodedata
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from tuimatch.errors import LogError
from tuimatch.log import soundness
from tuimatch.palette.model import Palette, Triple
from tuimatch.text import has_unsafe, hexed, percent

UNSORTED = "unsorted"
MAX_NAME = 60
MAX_NOTE = 500


@dataclass(frozen=True)
class Choice:
    """A recipe taken for a target.

    Attributes:
        palette: The name the palette went by; `palette_digest` says which text that was.
        tints: Percent by ink name in laying order, every ink, 0 for none.
        srgb: What a screen shows of it, ``#rrggbb``.
        chosen_at: UTC, ISO 8601 with seconds.
        identity: The same in every log the choice is brought into.
        id: The number it has in this log; 0 before it is kept.
        page: Where in the comic, such as ``12`` or ``cover``.
        changed_at: When anything of it last changed, UTC; empty before it is kept.
    """

    project: str
    label: str
    target_text: str
    target_lab: Triple
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
    changed_at: str = ""

    @property
    def name(self) -> str:
        """What to call it in a sentence: its label, else its recipe."""
        return self.label or self.recipe

    def as_json(self) -> dict[str, Any]:
        """The choice as the command line prints it."""
        return {
            "id": self.id,
            "project": self.project,
            "label": self.label,
            "page": self.page,
            "note": self.note,
            "target": {"text": self.target_text, "lab": list(self.target_lab)},
            "palette": self.palette,
            "recipe": self.recipe,
            "tints": self.tints,
            "lab": list(self.lab),
            "srgb": self.srgb,
            "delta_e": self.delta_e,
            "chosen_at": self.chosen_at,
        }

    def as_row(self) -> dict[str, str | float]:
        """The columns that describe what was chosen, as the log keeps them."""
        return {
            "palette_digest": self.palette_digest,
            "palette": self.palette,
            "label": self.label,
            "page": self.page,
            "note": self.note,
            "target_text": self.target_text,
            "target_lab": json.dumps(self.target_lab),
            "recipe": self.recipe,
            "tints": json.dumps(self.tints, ensure_ascii=False),
            "lab": json.dumps(self.lab),
            "srgb": self.srgb,
            "delta_e": self.delta_e,
            "chosen_at": self.chosen_at,
        }

    @classmethod
    def from_row(cls, row: sqlite3.Row | Mapping[str, Any]) -> Choice:
        """The choice of a row joined with its project's name.

        Raises:
            UnsoundRowError: It holds what no choice can.
        """
        return cls(
            id=row["id"],
            identity=soundness.text(row["identity"]),
            project=soundness.text(row["project"]),
            label=soundness.text(row["label"]),
            page=soundness.text(row["page"]),
            note=soundness.text(row["note"]),
            target_text=soundness.text(row["target_text"]),
            target_lab=soundness.triple(row["target_lab"]),
            palette=soundness.text(row["palette"]),
            palette_digest=soundness.text(row["palette_digest"]),
            recipe=soundness.text(row["recipe"]),
            tints=soundness.tints(row["tints"]),
            lab=soundness.triple(row["lab"]),
            srgb=soundness.srgb(row["srgb"]),
            delta_e=soundness.number(row["delta_e"]),
            chosen_at=soundness.moment(row["chosen_at"]),
            changed_at=soundness.moment(row["changed_at"]),
        )


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
) -> Choice:
    """A choice made now, ready to be kept."""
    return Choice(
        project=project,
        label=label,
        page=page,
        note=note,
        target_text=target_text,
        target_lab=target_lab,
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
    """The same recipe for the same target, taken now under another label."""
    return replace(
        choice,
        project=project,
        label=label,
        page="",
        note="",
        chosen_at=seconds_now(),
        identity=uuid.uuid4().hex,
        id=0,
        changed_at="",
    )


def recipe_text(tints: dict[str, float]) -> str:
    """A recipe as `Palette.recipe_text` writes it, from the tints of a choice."""
    used = [f"{ink} {percent(tint)} %" for ink, tint in tints.items() if tint]
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
    text = text.strip()
    # Composing takes the square of a hostile text's length, and leaves at least a quarter of it.
    if len(text) <= 4 * most:
        text = unicodedata.normalize("NFC", text)
        if has_unsafe(text):
            raise LogError(
                f"{what} {text[:60]!r} holds a control character; give plain printable text"
            )
    if len(text) > most:
        raise LogError(f"{what} has {len(text)} characters; give at most {most}")
    return text


def seconds_now() -> str:
    """The time, UTC, ISO 8601 with seconds."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def moment_now() -> str:
    """The time fine enough to order changes by, UTC, ISO 8601 with microseconds."""
    return datetime.now(UTC).isoformat(timespec="microseconds")
