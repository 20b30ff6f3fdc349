"""A screen palette from a list of swatches: the paper, and for each ink its solid and its tints.

The list is CSV with a header, or TOML with a [[swatches]] table for each row and perhaps a name:

    ink,srgb,symbol,label,share
    paper,#fffdf5,,,
    yellow,#ffe800,Y,fine dots,23.4
    yellow,,,coarse dots,51

One row is the paper; the first row of an ink gives its colour. `share` is the percent of ink in the
tint, as a swatch was read. Every ink gets its solid as its strongest tint.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from io import StringIO
from pathlib import Path
from typing import Any

from tuimatch.errors import PaletteError
from tuimatch.files import in_file
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import MAX_INKS, Ink, Palette, Triple
from tuimatch.text import has_unsafe, percent, printable, rgb_of_hex

MAX_BYTES = 1_000_000
MAX_ROWS = 1000
SOLID = "solid"

_COLUMNS = ("ink", "srgb", "symbol", "label", "share")
_PAPER = "paper"
# Possessive: digits are never gone through again, however many there are.
_SHARE = re.compile(r"(\d++\.?+\d*+|\.\d++)\s*+%?", re.ASCII)


@dataclass(frozen=True)
class Row:
    """One swatch of the list, not yet checked.

    Attributes:
        ink: The name of the ink, or "paper".
        srgb: Six hex digits; may be empty after an ink's first row.
        symbol: For narrow columns; may be empty.
        label: What the artist calls the tint; may be empty.
        share: Percent of ink; empty where the row only gives a colour.
    """

    ink: str = ""
    srgb: str = ""
    symbol: str = ""
    label: str = ""
    share: str = ""


def read(path: Path, name: str = "") -> Palette:
    """Make the palette of a list in a file: TOML where its name says so, else CSV.

    Args:
        path: The list.
        name: What to call the palette; as the list says, or like the file, unless given.

    Raises:
        PaletteError: The file cannot be read or its list does not make a correct palette.
    """
    refuse = partial(PaletteError, path, "")
    text = in_file.read_text(path, MAX_BYTES, "a list of swatches", refuse)
    toml = path.suffix.lower() == ".toml"
    return parse(text, file=str(path), stem=path.stem, toml=toml, name=name)


def parse(text: str, *, file: str, stem: str, toml: bool, name: str = "") -> Palette:
    """Make the palette of a list.

    Args:
        text: The whole list.
        file: What to call it in a refusal.
        stem: What the palette will be called by.
        toml: Whether the list is TOML; else it is CSV.
        name: What to call the palette; as the list says, or like the stem, unless given.

    Raises:
        PaletteError: The list does not make a correct palette.
    """
    own_name, rows = _toml_rows(text, file) if toml else (stem, _csv_rows(text, file))
    return assemble(rows, name=name or own_name, file=file, stem=stem)


def assemble(rows: Iterable[Row], *, name: str, file: str, stem: str) -> Palette:
    """Make a palette, checked as every palette file is; its text is the file to write.

    Args:
        rows: The swatches.
        name: What to call the palette.
        file: What to call the list in a refusal.
        stem: What the palette will be called by.

    Raises:
        PaletteError: The swatches do not make a correct palette.
    """
    paper: Triple | None = None
    inks: dict[str, Ink] = {}
    tints: dict[str, dict[float, str]] = {}
    for number, row in enumerate(rows, 1):
        at = f"swatch {number}"
        for text in (row.ink, row.symbol, row.label):
            if has_unsafe(text):
                raise PaletteError(
                    file, at, f"{text[:40]!r} holds a control character; give plain text"
                )
        colour = _colour(row.srgb, file, at) if row.srgb else None
        if row.ink.casefold() == _PAPER:
            if paper is not None or colour is None:
                problem = (
                    "the paper appears twice" if paper is not None else "the paper has no srgb"
                )
                raise PaletteError(file, at, f"{problem}; give one paper row, such as #fffdf5")
            paper = colour
            continue
        if not row.ink:
            raise PaletteError(file, at, "names no ink; give its name, or paper")
        ink = inks.get(row.ink)
        if ink is None:
            if len(inks) == MAX_INKS:
                raise PaletteError(
                    file, at, f"names ink {MAX_INKS + 1}; give at most {MAX_INKS} inks"
                )
            if colour is None:
                raise PaletteError(file, at, f"{row.ink!r} has no srgb; give it in its first row")
            symbol = row.symbol or _symbol(row.ink, [ink.symbol for ink in inks.values()])
            ink = Ink(row.ink, symbol, colour, ())
        elif colour not in (None, ink.solid):
            raise PaletteError(file, at, f"{row.ink!r} has two colours; give it one srgb")
        inks[row.ink] = ink
        ladder = tints.setdefault(row.ink, {})
        if row.share:
            share = _share(row.share, file, at)
            if share in ladder:
                raise PaletteError(
                    file, at, f"{row.ink} {percent(share)} % appears twice; keep one"
                )
            ladder[share] = row.label
    if paper is None:
        raise PaletteError(file, "", "has no paper; give a row such as paper,#fffdf5")
    palette = Palette(
        stem=stem,
        name=printable(name)[:80],
        about="Made from swatches of a drawing program.",
        kind="screen",
        source="",
        paper_name=_PAPER,
        paper=paper,
        inks=tuple(_with_ladder(ink, tints[ink.name]) for ink in inks.values()),
    )
    return palette_file.with_text(palette, file)


def _with_ladder(ink: Ink, ladder: dict[float, str]) -> Ink:
    """The ink with its tints and solid, ascending; labels where the artist gave any."""
    tints = tuple(sorted({*ladder, 100.0}))
    labels: tuple[str, ...] = ()
    if any(ladder.values()):
        labels = tuple(ladder.get(t) or (SOLID if t == 100 else f"{percent(t)} %") for t in tints)
    return replace(ink, tints=tints, labels=labels)


def _symbol(name: str, taken: Iterable[str]) -> str:
    """The first letter of the name that no ink before uses, else a figure."""
    used = {symbol.casefold() for symbol in taken}
    letters = [c.upper() for c in name if c.isalnum()]
    return next(c for c in [*letters, *map(str, range(1, 100))] if c.casefold() not in used)


def _share(text: str, file: str, at: str) -> float:
    match = _SHARE.fullmatch(text)
    if not match or not 1 <= (share := round(float(match[1]), 2)) <= 100:
        raise PaletteError(file, at, f"share is {text[:40]!r}; give a percent from 1 to 100")
    return share


def _colour(text: str, file: str, at: str) -> Triple:
    try:
        return rgb_of_hex(text)
    except ValueError as error:
        raise PaletteError(
            file, at, f"srgb is {text[:40]!r}; give six hex digits such as #ffe800"
        ) from error


def _csv_rows(text: str, file: str) -> list[Row]:
    try:
        lines = [line for line in csv.reader(StringIO(text, newline=""), strict=True) if line]
    except csv.Error as error:
        raise PaletteError(file, "", f"is not CSV: {error}") from error
    header = [column.strip().casefold() for column in lines[0]] if lines else []
    if "ink" not in header or not set(header) <= set(_COLUMNS) or len(set(header)) < len(header):
        raise PaletteError(file, "", f"has no header; begin with {','.join(_COLUMNS)}")
    rows = []
    for number, line in enumerate(lines[1:], 1):
        if len(line) > len(header):
            raise PaletteError(
                file, f"swatch {number}", f"has {len(line)} values; the header has {len(header)}"
            )
        rows.append(_row(dict(zip(header, line, strict=False))))
    return _capped(rows, file)


def _toml_rows(text: str, file: str) -> tuple[str, list[Row]]:
    document = in_file.toml(text, partial(PaletteError, file, ""))
    name, tables = document.get("name", ""), document.get("swatches")
    if not isinstance(name, str) or not set(document) <= {"name", "swatches"}:
        raise PaletteError(file, "", "may hold a name and [[swatches]] only")
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise PaletteError(file, "swatches", "is missing; give [[swatches]] tables")
    for number, table in enumerate(tables, 1):
        for key, value in table.items():
            # `True` is a number to Python, and a number may have thousands of digits.
            numeric = isinstance(value, int | float) and not isinstance(value, bool)
            usable = isinstance(value, str) or (key == "share" and numeric and abs(value) < 1000)
            if key not in _COLUMNS or not usable:
                raise PaletteError(
                    file,
                    f"swatches[{number}].{printable(key)[:40]}",
                    f"is not usable; give {', '.join(_COLUMNS)}, all but share in quotes",
                )
    return name or "Own inks", _capped([_row(table) for table in tables], file)


def _row(values: Mapping[str, Any]) -> Row:
    return Row(**{key: str(value).strip() for key, value in values.items()})


def _capped(rows: list[Row], file: str) -> list[Row]:
    if len(rows) > MAX_ROWS:
        raise PaletteError(file, "", f"holds {len(rows):,} swatches; at most {MAX_ROWS:,}")
    return rows
