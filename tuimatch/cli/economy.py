"""`tuimatch economy`: other recipes for a project or a page, so that it takes fewer passes."""

from __future__ import annotations

import argparse
from math import isfinite
from typing import TYPE_CHECKING, Any

from tuimatch.cli.coloured import RGB, swatches, truecolour
from tuimatch.cli.opened_log import existing_log
from tuimatch.errors import UsageError
from tuimatch.json_text import to_json
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.economy import Change, Economy
    from tuimatch.project_economy import Work
    from tuimatch.recipes import Recipes

NAME = "economy"


def add(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        NAME,
        parents=[shared],
        allow_abbrev=False,
        help="fewer passes for a little more ΔE",
        description="Choose recipes for all areas at once so that the passes are fewest and, "
        "among those, the total ΔE is least. Areas that are told apart stay so. Nothing is "
        "changed without --take.",
    )
    parser.add_argument("--page", metavar="N", help="only the areas of this page")
    parser.add_argument(
        "--extra",
        type=_extra,
        default=1.0,
        metavar="ΔE",
        help="how much more ΔE than its nearest recipe each area may bear (1)",
    )
    parser.add_argument(
        "--area",
        action="append",
        default=[],
        metavar="LABEL=EXTRA",
        help="the same for the areas of one label",
    )
    parser.add_argument("--take", action="store_true", help="put the recipes into the log")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> None:
    """Print before and after, and take it where that is asked for."""
    if not arguments.project:
        raise UsageError("`tuimatch economy` needs --project NAME")
    with existing_log(arguments) as log:
        from tuimatch import project_economy

        work = project_economy.gather(log, arguments.project, arguments.page)
        single = _single(work, arguments.area)
        tables: dict[str, Recipes] = {}
        found = project_economy.plan(work, tables, allowance=arguments.extra, allowances=single)
        taken = project_economy.take(log, work, found, tables) if arguments.take else 0
    bears = {area.key: single.get(area.key, arguments.extra) for area in work.areas}
    if arguments.json:
        print(to_json(_as_json(work, found, bears, taken)))
        return
    print(f"{found.in_words()}; {found.certainty()}")
    if work.remark:
        print(printable(work.remark))
    _print_changes(found, tables, bears, arguments.extra)
    if taken:
        undo = f"`tuimatch log undo --project {work.project}` undoes it"
        print(printable(f"taken: {_recipes(taken)} replaced; {undo}"))
    elif arguments.take:
        print("nothing to take: every area keeps its recipe")


def _single(work: Work, texts: list[str]) -> dict[int, float]:
    found = {}
    for text in texts:
        label, equals, extra = text.rpartition("=")
        try:
            if not equals:
                raise argparse.ArgumentTypeError("give LABEL=EXTRA, such as sky=2")
            value = _extra(extra)
        except argparse.ArgumentTypeError as error:
            raise UsageError(f"--area {text!r}: {error}") from error
        found.update({area.key: value for area in work.named(label)})
    return found


def _print_changes(
    found: Economy, tables: dict[str, Recipes], bears: dict[int, float], usual: float
) -> None:
    heads = ["", "area", "ΔE", "before", "ΔE", "after"]
    rows = [_cells(change, bears[change.area.key], usual) for change in found.changes]
    widths = [max(len(row[i]) for row in [heads, *rows]) for i in range(len(heads))]
    seams = truecolour()
    if rows:
        print((" " * 9 if seams else "") + _line(heads, widths))
    for change, row in zip(found.changes, rows, strict=True):
        seam = swatches(*_colours(change, tables)) if seams else ""
        print(seam + _line(row, widths))


def _cells(change: Change, bears: float, usual: float) -> list[str]:
    area = change.area
    page = f"{area.page}: " if area.page else ""
    bearing = "" if bears == usual else f" (+{bears:g})"
    return [
        "*" if change.changed else "",
        printable(f"{page}{area.name}{bearing}"),
        f"{change.delta_e_before:.2f}",
        printable(area.palette.recipe_text(area.tints)),
        f"{change.delta_e_after:.2f}",
        printable(area.palette.recipe_text(change.tints)) if change.changed else "the same",
    ]


def _line(cells: list[str], widths: list[int]) -> str:
    padded = [
        cell.rjust(width) if place in (2, 4) else cell.ljust(width)
        for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    return "  ".join(padded).rstrip()


def _colours(change: Change, tables: dict[str, Recipes]) -> list[RGB]:
    recipes = tables[change.area.palette.digest]
    rows = [recipes.row_of(tints) for tints in (change.area.tints, change.tints)]
    return [recipes.rgb_of(row) for row in rows if row is not None]


def _as_json(work: Work, found: Economy, bears: dict[int, float], taken: int) -> dict[str, Any]:
    passes, total = found.gap
    return {
        "project": work.project,
        "page": work.page,
        "passes_before": found.before.by_passes,
        "passes_after": found.after.by_passes,
        "total_before": found.total_before,
        "total_after": found.total_after,
        "optimal": found.optimal,
        "gap": {"passes": passes, "delta_e": total},
        "areas": [
            {
                "id": change.area.key,
                "label": change.area.label,
                "page": change.area.page,
                "bears": bears[change.area.key],
                "changed": change.changed,
                "before": _side(change, change.area.tints, change.delta_e_before),
                "after": _side(change, change.tints, change.delta_e_after),
            }
            for change in found.changes
        ],
        "left_out": [choice.id for choice in work.left_out],
        "taken": taken,
    }


def _side(change: Change, tints: tuple[float, ...], delta_e: float) -> dict[str, Any]:
    palette = change.area.palette
    return {
        "recipe": palette.recipe_text(tints),
        "tints": {ink.name: tint for ink, tint in zip(palette.inks, tints, strict=True)},
        "delta_e": delta_e,
    }


def _extra(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1
    if not (isfinite(value) and value >= 0):
        raise argparse.ArgumentTypeError(f"{text!r} is no ΔE; give a number from 0, such as 1.5")
    return value


def _recipes(count: int) -> str:
    return "1 recipe" if count == 1 else f"{count} recipes"
