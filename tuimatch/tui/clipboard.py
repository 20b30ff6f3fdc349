"""Copying, by every way that may work, and saying no more than is known.

OSC 52 asks the terminal, which also works over SSH but gives no answer. tmux keeps a buffer of its
own and passes it on. pyperclip knows this machine's desktop, which over SSH is not the artist's.
Only printable text leaves: what is pasted into a shell must not be a command.
"""

from __future__ import annotations

import os
import subprocess
from typing import TYPE_CHECKING

from tuimatch.text import printable

if TYPE_CHECKING:
    from textual.app import App


def send_to_terminal(app: App[object], text: str) -> None:
    """Ask the terminal to put a text on its clipboard (OSC 52); call on the screen's thread."""
    app.copy_to_clipboard(printable(text))


def send_to_desktop(text: str) -> str:
    """Copy by the ways that take time; call in a thread.

    Returns:
        What is known about where the text is now.
    """
    text, ways = printable(text), []
    if os.environ.get("TMUX") and _tmux(text):
        ways.append("in tmux's buffer")
    if "SSH_CONNECTION" not in os.environ and _desktop(text):
        ways.append("on the clipboard")
    return " and ".join(ways) or "sent to the terminal's clipboard"


def _tmux(text: str) -> bool:
    try:
        done = subprocess.run(
            ["tmux", "load-buffer", "-w", "-"],
            input=text.encode(),
            capture_output=True,
            timeout=2,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0


def _desktop(text: str) -> bool:
    import pyperclip  # only when something is copied: not before the first frame

    try:
        pyperclip.copy(text)
        return bool(pyperclip.paste() == text)
    except (pyperclip.PyperclipException, OSError, subprocess.SubprocessError, ValueError):
        return False
