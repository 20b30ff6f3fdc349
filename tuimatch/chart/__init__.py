"""The chart on the wall: every recipe of a palette on sheets of paper.

layout      what stands where on each sheet, in millimetres
forms       the sheets as HTML, PNG or PDF
"""

from __future__ import annotations

from pathlib import Path

from tuimatch.chart.layout import PAPERS, Order, Sheet, sheets

__all__ = ["FORMS", "PAPERS", "Order", "Sheet", "is_form", "sheets"]

# The extensions of the files that a chart can be written to.
FORMS = (".html", ".pdf", ".png")


def is_form(path: Path) -> bool:
    """Whether a chart can be written to a file of that name."""
    return path.suffix.casefold() in FORMS
