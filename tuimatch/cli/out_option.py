"""The file that a command writes: asked for by name, and never another one lost for it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from tuimatch.errors import OutputError
from tuimatch.files import out_file


def add(parser: Any, metavar: str) -> None:
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
