"""Everything that can be wrong with what a person gives us.

    TuimatchError
    ├── TargetError      a text that is not a usable colour
    ├── PaletteError     a palette file, with the file and the key
    ├── CgatsError       a file of measurements, with the file and the line
    ├── PictureError     a picture that cannot be opened or read
    ├── SwatchError      a part of a picture that is not a two-coloured tint
    ├── NarrowingError   a limit that names an ink or tint the palette lacks
    ├── LogError         the log cannot be read or written
    ├── OutputError      a file that was asked for cannot be written
    └── UsageError       a command that contradicts itself

Each message is one line that says what is wrong and what would be right. It may quote foreign
text, so it is made printable here, once.
"""

from __future__ import annotations

from pathlib import Path

from tuimatch.text import printable


class TuimatchError(Exception):
    """Root of the tree; `str()` of it is the one line to show."""

    def __init__(self, message: str) -> None:
        super().__init__(printable(message))


class TargetError(TuimatchError):
    """A text that is not a usable colour."""

    def __init__(self, text: str, problem: str) -> None:
        self.text, self.problem = text, problem
        shown = text if len(text) <= 60 else text[:57] + "..."
        super().__init__(f"{shown!r}: {problem}")


class PaletteError(TuimatchError):
    """A palette file that cannot be used: which file, which key, what would be right."""

    def __init__(self, file: str | Path, key: str, problem: str) -> None:
        self.file, self.key, self.problem = str(file), key, problem
        super().__init__(f"{file}: {key}: {problem}" if key else f"{file}: {problem}")


class CgatsError(TuimatchError):
    """A file of measurements that cannot be used: which file, which line, what would be right."""

    def __init__(self, file: str | Path, line: int, problem: str) -> None:
        self.file, self.line, self.problem = str(file), line, problem
        super().__init__(f"{file}: line {line}: {problem}" if line else f"{file}: {problem}")


class PictureError(TuimatchError):
    """A picture that cannot be opened or read."""

    def __init__(self, file: str | Path, problem: str) -> None:
        self.file, self.problem = str(file), problem
        super().__init__(f"{file}: {problem}")


class SwatchError(TuimatchError):
    """A part of a picture that is not a two-coloured tint."""


class NarrowingError(TuimatchError):
    """A limit that names an ink or a tint the palette does not have."""


class LogError(TuimatchError):
    """The log cannot be read or written."""


class OutputError(TuimatchError):
    """A file that was asked for cannot be written."""


class UsageError(TuimatchError):
    """A command line that contradicts itself."""
