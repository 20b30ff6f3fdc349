"""Following the clipboard: which of the texts seen there is a new colour.

Nothing is kept of what is on the clipboard but a digest, with a key that only this run knows, of
the last text.
"""

from __future__ import annotations

import os
import re
import subprocess

from tuimatch.errors import TargetError

MAX_LENGTH = 60

# Three or four letters or digits are hex to CSS and a word or a number to everyone else: "bad".
_DOUBTFUL = re.compile(r"[0-9a-f]{3,4}", re.I)


class Follower:
    """Looks at the clipboard's text at each poll; made when following is switched on."""

    def __init__(self) -> None:
        self._key = os.urandom(16)
        self._last: bytes | None = None
        self._own: bytes | None = None

    def ours(self, text: str) -> None:
        """Tell what is about to be copied from here: that is not a colour to follow."""
        self._own = self._digest(text)

    def seen(self, text: str | None) -> str | None:
        """Take the clipboard's text; None when there is none.

        Returns:
            The text of a colour copied since the last look. The first look only takes note of what
            was there before.
        """
        digest = self._digest(text or "")
        last, self._last = self._last, digest
        if last is None or digest in (last, self._own):
            return None
        return _colour(text or "")

    def _digest(self, text: str) -> bytes:
        from hashlib import blake2b  # only when following: not before the first frame

        # The white space around a text is not ours to rely on: some clipboards add a line's end.
        data = text.strip().encode("utf-8", "surrogatepass")
        return blake2b(data, key=self._key, digest_size=16).digest()


def _colour(text: str) -> str | None:
    from tuimatch.colour import css_text

    text = text.strip()
    if len(text) > MAX_LENGTH or _DOUBTFUL.fullmatch(text):
        return None
    try:
        return css_text.read(text).text
    except TargetError:
        return None


def read_desktop_clipboard() -> str | None:
    """The text on this machine's clipboard, or None; takes time, so call it in a thread."""
    import pyperclip

    try:
        text = pyperclip.paste()
    except (pyperclip.PyperclipException, OSError, subprocess.SubprocessError, ValueError):
        return None
    return text if isinstance(text, str) else None


def unavailable() -> str:
    """Why the clipboard cannot be followed, or nothing when it can; call it in a thread."""
    if "SSH_CONNECTION" in os.environ:
        return "over SSH the clipboard here is not yours; paste the colour instead"
    if read_desktop_clipboard() is None:
        return "no clipboard to read here; on Linux install wl-clipboard, xclip or xsel"
    return ""
