"""`tuimatch rematch`: what a project holds, matched together again on another palette."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tuimatch.cli.arguments import (
    add_limits,
    add_scope,
    command_for,
    existing_log,
    limits,
    project_meant,
    say_which,
)
from tuimatch.cli.progress import searched
from tuimatch.cli.tables import print_table
from tuimatch.errors import UsageError
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.text import hexed, printable

if TYPE_CHECKING:
    from tuimatch.planning.page import Again
    from tuimatch.planning.page_match import PageMatch

DESCRIPTION = (
    "Match all areas of a project, or of a page, together on the palette given: those that "
    "differ on a page still differ. Old and new recipes are printed side by side; nothing is "
    "changed without --take. An area of which an ink is laid already keeps its recipe."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_scope(parser)
    add_limits(parser)
    parser.add_argument("--take", action="store_true", help="put the recipes into the log")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(arguments: argparse.Namespace) -> None:
    """Print old and new, and take it where that is asked for."""
    palette = palette_file.load(arguments.palette)
    narrowing, intent = limits(arguments, palette)
    from tuimatch.planning import page as pages
    from tuimatch.planning.areas import chosen
    from tuimatch.recipe import recipes

    with existing_log(arguments) as log:
        project = project_meant(arguments, log)
        meant = chosen(log, project, arguments.page, arguments.only)
        again = pages.of_log(log, meant, recipes.mix(palette), intent)
        if not again.areas:
            raise UsageError(f"project {project!r} has no area there that may change")
        answer = searched(
            f"matching {len(again.areas)} colours",
            lambda watch: pages.solve(again.page, narrowing, watch=watch),
        )
        changed = pages.replaced(again, answer)
        if arguments.take:
            what = f"matched {_areas(len(changed))} again on {palette.stem}"
            pages.put_back(log, palette, changed, what)
    if arguments.json:
        print(to_json(_as_json(again, answer, project, len(changed) if arguments.take else 0)))
        return
    say_which(arguments, project)
    _print(again, answer)
    if arguments.take:
        undo = command_for(arguments, "log", "undo", "--project", project)
        print(printable(f"taken: {_areas(len(changed))} changed; {undo} undoes it"))


def _print(again: Again, answer: PageMatch) -> None:
    from tuimatch.planning.page import laid_in_words

    page = again.page
    kept = len(answer.relations) - len(answer.why_not)
    print(printable(f"{_areas(sum(map(len, again.areas)))}, now on {page.recipes.palette.name}"))
    print(
        f"{kept} of {len(answer.relations)} pairs of neighbours still differ; {answer.certainty()}"
    )
    for place, why in answer.why_not.items():
        relation = answer.relations[place]
        names = (page.colours[i].name for i in (relation.first, relation.second))
        print(printable(f"not kept: {' and '.join(names)}: {why}"))
    if again.laid:
        print(printable(laid_in_words(again.laid)))
    rows, seams = [], []
    for colour, own, row, delta_e in zip(
        page.colours, again.areas, answer.rows, answer.delta_e, strict=True
    ):
        old, palette = own[-1], page.recipes.palette
        where = ", ".join(dict.fromkeys(choice.page for choice in own if choice.page))
        new = palette.recipe_words(page.recipes.tints_of(row))
        before, after = f"{old.delta_e:.2f}", f"{delta_e:.2f}"
        rows.append([where, colour.name, before, old.recipe_words(palette), after, new])
        r, g, b = bytes.fromhex(old.srgb[1:])
        seams.append(((r, g, b), page.recipes.rgb_of(row)))
    print_table(rows, "<<><><", heads=["page", "area", "ΔE", "old", "ΔE", "new"], seams=seams)


def _as_json(again: Again, answer: PageMatch, project: str, taken: int) -> dict[str, Any]:
    page, palette = again.page, again.page.recipes.palette
    areas = []
    for own, row, delta_e in zip(again.areas, answer.rows, answer.delta_e, strict=True):
        tints = page.recipes.tints_of(row)
        new = {
            "recipe": palette.recipe_text(tints),
            "tints": {ink.name: tint for ink, tint in zip(palette.inks, tints, strict=True)},
            "lab": page.recipes.lab[row].tolist(),
            "srgb": hexed(page.recipes.rgb_of(row)),
            "delta_e": delta_e,
        }
        areas += [{"old": choice.as_json(), "new": new} for choice in own]
    return {
        "project": project,
        "palette": palette.stem,
        "intent": page.intent.value,
        "areas": areas,
        "not_kept": [
            {
                "of": page.colours[answer.relations[place].first].name,
                "and": page.colours[answer.relations[place].second].name,
                "why_not": why,
            }
            for place, why in answer.why_not.items()
        ],
        "laid": [choice.id for choice in again.laid],
        "cost": answer.cost,
        "bound": answer.bound,
        "proved": answer.proved,
        "taken": taken,
    }


def _areas(number: int) -> str:
    return "1 area" if number == 1 else f"{number} areas"
