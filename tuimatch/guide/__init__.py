"""The colour guide: a project as a sheet that a collaborator or a printer can work from.

sheet       what the guide says, gathered from the log
page        as one self-contained HTML file that prints well
markdown    as Markdown
tables      as CSV and JSON
swatches    as a palette of painting programs and as CGATS text
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tuimatch.errors import UsageError
from tuimatch.files import out_file
from tuimatch.guide import markdown, page, swatches, tables
from tuimatch.guide.sheet import Sheet, gather

__all__ = ["FORMS", "Sheet", "form_of", "gather", "write"]

# The text of the guide by the extension of its file.
FORMS: dict[str, Callable[[Sheet], str]] = {
    ".html": page.to_html,
    ".md": markdown.to_markdown,
    ".csv": tables.to_csv,
    ".json": tables.to_json,
    ".gpl": swatches.to_gpl,
    ".cgats": swatches.to_cgats,
}


def form_of(path: Path) -> Callable[[Sheet], str]:
    """What writes the guide for a file of that name.

    Raises:
        UsageError: The guide has no form with that extension.
    """
    form = FORMS.get(path.suffix.casefold())
    if form is None:
        raise UsageError(f"{path}: no guide has this extension; give one of {', '.join(FORMS)}")
    return form


def write(path: Path, sheet: Sheet, *, replace: bool = False) -> None:
    """Write the guide; the extension says in which form.

    Raises:
        UsageError: The guide has no form with that extension.
        OutputError: The file cannot be written.
    """
    out_file.write(path, form_of(path)(sheet), replace=replace)
