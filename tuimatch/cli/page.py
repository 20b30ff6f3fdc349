"""`tuimatch page`: all colours of a page matched together."""

from __future__ import annotations

import argparse
import sys
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tuimatch.cli import take
from tuimatch.cli.arguments import (
    add_limits,
    add_out,
    count,
    limits,
    log_for_reading,
    log_for_writing,
    out_path,
)
from tuimatch.cli.progress import searched
from tuimatch.cli.tables import print_table
from tuimatch.errors import UsageError
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.text import hexed, percent, printable

if TYPE_CHECKING:
    from tuimatch.match.limits import Narrowing
    from tuimatch.match.typed_colours import Named
    from tuimatch.palette.model import Palette
    from tuimatch.picture.flats import Flats
    from tuimatch.picture.picture import Picture
    from tuimatch.planning.page import Page
    from tuimatch.planning.page_match import PageMatch

DESCRIPTION = (
    "Read the flats of a coloured page and match all of them together, so that neighbours that "
    "differ still differ in print: by 5 ΔE where they do so on the page, and the lighter stays "
    "lighter. On a terminal the page opens; with --json, --take or --out, or where there is no "
    "terminal, the answer is printed. A list of colours, '#hex label' a line or CSV, is matched so "
    "that all that differ are kept apart."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "file",
        metavar="FILE",
        help="a picture; or a list of colours, a .txt or .csv file, - for standard input",
    )
    add_flats(parser).add_argument(
        "--labels", metavar="FILE", help="what the colours are called: '#hex label' a line, or CSV"
    )
    parser.add_argument(
        "--lock",
        action="append",
        default=[],
        metavar="COLOUR=RECIPE",
        help="a colour or label that keeps its recipe, such as 'sky=cyan 25'; can be repeated",
    )
    add_limits(parser)
    parser.add_argument(
        "--max-passes", type=count, metavar="N", help="use at most N tints of inks on the page"
    )
    parser.add_argument(
        "--tolerance",
        type=_delta_e,
        metavar="ΔE",
        help="how much more ΔE than its nearest recipe a colour may have (no limit)",
    )
    parser.add_argument("--page", metavar="N", help="the page's number, for the log")
    parser.add_argument("--take", action="store_true", help="put the recipes into the log")
    add_out(parser, "PNG", required=False)
    parser.add_argument(
        "--beside", action="store_true", help="with --out: beside the page as it was given"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object")


def add_flats(parser: argparse.ArgumentParser) -> Any:
    """Let a command say how the flats of a picture are read; returns the group of options."""
    flats = parser.add_argument_group("the flats")
    flats.add_argument(
        "--keep",
        action="append",
        default=[],
        metavar="COLOUR",
        help="a colour of the line art, which is not matched; can be repeated",
    )
    flats.add_argument(
        "--least",
        type=_percentage,
        default=0.005,
        metavar="PCT",
        help="the least share of the page that a flat may have (0.005)",
    )
    flats.add_argument(
        "--flats",
        type=_colours,
        metavar="N",
        help="first reduce a picture such as a photograph to N colours",
    )
    return flats


def read_flats(arguments: argparse.Namespace) -> tuple[Picture, Flats]:
    """The picture that was given, and its flats.

    Raises:
        PictureError: It cannot be read, or does not consist of flats.
        TargetError: What is given as a colour to keep is not a colour.
    """
    from tuimatch.colour import target
    from tuimatch.picture import flats, picture

    keep = [target.parse(text) for text in arguments.keep]
    page = picture.read(Path(arguments.file))
    if arguments.flats is not None:
        page = flats.reduced(page, arguments.flats)
    return page, flats.find(page, keep, least_share=arguments.least)


def run(arguments: argparse.Namespace) -> None:
    """Match the page; print, write and take what is asked for."""
    palette = palette_file.load(arguments.palette)
    narrowing, intent = limits(arguments, palette)
    out = None
    if arguments.out is not None:
        out = out_path(arguments, ".png", "the page is written as PNG")
    elif arguments.beside:
        raise UsageError("--beside goes with --out FILE.png")
    from tuimatch.match import typed_colours
    from tuimatch.planning import page as pages
    from tuimatch.recipe import recipes

    mixed = recipes.mix(palette)
    named, found = [], None
    if arguments.file == "-" or typed_colours.is_list_file(Path(arguments.file)):
        if out or arguments.keep or arguments.flats or arguments.labels:
            raise UsageError("--out, --keep, --flats and --labels go with a picture, not a list")
        named = _list(arguments.file)
        page = pages.of_list(named, mixed, intent)
    else:
        _, found = read_flats(arguments)
        page = pages.of_flats(found, mixed, intent, _labels(arguments))
    if _is_to_be_looked_at(arguments):
        _open(arguments, palette, named, found, page, narrowing)
        return
    locked = _locked(page, arguments.lock) | _laid(arguments, page)
    answer = searched(
        f"matching {len(page.colours)} colours",
        lambda watch: pages.solve(
            page,
            narrowing,
            locked=locked,
            tolerance=arguments.tolerance,
            max_passes=arguments.max_passes,
            watch=watch,
        ),
    )
    taken = _take(arguments, page, answer) if arguments.take else None
    if out is not None:
        assert found is not None  # a list is refused above
        _write(arguments, out, found, page, answer)
    if arguments.json:
        print(to_json(as_json(arguments, page, answer, found, narrowing, locked, taken)))
    else:
        _print(arguments, page, answer, found, narrowing, locked)
        if taken:
            for line in taken["said"].split("\n"):
                print(printable(line))
        if out is not None:
            print(printable(f"{out}: the page as it will print"))


def _list(file: str) -> list[Named]:
    from tuimatch.match import typed_colours

    if file == "-":
        return typed_colours.read(sys.stdin.read(1 << 20))
    return typed_colours.read_file(Path(file))


def _is_to_be_looked_at(arguments: argparse.Namespace) -> bool:
    """Whether no output is asked for, on a terminal."""
    asked = arguments.json or arguments.take or arguments.out is not None
    return not asked and sys.stdin.isatty() and sys.stdout.isatty()


def _open(
    arguments: argparse.Namespace,
    palette: Palette,
    named: list[Named],
    found: Flats | None,
    page: Page,
    narrowing: Narrowing,
) -> None:
    """Open the interface on the page."""
    from tuimatch.cli import open_screen
    from tuimatch.tui.app import PageApp
    from tuimatch.tui.screens.page_state import Asked, Listed, PageState

    locked = _locked(page, arguments.lock) | _laid(arguments, page)
    asked = Asked(
        source=found.page if found else Listed(arguments.file, tuple(named)),
        narrowing=narrowing,
        keep=tuple(arguments.keep),
        labels={c.given.text: c.label for c in page.colours if c.label},
        locked={
            page.colours[i].given.text: page.recipes.tints_of(row) for i, row in locked.items()
        },
        intent=page.intent,
        least_share=arguments.least,
        tolerance=arguments.tolerance,
        max_passes=arguments.max_passes,
    )
    state = PageState(asked, found)
    state.number = arguments.page or ""
    around = open_screen.surroundings(arguments)
    app = PageApp(state, palette=palette, colour=None, **around)
    open_screen.run_app(app)


def _labels(arguments: argparse.Namespace) -> dict[str, str]:
    """What the colours are called: in the file of labels if given, else in the log."""
    from tuimatch.match import typed_colours
    from tuimatch.planning.page import labels_by_colour

    found: dict[str, str] = {}
    with log_for_reading(arguments) as log:
        if log is not None:
            choices = log.choices(arguments.project or log.projects.current())
            found = labels_by_colour(choices, arguments.page)
    if arguments.labels is not None:
        named = typed_colours.read_file(Path(arguments.labels))
        found |= {hexed(one.srgb): label for one, label in named if label}
    return found


def _locked(page: Page, texts: list[str]) -> dict[int, int]:
    found = {}
    for text in texts:
        name, equals, recipe = text.partition("=")
        if not equals:
            raise UsageError(f"--lock {text}: give COLOUR=RECIPE, such as 'sky=cyan 25'")
        found[page.place_of(name)] = page.row_of(recipe)
    return found


def _laid(arguments: argparse.Namespace, page: Page) -> dict[int, int]:
    """The recipes of what is laid already on this page of the project: they stay."""
    from tuimatch.planning import page as pages

    if arguments.page is None and not arguments.take:
        return {}
    with log_for_reading(arguments) as log:
        if log is None:
            return {}
        project = arguments.project or log.projects.current()
        return pages.laid(log, page, project, arguments.page or "")


def _take(arguments: argparse.Namespace, page: Page, answer: PageMatch) -> dict[str, Any]:
    from tuimatch.planning import page as pages

    with log_for_writing(arguments) as log:
        project = arguments.project or log.projects.current()
        made = pages.choices(page, answer.rows, project, arguments.page or "")
        what = f"took {_of(len(made))}" + (f" of page {arguments.page}" if arguments.page else "")
        done = pages.take(log, page.recipes.palette, made, what)
    return {
        "taken": len(made) - len(done.laid),
        "said": take.said(arguments, project, len(made), done),
    }


def _write(
    arguments: argparse.Namespace, out: Path, found: Flats, page: Page, answer: PageMatch
) -> None:
    """The page as it will come out, flat colours in sRGB; beside it the one given if asked."""
    from io import BytesIO

    import numpy as np
    from PIL import Image

    from tuimatch.files import out_file

    pixels = found.painted([page.recipes.rgb_of(row) for row in answer.rows])
    if arguments.beside:
        pixels = np.concatenate([found.page.pixels, pixels], axis=1)
    image = Image.fromarray(pixels)
    if found.page.alpha is not None:
        alpha = found.page.alpha
        image.putalpha(Image.fromarray(np.tile(alpha, 2) if arguments.beside else alpha))
    data = BytesIO()
    image.save(data, "PNG")
    out_file.write(out, data.getvalue(), replace=arguments.replace)


def as_json(
    arguments: argparse.Namespace,
    page: Page,
    answer: PageMatch,
    found: Flats | None,
    narrowing: Narrowing,
    locked: dict[int, int],
    taken: dict[str, Any] | None,
) -> dict[str, Any]:
    """The answer as JSON has it, nothing rounded."""
    from tuimatch.planning.page import verdict

    recipes, palette = page.recipes, page.recipes.palette
    flats = []
    for place, (colour, row, delta_e) in enumerate(
        zip(page.colours, answer.rows, answer.delta_e, strict=True)
    ):
        tints = zip(palette.inks, recipes.tints_of(row), strict=True)
        flats.append(
            {
                "colour": colour.given.text,
                "share": colour.share,
                "label": colour.label,
                "recipe": palette.recipe_text(recipes.tints_of(row)),
                "tints": {ink.name: tint for ink, tint in tints},
                "lab": recipes.lab[row].tolist(),
                "srgb": hexed(recipes.rgb_of(row)),
                "delta_e": delta_e,
                "alone_delta_e": answer.alone_delta_e[place],
                "verdict": verdict(page, answer, place, narrowing).value,
                "locked": place in locked,
            }
        )
    why_not = {(r.first, r.second): why for r, why in _not_kept(answer)}
    return {
        "palette": palette.stem,
        "intent": page.intent.value,
        "page": arguments.page or "",
        "flats": flats,
        "neighbours": [
            {
                "of": n.first,
                "and": n.second,
                "border": n.border,
                "kept": (n.first, n.second) not in why_not,
                "why_not": why_not.get((n.first, n.second), ""),
            }
            for n in page.neighbours
        ],
        "cost": answer.cost,
        "bound": answer.bound,
        "proved": answer.proved,
        "kept_out": list(found.kept_out) if found else [],
        "smoothed": found.smoothed if found else 0,
        "notes": found.notes if found else [],
        "taken": taken["taken"] if taken else 0,
    }


def _not_kept(answer: PageMatch) -> list[tuple[Any, str]]:
    return [(answer.relations[place], why) for place, why in answer.why_not.items()]


def _print(
    arguments: argparse.Namespace,
    page: Page,
    answer: PageMatch,
    found: Flats | None,
    narrowing: Narrowing,
    locked: dict[int, int],
) -> None:
    """Print the answer for people."""
    from tuimatch.picture.line_art import likely
    from tuimatch.planning.page import far_off, overall, verdict
    from tuimatch.planning.relations import broken

    recipes, palette = page.recipes, page.recipes.palette
    what = "flats" if found else "colours"
    print(printable(f"{arguments.file}: {len(page.colours)} {what}, {palette.name}"))
    for note in found.notes if found else []:
        print(printable(note))
    if found and found.kept_out:
        print(f"line art kept out: {', '.join(found.kept_out)}, {found.kept_share:.1%} of the page")
    elif found and (place := likely(found)) is not None:
        lines = found.flats[place].colour
        print(f"{lines} looks like line art; --keep '{lines}' leaves it out")
    lab = recipes.lab
    alone = sum(
        bool(broken(r, lab[answer.alone[r.first]], lab[answer.alone[r.second]]))
        for r in answer.relations
    )
    kept = len(answer.relations) - len(answer.why_not)
    print(
        f"{kept} of {len(answer.relations)} pairs of neighbours still differ "
        f"(matched one by one: {len(answer.relations) - alone}); {answer.certainty()}"
    )
    print(printable(overall(page, answer, far_off(page, answer, narrowing))[0]))
    for relation, why in _not_kept(answer):
        names = (page.colours[place].name_in_words for place in (relation.first, relation.second))
        print(printable(f"not kept: {' and '.join(names)}: {why}"))
    rows = []
    for place, (colour, row, delta_e) in enumerate(
        zip(page.colours, answer.rows, answer.delta_e, strict=True)
    ):
        remark = verdict(page, answer, place, narrowing).words
        if place in locked:
            remark = "locked"
        elif row != answer.alone[place]:
            remark += f"; alone {answer.alone_delta_e[place]:.2f}"
        rows.append(
            [
                f"{colour.share:.1%}" if found else "",
                colour.given.text,
                colour.label,
                f"{delta_e:.2f}",
                *(percent(tint) if tint else "–" for tint in recipes.tints_of(row)),
                remark,
            ]
        )
    heads = ["share", "colour", "label", "ΔE", *(ink.name for ink in palette.inks), ""]
    seams = [
        (colour.meant.srgb, recipes.rgb_of(row))
        for colour, row in zip(page.colours, answer.rows, strict=True)
    ]
    print_table(rows, "><<>" + ">" * len(palette.inks) + "<", heads=heads, seams=seams)


def _of(number: int) -> str:
    return "1 recipe" if number == 1 else f"{number} recipes"


def _colours(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 2 <= int(text[:4]) <= 240):
        raise argparse.ArgumentTypeError(f"{text!r}: give a number of colours from 2 to 240")
    return int(text)


def _percentage(text: str) -> float:
    return _number(text, 100, "a share of the page in percent, such as 0.01")


def _delta_e(text: str) -> float:
    return _number(text, 1000, "a ΔE from 0, such as 4")


def _number(text: str, most: float, give: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1
    if not (isfinite(value) and 0 <= value <= most):
        raise argparse.ArgumentTypeError(f"{text!r}: give {give}")
    return value
