"""`tuimatch pick`: a colour of a picture as the target."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli import match, open_screen
from tuimatch.cli.arguments import count
from tuimatch.errors import UsageError
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.text import hexed, printable

if TYPE_CHECKING:
    from tuimatch.palette.model import Palette

DESCRIPTION = (
    "Take the mean of a small square of a picture, in linear light, as the "
    "colour to match. Without --at the picture opens and the place is chosen there."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a picture")
    parser.add_argument("--at", type=_place, metavar="X,Y", help="the pixel in the middle")
    parser.add_argument(
        "--size", type=count, default=9, metavar="N", help="side of the square in pixels (9)"
    )
    parser.add_argument("--top", type=count, default=10, metavar="N", help="recipes (10)")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(arguments: argparse.Namespace) -> None:
    """Match the colour at the place, or let the place be chosen."""
    palette = palette_file.load(arguments.palette)
    if arguments.at is None:
        if arguments.json:
            raise UsageError("--json needs --at X,Y")
        open_screen.needs_terminal("`tuimatch pick FILE --at X,Y` does not")
        _open(arguments, palette)
    else:
        _answer(arguments, palette)


def _open(arguments: argparse.Namespace, palette: Palette) -> None:
    from tuimatch.picture import picture
    from tuimatch.tui.app import PickApp

    file = Path(arguments.file)
    shown = picture.read(file)
    around = open_screen.surroundings(arguments)
    app = PickApp(file, shown, palette=palette, colour=None, **around)
    open_screen.run_app(app)


def _answer(arguments: argparse.Namespace, palette: Palette) -> None:
    from tuimatch.match.answer import Question, known
    from tuimatch.match.answer import match as answered
    from tuimatch.match.limits import start
    from tuimatch.picture import picture
    from tuimatch.recipe import recipes

    found = picture.read(Path(arguments.file))
    (x, y), size = arguments.at, arguments.size
    target = found.target(x, y, size)
    mixed, question = recipes.mix(palette), Question(target, narrowing=start(palette))
    answer = answered(mixed, question, known(mixed), top=arguments.top)
    if arguments.json:
        place = {"file": arguments.file, "x": x, "y": y, "size": size, "notes": list(found.notes)}
        print(to_json({"picture": place, **match.as_json(answer)}))
        return
    for note in found.notes:
        print(printable(f"{arguments.file}: {note}"))
    print(printable(f"{arguments.file}: mean of {size} × {size} pixels around {x},{y}"))
    if target.text != hexed(target.srgb):
        print(hexed(target.srgb))
    match.print_answer(answer)


def _place(text: str) -> tuple[int, int]:
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2 or not all(p.isascii() and p.isdecimal() and len(p) < 7 for p in parts):
        raise argparse.ArgumentTypeError(f"{text!r} is not a position; give x,y such as 120,80")
    return int(parts[0]), int(parts[1])
