"""The file that a command writes: asked for by name, and never another one lost for it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from tuimatch.errors import OutputError, UsageError
from tuimatch.files import out_file
from tuimatch.palette.model import Palette
from tuimatch.text import percent, printable


def add_options(parser: Any) -> None:
    """The options of every command that writes a palette file."""
    add_out(parser, "FILE.toml")
    parser.add_argument("--name", metavar="NAME", default="", help="what to call the palette")


def checked(arguments: argparse.Namespace) -> Path:
    """Where to write, before any work.

    Raises:
        UsageError: It is no name of a palette file.
        OutputError: There is such a file already.
    """
    if Path(arguments.out).suffix != ".toml":
        raise UsageError(
            f"--out {arguments.out}: a palette file is TOML; give a name such as own.toml"
        )
    return free(arguments)


def write(path: Path, palette: Palette) -> None:
    """Write it and say what it holds."""
    out_file.write(path, palette.text)
    describe(str(path), palette)


def describe(file: str, palette: Palette) -> None:
    """Say what a palette file holds and what is doubtful in it."""
    from tuimatch.own_palette.warnings import doubts

    said = [
        f"{file}: a correct palette, {palette.recipe_count:,} recipes",
        f"  {palette.name}: {palette.kind}, on {palette.paper_name}, n = {palette.n:g}",
    ]
    for ink in palette.inks:
        tints = " ".join(map(percent, ink.tints))
        measured = f", {len(ink.measured)} tints given as colours" if ink.measured else ""
        gain = f", gain {ink.gain:g}" if ink.gain is not None and not ink.measured else ""
        said.append(f"  {ink.name} ({ink.symbol}): {tints} %{measured}{gain}")
    if palette.kind == "measured":
        said.append(f"  {len(palette.overprints)} overprints given, source {palette.source}")
    if palette.coverage_limit is not None:
        said.append(f"  coverage limit {percent(palette.coverage_limit)} %")
    if palette.estimated:
        said.append("  estimated: overprints are missing, so colours may be about 10 ΔE off")
    said += [f"  doubtful: {doubt}" for doubt in doubts(palette)]
    print("\n".join(map(printable, said)))


def add_out(parser: Any, metavar: str) -> None:
    """Add ``--out`` and ``--replace``."""
    parser.add_argument("--out", required=True, metavar=metavar, help="the file to write")
    parser.add_argument(
        "--replace", action="store_true", help="write over the file where there is one"
    )


def free(arguments: argparse.Namespace) -> Path:
    """Where to write, before any work.

    Raises:
        OutputError: There is such a file already.
    """
    out = Path(arguments.out)
    if not arguments.replace and out_file.is_taken(out):
        raise OutputError(f"{out}: is there already; give another, or --replace to write over it")
    return out
