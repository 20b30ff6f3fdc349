"""`tuimatch take`: recipes that `match` or `page` found, put into the log."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any, NamedTuple

from tuimatch.cli.arguments import command_for, log_for_writing
from tuimatch.colour.intent import Intent
from tuimatch.errors import UsageError
from tuimatch.palette import file as palette_file
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.planning.page import Taken

DESCRIPTION = (
    "Read the JSON of `tuimatch match` or `tuimatch page` from standard input and put its recipes "
    'into the log, in one step: the first of each match, all of a page. A "label" beside a '
    "match's target is kept with it."
)
_MAX_CHARACTERS = 20_000_000
_GIVE = "give what `tuimatch match --json` or `tuimatch page --json` prints"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--page", metavar="N", help="the page's number, unless the JSON says it")
    parser.add_argument("--label", metavar="TEXT", help="what to call the area of a single match")


def run(arguments: argparse.Namespace) -> None:
    """Check everything, then keep it all or nothing."""
    text = sys.stdin.read(_MAX_CHARACTERS + 1)
    from tuimatch.match.asked import asked, meant
    from tuimatch.planning import page as pages
    from tuimatch.recipe import recipes

    taken = read(text)
    if arguments.label is not None:
        if len(taken) > 1:
            raise UsageError(f"--label is for a single recipe; there are {len(taken)}")
        taken[0] = taken[0]._replace(label=arguments.label)
    palette = palette_file.load(_palette(arguments, {one.palette for one in taken}))
    mixed = recipes.mix(palette)
    with log_for_writing(arguments) as log:
        project = arguments.project or log.projects.current()
        made = []
        for one in taken:
            target, _ = asked(mixed, one.colour)
            intent = target.taken or one.intent
            colour = pages.Colour(target, meant(mixed, target, intent), 1.0, one.label)
            page = pages.Page(mixed, intent, (colour,), ())
            number = arguments.page if arguments.page is not None else one.page
            made += pages.choices(page, [page.row_of(one.recipe)], project, number)
        what = f"took {_of(len(made))}"
        done = pages.take(log, palette, made, what)
    for line in said(arguments, project, len(made), done).split("\n"):
        print(printable(line))


def said(arguments: argparse.Namespace, project: str, count: int, done: Taken) -> str:
    """What taking so many recipes has done, and how to undo it."""
    stays = f"\n{done.remark}" if done.laid else ""
    if not done.new:
        had = f"project {project!r} already has these: {_of(count - len(done.laid))}"
        return f"{had}{stays}" if count > len(done.laid) else done.remark
    undo = command_for(arguments, "log", "undo", "--project", project)
    taken = _of(count - len(done.laid))
    return f"taken into project {project!r}: {taken}{done.instead}; {undo} undoes it{stays}"


class _Taken(NamedTuple):
    """A recipe as the JSON has it."""

    colour: str
    label: str
    page: str
    palette: str
    intent: Intent
    recipe: str


def read(text: str) -> list[_Taken]:
    """The recipes of the JSON that `match` or `page` printed.

    Raises:
        UsageError: It is not such JSON.
    """
    return [one for number, found in enumerate(_given(text), 1) for one in _taken(found, number)]


def _given(text: str) -> list[Any]:
    """The objects of a text, one after another."""
    if len(text) > _MAX_CHARACTERS:
        raise UsageError(f"standard input holds over {_MAX_CHARACTERS // 1_000_000} MB of JSON")
    found: list[Any] = []
    place, read = 0, json.JSONDecoder().raw_decode
    text = text.strip()
    while place < len(text):
        try:
            value, place = read(text, place)
        except (ValueError, RecursionError) as error:
            raise UsageError(
                f"standard input is not JSON, object {len(found) + 1}: {_GIVE}"
            ) from error
        found.append(value)
        while text[place : place + 1].isspace():
            place += 1
    if not found:
        raise UsageError(f"standard input is empty; {_GIVE}")
    return found


def _taken(found: Any, number: int) -> list[_Taken]:
    """What an object says was chosen.

    Raises:
        UsageError: It is not as `match` and `page` print it.
    """
    try:
        intent = Intent(found["intent"])
        if "flats" in found:
            parts = [(one["colour"], one["label"], one["recipe"]) for one in found["flats"]]
        else:
            first = found["candidates"][0]
            parts = [(found["target"]["text"], found.get("label", ""), first["recipe"])]
        page, palette = found.get("page", ""), found["palette"]
        taken = [_Taken(c, label, page, palette, intent, recipe) for c, label, recipe in parts]
    except (KeyError, IndexError, TypeError, ValueError, AttributeError) as error:
        raise UsageError(f"JSON object {number}: is not what they print; {_GIVE}") from error
    if not all(isinstance(text, str) for one in taken for text in (*one[:4], one.recipe)):
        raise UsageError(f"JSON object {number}: a text in it is not text; {_GIVE}")
    return taken


def _palette(arguments: argparse.Namespace, stems: set[str]) -> str:
    """The palette meant: the file given, or the shipped one that the JSON names."""
    if len(stems) != 1:
        raise UsageError(f"recipes of {len(stems)} palettes; take those of one at a time")
    (stem,) = stems
    given: str = arguments.palette if arguments.palette_given else stem
    if not arguments.palette_given and stem not in palette_file.shipped_names():
        raise UsageError(f"palette {stem!r} is not a shipped one; give its file with --palette")
    return given


def _of(number: int) -> str:
    return "1 recipe" if number == 1 else f"{number} recipes"
