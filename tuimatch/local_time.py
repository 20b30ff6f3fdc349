"""A moment of the log as the clock on the wall shows it."""

from __future__ import annotations

from datetime import UTC, datetime

from tuimatch.text import printable


def local_time(moment: str) -> str:
    """``2026-11-25 11:15`` in the time of this machine.

    Args:
        moment: UTC, ISO 8601, as the log keeps it; what is no time is given back as it is.
    """
    try:
        found = datetime.fromisoformat(moment)
    except ValueError:
        return printable(moment)
    if found.tzinfo is None:
        found = found.replace(tzinfo=UTC)
    return f"{found.astimezone():%Y-%m-%d %H:%M}"


def local_day(moment: str) -> str:
    """The day of it: ``2026-11-25``."""
    return local_time(moment)[:10]
