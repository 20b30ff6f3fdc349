"""Reading CGATS text, the form in which printing measurements are exchanged.

ISO 28178 (CGATS.17): keywords, then for each table the names of its columns between
BEGIN_DATA_FORMAT and END_DATA_FORMAT and one patch a line between BEGIN_DATA and END_DATA. What is
taken: CMYK or CMY in percent, and CIELAB or else XYZ (0…100) for D50 and the 2° observer. Tables
that lack either are passed over. A patch measured several times counts as the mean of them.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from functools import partial
from io import StringIO
from math import isfinite
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tuimatch.errors import CgatsError
from tuimatch.files import in_file
from tuimatch.palette.process_inks import PROCESS_INKS

MAX_BYTES = 10_000_000
MAX_ROWS = 100_000
MAX_LINES = 2 * MAX_ROWS
MAX_FIELDS = 500
MAX_LINE = 100_000

INKS = {ink.symbol: ink.name for ink in PROCESS_INKS}

# As XYZ stands beside the device values, CIELAB is the finer of the two: it keeps two decimals.
_COLOURS = (("LAB_L", "LAB_A", "LAB_B"), ("XYZ_X", "XYZ_Y", "XYZ_Z"))
_LEAST = {"LAB_L": 0.0, "LAB_A": -200.0, "LAB_B": -200.0}
_MOST = {"LAB_L": 110.0, "LAB_A": 200.0, "LAB_B": 200.0, "XYZ_X": 150, "XYZ_Y": 150, "XYZ_Z": 150}

# What names the owner of the data; who publishes them often asks to be named.
_SOURCES = (
    *("ORIGINATOR", "DESCRIPTOR", "FILE_DESCRIPTOR"),
    *("MEASUREMENT_SOURCE", "PRINT_CONDITIONS", "COPYRIGHT"),
)

# More of them would not fit into a palette's own source.
_MOST_SOURCES = 20

_TOKEN = re.compile(r'"((?:[^"]|"")*)"|#.*|([^\s"#]\S*)')
_ILLUMINANT = re.compile(r"\b(?:D\d\d|[AC]|F\d+)\b")
_OBSERVER = re.compile(r"\b10\b")
# Possessive: digits are never gone through again, however many there are.
_NUMBER = re.compile(r"[-+]?(?:\d++\.?+\d*+|\.\d++)(?:[eE][-+]?\d++)?", re.ASCII)


@dataclass(frozen=True, eq=False)
class Measurements:
    """Patches of a test chart with their colours; N different patches, k inks.

    Attributes:
        file: Where they come from.
        title: What the file calls itself; may be empty.
        source: Who measured what, in the file's own words; may be empty.
        inks: Names of the inks, cyan, magenta, yellow and perhaps black.
        tints: Percent of each ink, shape (N, k), in the order of their first lines.
        lab: CIELAB, D50, the mean of repeats, shape (N, 3).
        repeats: How often each patch stands in the file, shape (N,).
    """

    file: str
    title: str
    source: str
    inks: tuple[str, ...]
    tints: npt.NDArray[np.float64]
    lab: npt.NDArray[np.float64]
    repeats: npt.NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.tints)


def read(path: Path) -> Measurements:
    """Read one file of CGATS text.

    Raises:
        CgatsError: The file cannot be read or holds no usable measurements.
    """
    refuse = partial(CgatsError, path, 0)
    data = in_file.read_bytes(path, MAX_BYTES, "a file of CGATS text", refuse)
    # Only comments and texts may hold more than ASCII, and old files spell them in any encoding.
    return parse(data.decode("utf-8-sig", errors="replace"), file=str(path))


def parse(text: str, *, file: str) -> Measurements:
    """Read CGATS text.

    Args:
        text: The whole file.
        file: What to call it in a refusal.

    Raises:
        CgatsError: It holds no usable measurements.
    """
    return _Reader(file).measurements(text)


class _Reader:
    """Goes through the lines; knows the file's name for its refusals."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.title = ""
        self.source: list[str] = []
        self.fields: tuple[str, ...] = ()
        self.skipped: tuple[str, ...] = ()
        # Device letters and colour columns of the tables that are used, and their rows.
        self.letters = ""
        self.colour: tuple[str, ...] = ()
        self.rows: list[tuple[list[float], list[float], bool]] = []

    def refuse(self, line: int, problem: str) -> CgatsError:
        return CgatsError(self.file, line, problem)

    def measurements(self, text: str) -> Measurements:
        opened, since = "", 0
        names: list[str] = []
        # Line by line, so that a file of a million lines is never held as a million texts.
        for number, line in enumerate(StringIO(text, newline=None), 1):
            if number > MAX_LINES:
                raise self.refuse(number, f"comes after {MAX_LINES:,} others; give fewer lines")
            if len(line) > MAX_LINE:
                raise self.refuse(number, f"is over {MAX_LINE:,} characters; give a patch a line")
            words = _words(line)
            if not words:
                continue
            first = words[0].upper()
            if opened and first == f"END_{opened}":
                if opened == "DATA_FORMAT":
                    self.fields = self.columns(names, since)
                opened = ""
            elif opened == "DATA":
                self.row(words, number)
            elif opened == "DATA_FORMAT":
                names += words
                if len(names) > MAX_FIELDS:
                    raise self.refuse(number, f"names over {MAX_FIELDS} columns; give fewer")
            elif first in ("BEGIN_DATA_FORMAT", "BEGIN_DATA"):
                opened, since, names = first.removeprefix("BEGIN_"), number, words[1:]
                if opened == "DATA":
                    self.begin(number)
            else:
                self.keyword(first, " ".join(words[1:]), number)
        if opened:
            raise self.refuse(since, f"BEGIN_{opened} has no END_{opened}; give the whole file")
        return self.collected()

    def keyword(self, key: str, value: str, line: int) -> None:
        wanted = key in _SOURCES and value and len(self.source) < _MOST_SOURCES
        if wanted and value[:200] not in self.source:
            self.source.append(value[:200])
        if key in ("DESCRIPTOR", "FILE_DESCRIPTOR") and not self.title:
            self.title = value[:200]
        elif key in ("ILLUMINANT", "ILLUMINATION", "ILLUMINATION_NAME", "WEIGHTING_FUNCTION"):
            if "D50" not in value and (other := _ILLUMINANT.search(value)):
                raise self.refuse(line, f"the illuminant is {other[0]}; give values for D50")
        elif key in ("OBSERVER", "OBSERVER_ANGLE") and _OBSERVER.search(value):
            raise self.refuse(line, "the observer is 10 degrees; give values for 2 degrees")

    def columns(self, names: list[str], line: int) -> tuple[str, ...]:
        fields = tuple(name.upper() for name in names)
        for name, count in Counter(fields).items():
            if name.startswith(("CMYK_", "CMY_", "LAB_", "XYZ_")) and count > 1:
                raise self.refuse(line, f"the column {name[:40]} appears twice; keep one")
        return fields

    def begin(self, line: int) -> None:
        """A table starts: find its columns."""
        if not self.fields:
            raise self.refuse(line, "BEGIN_DATA without BEGIN_DATA_FORMAT; name the columns first")
        self.picked: list[int] = []
        device = next((d for d in ("CMYK", "CMY") if f"{d}_C" in self.fields), "")
        colour = next((c for c in _COLOURS if set(c) <= set(self.fields)), ())
        wanted = [f"{device}_{letter}" for letter in device]
        if not device or not colour or not set(wanted) <= set(self.fields):
            self.skipped = self.skipped or self.fields
            return
        if self.letters and self.letters != device:
            raise self.refuse(
                line, f"this table is {device}, an earlier one {self.letters}; give one kind"
            )
        self.letters, self.colour = device, colour
        self.picked = [self.fields.index(name) for name in (*wanted, *colour)]

    def row(self, words: list[str], line: int) -> None:
        if not self.picked:
            return
        if len(words) != len(self.fields):
            raise self.refuse(
                line, f"has {len(words)} values; the data format names {len(self.fields)}"
            )
        if len(self.rows) >= MAX_ROWS:
            raise self.refuse(line, f"is patch {MAX_ROWS + 1:,}; give at most {MAX_ROWS:,}")
        values = [self.number(words[at], self.fields[at], line) for at in self.picked]
        k = len(self.letters)
        self.rows.append((values[:k], values[k:], self.colour is _COLOURS[0]))

    def number(self, word: str, field: str, line: int) -> float:
        if not _NUMBER.fullmatch(word) or not isfinite(value := float(word)):
            shown = word if len(word) <= 20 else word[:17] + "..."
            comma = ", with a decimal point" if "," in word else ""
            raise self.refuse(line, f"{field} is {shown!r}; give a number{comma}")
        least, most = _LEAST.get(field, 0), _MOST.get(field, 100)
        if not least <= value <= most:
            raise self.refuse(line, f"{field} is {value:g}; give {least:g} to {most:g}")
        return value

    def collected(self) -> Measurements:
        if not self.rows:
            said = f"the columns are {', '.join(self.skipped)[:60]}" if self.skipped else "has none"
            raise self.refuse(
                0,
                f"no measurements: {said}; "
                "give CGATS text with CMYK_C … or CMY_C … and LAB_L … or XYZ_X …",
            )
        # No instrument or chart is finer; 33.333333 and 33.3333 are one patch.
        tints = np.round([device for device, _, _ in self.rows], 4)
        colours = np.array([colour for _, colour, _ in self.rows])
        is_xyz = ~np.array([is_lab for _, _, is_lab in self.rows])
        if is_xyz.any():
            from tuimatch.colour.colorimetry import xyz_to_lab

            colours[is_xyz] = xyz_to_lab(colours[is_xyz] / 100)
        different, first, patch, repeats = np.unique(
            tints, axis=0, return_index=True, return_inverse=True, return_counts=True
        )
        patch = patch.reshape(-1)
        sums = np.zeros((len(different), 3))
        np.add.at(sums, patch, colours)
        order = np.argsort(first)
        return Measurements(
            file=self.file,
            title=self.title,
            source="; ".join(self.source)[:400],
            inks=tuple(INKS[letter] for letter in self.letters),
            tints=different[order],
            lab=(sums / repeats[:, None])[order],
            repeats=repeats[order],
        )


def _words(line: str) -> list[str]:
    """The words of a line without its comment; quoted text is one word without its quotes."""
    if '"' not in line and "#" not in line:
        return line.split()
    found = []
    for match in _TOKEN.finditer(line):
        if match[1] is not None:
            found.append(match[1].replace('""', '"'))
        elif match[2] is not None:
            found.append(match[2])
    return found
