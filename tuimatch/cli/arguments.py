"""What commands are given: options that several take, and the project, log and file they mean."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

from tuimatch.colour.intent import Intent
from tuimatch.errors import LogError, OutputError, UsageError
from tuimatch.files import out_file
from tuimatch.palette.file import DEFAULT
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.log import Log
    from tuimatch.match.limits import Narrowing
    from tuimatch.palette.model import Palette

Run = Callable[[argparse.Namespace], None]
Value = TypeVar("Value")

# The options of every command, and what they are where they are not given.
_SHARED = {"palette": DEFAULT, "project": None, "log": None}


class Parser(argparse.ArgumentParser):
    """A parser with the options of every command, whose refusals are one line."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_abbrev": False, **options})
        group = self.add_argument_group("options for every command")
        group.add_argument(
            "--palette",
            default=argparse.SUPPRESS,
            metavar="P",
            help=f"a shipped palette's name or a .toml file ({DEFAULT})",
        )
        group.add_argument(
            "--project",
            default=argparse.SUPPRESS,
            metavar="NAME",
            help="the project to work on (the one in use)",
        )
        group.add_argument(
            "--log",
            default=argparse.SUPPRESS,
            metavar="FILE",
            help="use this log instead of the one in the data folder",
        )

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}; see `{self.prog} --help`")


def first_word(argv: list[str]) -> int | None:
    """The place of the first argument that is neither an option nor an option's value."""
    place = 0
    while place < len(argv):
        argument = argv[place]
        if argument == "--":
            return place + 1 if place + 1 < len(argv) else None
        if argument == "-" or not argument.startswith("-"):
            return place
        place += 2 if argument.startswith("--") and argument[2:] in _SHARED else 1
    return None


def read(parser: Parser, argv: list[str]) -> argparse.Namespace:
    """What was given; ``palette_given`` tells whether a palette was among it.

    Raises:
        UsageError: It makes no sense.
    """
    options = argv[: argv.index("--")] if "--" in argv else argv
    for argument in options:
        if argument.startswith("--") and argument.endswith("=--"):
            parser.error(f"{argument}: -- is not a value; for a file of that name give ./--")
    arguments = parser.parse_args(argv)
    arguments.palette_given = hasattr(arguments, "palette")
    for name, default in _SHARED.items():
        if not hasattr(arguments, name):
            setattr(arguments, name, default)
    return arguments


def actions(parser: argparse.ArgumentParser) -> Callable[[str, Run, str], Parser]:
    """Let a command have actions, such as ``remove`` of ``log``.

    Returns:
        A function that adds one: its name, what runs it, its line of help.
    """
    added: Any = parser.add_subparsers(title="actions", metavar="ACTION")

    def action(name: str, run: Run, help: str) -> Parser:
        made: Parser = added.add_parser(name, help=help)
        made.set_defaults(run=run)
        return made

    return action


# Numbers.


def typed(read: Callable[[str], Value]) -> Callable[[str], Value]:
    """What reads a typed value, as an argument's type."""

    def value(text: str) -> Value:
        try:
            return read(text)
        except UsageError as error:
            raise argparse.ArgumentTypeError(str(error)) from error

    return value


def count(text: str) -> int:
    """A whole number from 1.

    Raises:
        argparse.ArgumentTypeError: The text is not one.
    """
    try:
        number = int(text)
    except ValueError:
        number = 0
    if number < 1:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a valid number; give a whole number from 1"
        )
    return number


def choice_id(text: str) -> int:
    """The number of a choice.

    Raises:
        argparse.ArgumentTypeError: The text is not one.
    """
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a number of the log; `tuimatch log` lists them"
        )
    return int(text)


def _choice_ids(text: str) -> list[int]:
    return [choice_id(part.strip()) for part in text.split(",")]


# How a colour is taken, and which recipes may be offered.


def add_limits(parser: argparse.ArgumentParser) -> None:
    """Let a command take the intent and the limits of a match."""
    parser.add_argument(
        "--intent",
        choices=[intent.value for intent in Intent],
        help="how a colour is taken: as given, with white fitted to this paper, or with white and "
        "black fitted to it; unless you say, measured palettes use the last, screen palettes "
        "the first",
    )
    limits = parser.add_argument_group("limits")
    limits.add_argument("--max-inks", metavar="N", help="use at most N inks")
    limits.add_argument(
        "--without", action="append", default=[], metavar="INK", help="leave an ink out"
    )
    limits.add_argument(
        "--with",
        action="append",
        default=[],
        dest="fixed",
        metavar="INK=TINT",
        help="an ink that is laid already, and its tint in percent or by label",
    )
    limits.add_argument(
        "--max-coverage",
        metavar="PCT",
        help="most coverage, the tints of all inks added up; none removes the palette's own limit",
    )


