"""CSV that a spreadsheet opens as data: no cell of it can become a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

# A spreadsheet takes a cell that begins so for a formula, and an apostrophe for "this is text":
# OWASP, CSV Injection. The full-width forms are taken for the plain ones.
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def to_csv(heads: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV (RFC 4180), lines ended by CR LF; numbers stay numbers, None is empty."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([_cell(head) for head in heads])
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str) and value.lstrip(" ").startswith(_STARTS):
        return "'" + value
    return value
