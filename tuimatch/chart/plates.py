"""A sheet of a chart as a page to be laid, so that plates can be made of it."""

from __future__ import annotations

import numpy as np

from tuimatch.chart.forms import Drawing, write_on
from tuimatch.chart.layout import Sheet
from tuimatch.errors import UsageError
from tuimatch.plates.painting import Painting
from tuimatch.recipe.recipes import Recipes

_PAPER, _MOST = 255, 254  # what a map may hold


def painted(sheet: Sheet, recipes: Recipes, drawing: Drawing) -> Painting:
    """The fields as the recipes they are; lines and words in the solid of the darkest ink.

    Raises:
        UsageError: There are too many different fields.
    """
    from PIL import Image

    rows = list(dict.fromkeys(field.row for field in sheet.fields))
    if len(rows) > _MOST:
        raise UsageError(f"plates hold {_MOST} different patches at most, not {len(rows)}")
    size = drawing.pixels(sheet.width), drawing.pixels(sheet.height)
    map_ = np.full(size[::-1], _PAPER, dtype=np.uint8)
    for field in sheet.fields:
        x, y = drawing.pixels(field.x), drawing.pixels(field.y)
        wide, high = drawing.pixels(field.width), drawing.pixels(field.height)
        map_[y : y + high, x : x + wide] = rows.index(field.row)
    words = Image.new("L", size, 255)
    write_on(words, sheet, drawing)
    map_[np.asarray(words) < 128] = len(rows)
    return Painting(recipes, map_, (*rows, _darkest(recipes)))


def _darkest(recipes: Recipes) -> int:
    """The solid of one ink that is darkest."""
    solid = (recipes.inks == 1) & (recipes.coverage == 100)
    rows = np.flatnonzero(solid)
    return int(rows[recipes.lab[rows, 0].argmin()])
