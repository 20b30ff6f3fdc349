"""A project on its way from one log to another."""

from __future__ import annotations

from dataclasses import dataclass

from tuimatch.log.choice import Choice


@dataclass(frozen=True)
class Entry:
    """A choice on its way, with what the log knows besides.

    Attributes:
        removed_at: When it was removed, or None.
        ticks: Ink and tint of what has been laid.
    """

    choice: Choice
    removed_at: str | None
    ticks: tuple[tuple[str, float], ...]


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
