"""`tuimatch economy`: other recipes for a project or a page, so that it takes fewer passes."""

from __future__ import annotations

import argparse
from math import isfinite
from typing import TYPE_CHECKING, Any

from tuimatch.cli.arguments import (
    add_scope,
    command_for,
    existing_log,
    project_meant,
    say_which,
)
from tuimatch.cli.progress import searched
from tuimatch.cli.tables import RGB, print_table
from tuimatch.errors import UsageError
from tuimatch.files.json_out import to_json
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.planning.economy import Change, Economy
    from tuimatch.planning.economy_of_log import Work
    from tuimatch.recipe.recipes import Recipes

DESCRIPTION = (
    "Choose recipes for all areas at once, with the fewest passes and, among those, "
    "the least total ΔE. Areas that can be told apart stay so, and an area with an ink "
    "ticked off as laid keeps its recipe. Nothing changes without --take."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_scope(parser)
    parser.add_argument(
        "--extra",
        type=_extra,
        default=1.0,
        metavar="ΔE",
        help="tolerance: how much more ΔE each area accepts than its nearest recipe has (1)",
    )
    parser.add_argument(
        "--area",
        action="append",
        default=[],
        metavar="LABEL=EXTRA",
        help="the same for the areas of one label; LABEL=keep leaves their recipe as it is, "
        "even where it is not the nearest",
    )
    parser.add_argument("--take", action="store_true", help="put the recipes into the log")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(arguments: argparse.Namespace) -> None:
    """Print before and after, and take it where that is asked for."""
    with existing_log(arguments) as log:
        from tuimatch.planning import economy_of_log

        project = project_meant(arguments, log)
        work = economy_of_log.gather(log, project, arguments.page, arguments.only)
        single, keep = _single(work, arguments.area)
        tables: dict[str, Recipes] = {}
        found = searched(
            f"planning {len(work.areas)} areas",
            lambda watch: economy_of_log.plan(
                *(work, tables),
                allowance=arguments.extra,
                allowances=single,
                keep=keep,
                go_on=lambda: watch(None),
            ),
        )
        taken = economy_of_log.take(log, work, found, tables) if arguments.take else 0
    tolerances = {area.key: single.get(area.key, arguments.extra) for area in work.areas}
    if arguments.json:
        print(to_json(_as_json(work, found, tolerances, keep, taken)))
        return
    say_which(arguments, project)
    print(f"{found.in_words()}; {found.certainty()}")
    if work.remark:
        print(printable(work.remark))
    stays = dict.fromkeys(keep, "the same, kept") | dict.fromkeys(
        work.laid, "the same, laid already"
    )
    _print_changes(found, tables, tolerances, arguments.extra, stays)
    if taken:
        undo = command_for(arguments, "log", "undo", "--project", work.project)
        print(printable(f"taken: {_recipes(taken)} replaced; {undo} undoes it"))
    elif arguments.take:
        print("nothing to take: every area keeps its recipe")


def _single(work: Work, texts: list[str]) -> tuple[dict[int, float], set[int]]:
    """The tolerance of single areas, by key, and which are to keep the recipe they have."""
    found: dict[int, float] = {}
    keep: set[int] = set()
    for text in texts:
        label, equals, extra = text.rpartition("=")
        kept = extra.strip().casefold() == "keep"
        try:
            if not equals:
                raise argparse.ArgumentTypeError("give LABEL=EXTRA, such as sky=2, or sky=keep")
            value = 0.0 if kept else _extra(extra)
        except argparse.ArgumentTypeError as error:
            raise UsageError(f"--area {text!r}: {error}") from error
        for area in work.named(label):
            found[area.key] = value
            keep = keep | {area.key} if kept else keep - {area.key}
    return found, keep


def _print_changes(
    found: Economy,
    tables: dict[str, Recipes],
    tolerances: dict[int, float],
    usual: float,
    stays: dict[int, str],
) -> None:
    heads = ["", "area", "ΔE", "before", "ΔE", "after"]
    rows = []
    for change in found.changes:
        key = change.area.key
        own = "" if tolerances[key] == usual or key in stays else f" (+{tolerances[key]:g})"
        rows.append(_cells(change, own, stays.get(key, "the same")))
    seams = [_colours(change, tables) for change in found.changes]
    print_table(rows, "<<><><", heads=heads, seams=seams)


def _cells(change: Change, own: str, same: str) -> list[str]:
    area = change.area
    return [
        "*" if change.changed else "",
        f"{area.name_with_page}{own}",
        f"{change.delta_e_before:.2f}",
        area.palette.recipe_words(area.tints),
        f"{change.delta_e_after:.2f}",
        area.palette.recipe_words(change.tints) if change.changed else same,
    ]


def _colours(change: Change, tables: dict[str, Recipes]) -> list[RGB]:
    recipes = tables[change.area.palette.digest]
    rows = [recipes.row_of(tints) for tints in (change.area.tints, change.tints)]
    return [recipes.rgb_of(row) for row in rows if row is not None]


def _as_json(
    work: Work, found: Economy, tolerances: dict[int, float], keep: set[int], taken: int
) -> dict[str, Any]:
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
                "tolerance": tolerances[change.area.key],
                "changed": change.changed,
                "before": _side(change, change.area.tints, change.delta_e_before),
                "after": _side(change, change.tints, change.delta_e_after),
            }
            for change in found.changes
        ],
        "laid": sorted(work.laid),
        "kept": sorted(keep),
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
        raise argparse.ArgumentTypeError(f"{text!r} is not a ΔE; give a number from 0, such as 1.5")
    return value


def _recipes(count: int) -> str:
    return "1 recipe" if count == 1 else f"{count} recipes"
