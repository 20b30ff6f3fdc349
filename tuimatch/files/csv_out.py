"""CSV opened as data: no cell becomes a formula, or steers the terminal it is shown on."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from tuimatch.text import printable

# A spreadsheet takes a cell that begins like this for a formula; an apostrophe says it is text:
# OWASP, CSV Injection. The full-width forms are taken for the plain ones; the control characters
# it names besides are escaped before.
_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def to_csv(heads: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV (RFC 4180), lines ended by CR LF; numbers stay numbers, None is empty."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([_cell(head) for head in heads])
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    if not isinstance(value, str):
        return value
    shown = printable(value)
    return "'" + shown if shown.lstrip(" ").startswith(_STARTS) else shown
