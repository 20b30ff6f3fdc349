"""The log: which recipe was chosen for what, kept per project in one SQLite file.

One change is one transaction and is on disk when the call returns. The palette's full text is kept
with the choices made from it, once for each distinct text, so that a choice can be understood after
its palette has changed. Nothing is destroyed: what is removed or edited can be brought back, also
after a restart; an old log is copied before it is migrated, and a damaged one is set aside.

    choice      one choice, and the table of its columns
    kinds       what a column may hold
    area        which choices are for the same area
    schema      the tables, and the way from every older version
    soundness   what a row must hold beyond what SQLite checks
    damage      a damaged file set aside, and what can be read of it in its place
    salvage     rows from the pages themselves
    database    the open file: transactions, and errors with the way out
    history     what was done, and undoing it
    search      which entries hold the words typed
    projects    whose choices they are
    ticks       what has been laid already
    remembered  what is remembered over a restart
    rows        choices with their palettes and ticks, read and written
    bundle      a project on its way out of one log and into another
    transfer    how it leaves and comes in
    project_file    the file it moves in
    session     what this session wrote, kept until it is safely on disk
    log         all of it together
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tuimatch.log.choice import UNSORTED, Choice, again, checked_name, new_choice
    from tuimatch.log.location import default_path, log_path
    from tuimatch.log.log import Log
    from tuimatch.log.projects import Project
    from tuimatch.log.remembered import Thing
    from tuimatch.log.search import ORDERS
    from tuimatch.log.ticks import Tick

__all__ = [
    "ORDERS",
    "UNSORTED",
    "Choice",
    "Log",
    "Project",
    "Thing",
    "Tick",
    "again",
    "checked_name",
    "default_path",
    "log_path",
    "new_choice",
]

# A name brings its module when it is first used: the first frame needs none of them.
_MODULES = {
    "choice": ("UNSORTED", "Choice", "again", "checked_name", "new_choice"),
    "location": ("default_path", "log_path"),
    "log": ("Log",),
    "projects": ("Project",),
    "remembered": ("Thing",),
    "search": ("ORDERS",),
    "ticks": ("Tick",),
}
_MODULE_OF = {name: module for module, names in _MODULES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
