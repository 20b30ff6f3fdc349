"""The file that the colour guide is written to, as it is asked for on a screen."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.files.in_file import typed_path

if TYPE_CHECKING:
    from tuimatch.log import Log

# What no system, or not every one, takes in a file's name.
_NOT_IN_NAMES = re.compile(r'[\\/:*?"<>|]+')


def question(project: str) -> str:
    """What is asked."""
    from tuimatch import guide

    others = " ".join(form for form in guide.FORMS if form != ".html")
    return f"the guide of {project}: a file to write, .html to print, or {others}"


def default_name(project: str) -> str:
    """The file that is proposed, in the current folder."""
    return _NOT_IN_NAMES.sub("-", project).strip("-. ") + ".html"


def path_of(answer: str) -> Path:
    """The file that is meant.

    Raises:
        UsageError: No guide has its extension.
    """
    from tuimatch import guide

    path = typed_path(answer)
    guide.form_of(path)
    return path


def write(log: Log, project: str, path: Path) -> str:
    """Write the guide; call it in a thread.

    Returns:
        A line that says where it is.

    Raises:
        TuimatchError: There is no such project, or something cannot be read or written.
    """
    from tuimatch import guide

    sheet = guide.gather(log, project)
    guide.write(path, sheet)
    count = len(sheet.entries)
    return f"{path.absolute()}: {count} {'colour' if count == 1 else 'colours'}"
