"""Whether the terminal shows the colours meant, and the plain warning when it does not."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from textual.app import App

_REST = "not the colours meant, numbers right"
_ADVICE = "set COLORTERM=truecolor if the terminal has more"


def said_of(app: App[Any]) -> str:
    """What to say of the terminal that a program runs in."""
    return warning(
        app.console.color_system,
        app.no_color,
        os.environ.get("TERM", ""),
        os.environ.get("COLORTERM", ""),
    )


def warning(color_system: str | None, no_color: bool, term: str = "", colorterm: str = "") -> str:
    """What to say of the terminal's colours; nothing when they are exact.

    Args:
        color_system: What the console found: "truecolor", "256", "standard", "windows" or None.
        no_color: Whether NO_COLOR is set, which turns every swatch grey.
        term: The environment's TERM.
        colorterm: Likewise COLORTERM.
    """
    if no_color:
        return "NO_COLOR is set, so swatches are grey; numbers right"
    if term.lower() in ("dumb", "unknown") or color_system is None:
        said = f"TERM={term}" if term.isascii() and term.isalnum() else "no known terminal"
        return f"{said}: {_REST}"
    if color_system == "truecolor":
        return ""
    colours = "256 colours" if color_system == "256" else "16 colours"
    advice = "" if colorterm else f"; {_ADVICE}"
    return f"{colours} only: {_REST}{advice}"