def limits(arguments: argparse.Namespace, palette: Palette) -> tuple[Narrowing, Intent | None]:
    """The limits that were given to a command with `add_limits`, and the intent if one was.

    Raises:
        NarrowingError: A limit names something that the palette does not have.
    """
    from tuimatch.match import typed_limits

    narrowing = typed_limits.read(
        palette,
        without=arguments.without,
        fixed=arguments.fixed,
        max_inks=arguments.max_inks,
        max_coverage=arguments.max_coverage,
    )
    return narrowing, Intent(arguments.intent) if arguments.intent else None


# The project, a page of it, or some of its choices.


def add_scope(parser: argparse.ArgumentParser) -> None:
    """Let a command work on a project, on one page of it, or on some of its areas."""
    scope = parser.add_mutually_exclusive_group()
    scope.add_argument("--page", metavar="N", help="only the areas of this page")
    scope.add_argument(
        "--only",
        action="extend",
        type=_choice_ids,
        metavar="ID[,ID…]",
        help="only these areas, by the numbers that `tuimatch log` prints; can be repeated",
    )


def project_meant(arguments: argparse.Namespace, log: Log) -> str:
    """The project's name as the log spells it: that of --project, or the one in use.

    Raises:
        LogError: There is no project of that name.
        UsageError: None is given and none is in use.
    """
    if arguments.project is not None:
        return log.projects.existing(arguments.project)[1]
    projects = log.projects.all()
    current = next((project.name for project in projects if project.current), None)
    if current is None:
        names = ", ".join(project.name for project in projects)
        known = f"there are {names}" if names else "there is none yet"
        raise UsageError(f"no project is in use; give --project NAME; {known}")
    return current


def say_which(arguments: argparse.Namespace, project: str) -> None:
    """Begin the output with the project's name where it was not given."""
    if arguments.project is None:
        print(printable(f"project {project!r}, the one in use"))


# The log.


@contextmanager
def log_for_reading(arguments: argparse.Namespace) -> Iterator[Log | None]:
    """The log, or None where there is none yet; asking does not make one."""
    from tuimatch.log import log_path

    if log_path(arguments.log).exists():
        with log_for_writing(arguments) as log:
            yield log
    else:
        yield None


@contextmanager
def existing_log(arguments: argparse.Namespace) -> Iterator[Log]:
    """The log.

    Raises:
        LogError: There is none yet.
    """
    with log_for_reading(arguments) as log:
        if log is None:
            from tuimatch.log import log_path

            path = log_path(arguments.log)
            raise LogError(f"{path}: there is no log yet; take a recipe, or give one with --log")
        yield log


@contextmanager
def log_for_writing(arguments: argparse.Namespace) -> Iterator[Log]:
    """The log, made where there is none yet."""
    from tuimatch.log import Log, log_path

    with Log(log_path(arguments.log)) as log:
        if log.notice:
            print(f"tuimatch: {log.notice}", file=sys.stderr)
        yield log


def command_for(arguments: argparse.Namespace, *words: str) -> str:
    """A command to type next, on the log that this one worked on, between backquotes."""
    log = ["--log", arguments.log] if arguments.log is not None else []
    return f"`{shlex.join(['tuimatch', *words, *log])}`"


# The file that a command writes.


def add_out(parser: argparse.ArgumentParser, metavar: str, *, required: bool = True) -> None:
    """Add ``--out`` and ``--replace``."""
    parser.add_argument("--out", required=required, metavar=metavar, help="the file to write")
    parser.add_argument("--replace", action="store_true", help="overwrite the file if it exists")


def out_path(arguments: argparse.Namespace, extension: str = "", why: str = "") -> Path:
    """Where to write, checked before any work.

    Args:
        arguments: Those of a command with `add_out`.
        extension: What the name must end in, such as ``.toml``; any where it is empty.
        why: Why it must.

    Raises:
        UsageError: The name ends in something else.
        OutputError: There is such a file already, and it is not to be replaced.
    """
    out = Path(arguments.out)
    if extension and out.suffix.casefold() != extension:
        raise UsageError(f"--out {out}: {why}; give a name such as own{extension}")
    if not arguments.replace and out_file.is_taken(out):
        raise OutputError(f"{out}: already exists; give another name, or --replace to overwrite it")
    return out
