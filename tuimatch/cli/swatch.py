"""`tuimatch swatch`: the share of ink in a picture of one tint."""

from __future__ import annotations

import argparse
from pathlib import Path

from tuimatch.errors import SwatchError
from tuimatch.files.json_out import to_json
from tuimatch.text import hexed, printable

DESCRIPTION = (
    "Read a picture, or a box of it, that one tint of one ink on paper fills: "
    "its fused colour (the mean in linear light) and its share of ink."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a picture, best a PNG at full size")
    parser.add_argument("--box", metavar="X,Y,W,H", help="the part to read, unless all of it")
    parser.add_argument("--paper", metavar="COLOUR", help="the colour of the paper, if known")
    parser.add_argument("--ink", metavar="COLOUR", help="the colour of the ink, if known")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(arguments: argparse.Namespace) -> None:
    """Read it and say what it holds."""
    from tuimatch.own_palette import swatch, typed_swatch
    from tuimatch.picture import picture

    box = typed_swatch.box(arguments.box) if arguments.box else None
    paper, ink = (
        typed_swatch.srgb(text) if text else None for text in (arguments.paper, arguments.ink)
    )
    found = picture.read(Path(arguments.file))
    try:
        read = swatch.read(found, box, paper=paper, ink=ink)
    except SwatchError as error:
        raise SwatchError(f"{arguments.file}: {error}") from error
    fused, of_ink, of_paper = map(hexed, (read.srgb, read.ink, read.paper))
    if arguments.json:
        print(
            to_json(
                {
                    "file": arguments.file,
                    "srgb": fused,
                    "exact": list(read.srgb),
                    "share": read.share,
                    "uncertainty": read.uncertainty,
                    "ink": of_ink,
                    "paper": of_paper,
                    "notes": list(found.notes),
                }
            )
        )
        return
    for note in found.notes:
        print(printable(f"{arguments.file}: {note}"))
    share, sure = 100 * read.share, 100 * read.uncertainty
    print(printable(f"{arguments.file}: {share:.1f} % ± {sure:.1f} of ink {of_ink} on {of_paper}"))
    print(f"fused colour {fused}")
