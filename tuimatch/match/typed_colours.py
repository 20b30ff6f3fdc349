"""A list of colours as it is typed, pasted or kept in a file: one a line, with its label.

#d9803f lamp glass
#a8503f, Oda's coat
"rgb(217 79 42)","signal flag"
colour,label                  a first line that names the columns is passed over
"""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import NamedTuple

from tuimatch.colour import target
from tuimatch.colour.target import Target
from tuimatch.errors import TargetError
from tuimatch.files import in_file

MOST = 240
_MAX_BYTES = 200_000
_LONGEST_LINE = 500  # characters: far more than a colour and a label have
_GIVE = "a colour a line, such as #d9803f lamp glass"
_HEX = re.compile(r"\s*[\"']?(#[0-9a-f]{3,8})[\"']?(?:\s*[,;\t]\s*|\s+|$)(.*)", re.I)


class Named(NamedTuple):
    """A colour and what the artist calls it; the label may be empty."""

    target: Target
    label: str


def read_file(path: Path) -> list[Named]:
    """The colours of a file.

    Raises:
        TargetError: It cannot be read, or a line is not a colour.
    """

    def refuse(problem: str) -> TargetError:
        return TargetError(str(path), problem)

    text = in_file.read_text(path, _MAX_BYTES, f"a text file with {_GIVE}", refuse)
    try:
        return read(text)
    except TargetError as error:
        raise refuse(f"{error.text[:40]!r}: {error.problem}") from error


def read(text: str) -> list[Named]:
    """The colours of a text.

    Raises:
        TargetError: A line is not a colour, or there are none, or over `MOST`.
    """
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if lines and _is_head(lines[0][1]):
        del lines[0]
    if not lines:
        raise TargetError(text, f"holds no colour; give {_GIVE}")
    if len(lines) > MOST:  # before any is read: that takes long
        raise TargetError(text, f"holds {len(lines):,} colours; give at most {MOST} at once")
    found = []
    for number, line in lines:
        try:
            found.append(_named(line))
        except TargetError as error:
            raise TargetError(error.text, f"line {number}: {error.problem}") from error
    return found


def is_list(text: str) -> bool:
    """Whether a text has several lines, so that it is not a single colour."""
    return len(text.strip().splitlines()) > 1


def is_list_file(path: Path) -> bool:
    """Whether the name of a file says that it lists colours, rather than being a picture."""
    return path.suffix.casefold() in (".txt", ".csv", ".tsv")


def _named(line: str) -> Named:
    if len(line) > _LONGEST_LINE:
        raise TargetError(line, f"is far too long; give {_GIVE}")
    if hexadecimal := _HEX.fullmatch(line):
        colour, label = hexadecimal.groups()
        return Named(target.parse(colour), _plain(label))
    try:
        return Named(target.parse(line), "")
    except TargetError as refused:
        colour, *rest = next(csv.reader([line], skipinitialspace=True), [line])
        if not rest:
            raise
        try:
            return Named(target.parse(colour), _plain(",".join(rest)))
        except TargetError:
            raise refused from None


def _plain(label: str) -> str:
    return " ".join(label.strip().strip("\"'").replace('""', '"').split())


def _is_head(line: str) -> bool:
    first = re.split(r"[,;\t]", line.strip().casefold(), maxsplit=1)[0].strip("\"' ")
    return first in ("colour", "color", "hex", "srgb")
