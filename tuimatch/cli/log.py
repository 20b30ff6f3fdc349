"""`tuimatch log`: the choices made; finding, removing, undoing, checking, moving them."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import (
    actions,
    add_out,
    choice_id,
    command_for,
    existing_log,
    log_for_reading,
    log_for_writing,
    out_path,
    project_meant,
    say_which,
)
from tuimatch.cli.tables import print_table
from tuimatch.files.json_out import to_json
from tuimatch.log.location import log_path
from tuimatch.text import local_time, printable

if TYPE_CHECKING:
    from tuimatch.log import Choice, Log

DESCRIPTION = "Print the recipes chosen, oldest first."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "--find",
        metavar="TEXT",
        default="",
        help="only those that hold every word of TEXT, or what is between quotes; "
        "'page 4' and 'no page' too",
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON object a line")
    form.add_argument("--csv", action="store_true", help="a table for a spreadsheet")
    action = actions(parser)
    remove = action("remove", run_remove, "remove recipes; undo brings them back")
    remove.add_argument(
        "numbers", nargs="+", type=choice_id, metavar="ID", help="as `log` lists it"
    )
    action("undo", run_undo, "undo the last change, of --project or of all")
    action("redo", run_redo, "redo the change that was undone last")
    check = action("check", run_check, "find labels, colours and palettes that conflict")
    check.add_argument(
        "--json", action="store_true", default=argparse.SUPPRESS, help="one JSON object a line"
    )
    export = action("export", run_export, "write a whole project to a file")
    add_out(export, "FILE.json")
    bring = action("import", run_import, "import a project; importing twice changes nothing")
    bring.add_argument("file", metavar="FILE.json", help="what `log export` wrote")


def run(arguments: argparse.Namespace) -> None:
    """Print the choices, oldest first."""
    choices: list[Choice] = []
    recipes: list[str] = []
    with log_for_reading(arguments) as log:
        if log is not None:
            if arguments.project is not None:
                log.projects.existing(arguments.project)
            choices = log.find(arguments.find, arguments.project, order="oldest", limit=-1)
            if not (arguments.json or arguments.csv):
                recipes = _in_words(log, choices)
    if arguments.json:
        for choice in choices:
            print(to_json(choice.as_json()))
    elif arguments.csv:
        from tuimatch.guide.tables import choices_csv

        sys.stdout.write(choices_csv(choices))
    elif choices:
        _print_table(choices, recipes, with_project=arguments.project is None)
    else:
        whose = f"project {arguments.project!r}" if arguments.project else "the log"
        holding = f" with {arguments.find!r}" if arguments.find else ""
        missing = "" if log else f": {log_path(arguments.log)} is not there"
        print(printable(f"No recipes{holding} in {whose} yet{missing}."))


def run_remove(arguments: argparse.Namespace) -> None:
    """Remove choices."""
    with existing_log(arguments) as log:
        undo = command_for(arguments, "log", "undo")
        for choice in log.remove(*arguments.numbers):
            print(printable(f"removed {choice.id}: {choice.name}; {undo} undoes it"))


def run_undo(arguments: argparse.Namespace) -> None:
    """Undo the last change."""
    with existing_log(arguments) as log:
        print(printable(log.undo(arguments.project) or "nothing to undo"))


def run_redo(arguments: argparse.Namespace) -> None:
    """Redo the change that was undone last."""
    with existing_log(arguments) as log:
        print(printable(log.redo(arguments.project) or "nothing to redo"))


def run_check(arguments: argparse.Namespace) -> None:
    """Print the conflicts, and how to fix them."""
    with existing_log(arguments) as log:
        from tuimatch.palette import file as palette_file
        from tuimatch.planning import consistency

        project = project_meant(arguments, log)
        choices = log.choices(project)
    palette_now = consistency.palette_finder(palette_file.load(arguments.palette))
    findings = consistency.check(choices, palette_now)
    if not arguments.json:
        say_which(arguments, project)
    for finding in findings:
        if arguments.json:
            print(to_json(finding.as_json()))
        else:
            print(printable(finding.problem))
            print(printable(f"    {finding.fix}"))
    if not findings and not arguments.json:
        print(printable(f"{len(choices)} recipes in project {project!r}: no conflicts"))


def run_export(arguments: argparse.Namespace) -> None:
    """Write a whole project to a file."""
    out = out_path(arguments, ".json", "an export is JSON")
    with existing_log(arguments) as log:
        from tuimatch.files import out_file
        from tuimatch.log import project_file, transfer

        bundle = transfer.gather(log, project_meant(arguments, log))
        out_file.write(out, project_file.to_json(bundle), replace=arguments.replace)
    print(printable(f"{out}: {_count(len(bundle.entries))} of project {bundle.project!r}"))


def run_import(arguments: argparse.Namespace) -> None:
    """Bring a project in from a file."""
    from tuimatch.log import project_file, transfer

    bundle = project_file.read(Path(arguments.file))
    with log_for_writing(arguments) as log:
        merged = transfer.merge(log, bundle, arguments.project, progress=_say_progress)
    archived = "; archived, `tuimatch projects restore` lists it" if merged.archived else ""
    print(
        printable(
            f"project {merged.project!r}: {_count(merged.added)} new, {merged.changed} changed, "
            f"{merged.same} as they were{archived}"
        )
    )


def _say_progress(done: int, total: int) -> None:
    """Tell a person who waits; a program is told the outcome only."""
    if sys.stderr.isatty():
        end = "\n" if done + 500 > total else ""
        print(f"\r{done:,} of {total:,} recipes", end=end, file=sys.stderr, flush=True)


def _in_words(log: Log, choices: list[Choice]) -> list[str]:
    """The recipes, each in the words of the palette it was made from."""
    palettes = {choice.palette_digest: choice for choice in choices}
    read = {digest: log.palette(choice) for digest, choice in palettes.items()}
    return [choice.recipe_words(read[choice.palette_digest]) for choice in choices]


def _print_table(choices: list[Choice], recipes: list[str], *, with_project: bool) -> None:
    rows = [
        [
            str(choice.id),
            local_time(choice.chosen_at),
            *([choice.project] if with_project else []),
            choice.page or "–",
            choice.label or "–",
            f"{choice.delta_e:.2f}",
            choice.srgb,
            recipe,
        ]
        for choice, recipe in zip(choices, recipes, strict=True)
    ]
    print_table(rows, "<" * len(rows[0]))


def _count(number: int) -> str:
    return "1 recipe" if number == 1 else f"{number} recipes"
