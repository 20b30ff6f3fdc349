"""What is to be drawn of a page, without a terminal: the lines that are ticked and filled in."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from enum import Enum
from pathlib import Path

from tuimatch.errors import UsageError
from tuimatch.files.in_file import typed_path
from tuimatch.plates import order
from tuimatch.plates.order import Order
from tuimatch.text import has_unsafe, percent

# What no system, or not every one, takes in a file's name.
_NOT_IN_NAMES = re.compile(r'[\\/:*?"<>|\x00-\x1f]+')


class Line(Enum):
    """One thing that is asked: what it is called, and what an answer is."""

    LAYERS = ("layers", "an .ora file, or a folder for a PNG a layer")
    PLATES = ("plates", "a folder for a picture an ink, black where ink goes")
    PROOF = ("proof", "a .png file of the page as it is expected to print")
    DPI = ("resolution", "pixels of the page to the inch")
    DOTS = ("dots", "else flat tints")
    RULING = ("ruling", "dots to the inch; empty: dots of 6 pixels")
    MARKS = ("marks", "register marks and the ink's name on the plates")
    REPLACE = ("overwrite", "replace files that are there already")

    def __init__(self, title: str, says: str) -> None:
        self.title, self.says = title, says


LINES = tuple(Line)
_FILES = (Line.LAYERS, Line.PLATES, Line.PROOF)


@dataclass
class DrawState:
    """What is asked so far.

    Attributes:
        names: The file or folder of each thing that can be written.
        ticked: Which of them are to be written.
        how: Everything else; the file names in it are not used.
    """

    names: dict[Line, str]
    ticked: set[Line]
    how: Order = field(default_factory=Order)

    @classmethod
    def of(cls, page: str, number: str) -> DrawState:
        """Begin with names for a page.

        Args:
            page: Its picture.
            number: Its number in the log, if it has one.
        """
        name = f"page{number}" if number else f"{Path(page).stem}-drawn"
        stem = _NOT_IN_NAMES.sub("-", name).strip("-. ") or "page"
        names = (f"{stem}.ora", f"{stem}-plates", f"{stem}-proof.png")
        return cls(dict(zip(_FILES, names, strict=True)), {Line.LAYERS})

    @property
    def order(self) -> Order:
        """What is to be drawn.

        Raises:
            UsageError: Nothing is ticked, or something that cannot be; in words for the screen.
        """
        paths = [typed_path(self.names[f]) if f in self.ticked else None for f in _FILES]
        wanted = replace(self.how, layers=paths[0], plates=paths[1], proof=paths[2])
        if not wanted.paths:
            raise UsageError("nothing is ticked; tick layers, plates or proof")
        wanted.check()
        if wanted.taken:
            raise UsageError(
                f"{wanted.taken[0]}: already exists; give another name, or tick overwrite"
            )
        return wanted

    def tick(self, line: Line) -> bool:
        """Tick a line or untick it; whether it is a line that can be ticked."""
        if line in _FILES:
            self.ticked ^= {line}
        elif line is Line.DOTS:
            self.how = replace(self.how, dots=not self.how.dots)
        elif line is Line.MARKS:
            self.how = replace(self.how, marks=not self.how.marks)
        elif line is Line.REPLACE:
            self.how = replace(self.how, replace=not self.how.replace)
        else:
            return False
        return True

    def is_ticked(self, line: Line) -> bool | None:
        """Whether it is ticked; None where there is nothing to tick."""
        if line in _FILES:
            return line in self.ticked
        how = self.how
        ticks = {Line.DOTS: how.dots, Line.MARKS: how.marks, Line.REPLACE: how.replace}
        return ticks.get(line)

    def value(self, line: Line) -> str:
        """What is filled in; empty where nothing is."""
        if line is Line.DPI:
            return str(self.how.dpi)
        if line is Line.RULING:
            return "" if self.how.ruling is None else percent(self.how.ruling)
        return self.names.get(line, "")

    def fill_in(self, line: Line, text: str) -> None:
        """Fill in what was typed.

        Raises:
            UsageError: The text does not fit the line.
        """
        text = text.strip()
        if line is Line.DPI:
            self.how = replace(self.how, dpi=order.resolution(text))
        elif line is Line.RULING:
            self.how = replace(self.how, ruling=order.ruling(text) if text else None)
        elif not text or has_unsafe(text):
            raise UsageError("give the name of a file or a folder")
        else:
            self.names[line] = text
            self.ticked.add(line)
