"""What stands where on the sheets of a chart, in millimetres from the top left corner.

Two orders: by ink, as a matrix - rows the first ink, columns the second, a block for each tint of
the third, and sheets for all others; and by hue and lightness, as the eye looks for a colour.
Nothing is drawn here: every form draws the same sheets.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum
from math import ceil
from unicodedata import east_asian_width

import numpy as np
import numpy.typing as npt

from tuimatch.colour.difference_words import NEUTRAL_CHROMA, hue_name
from tuimatch.palette.model import Ink, Palette
from tuimatch.recipe.recipes import Recipes
from tuimatch.text import percent, printable

Rows = npt.NDArray[np.intp]

# Width and height in millimetres: ISO 216, and ANSI/ASME Y14.1 size A.
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}

CAUTION = (
    "A chart from a desktop printer or a screen is not a contract proof; ink limits and paper are "
    "the printer's to settle."
)

MILLIMETRES_PER_POINT = 25.4 / 72
_MARGIN, _HEAD, _FOOT = 11.0, 13.0, 11.0
_LARGEST_CELL, _LEAST_CELL = 20.0, 4.6  # sides of a field of the matrix
_WIDTHS, _HIGH = (19.9, 25.7, 36.8), 10.0  # a colour of the order by hue, without its words
_SMALL_WIDE, _SMALL_HIGH = 11.0, 5.5  # the same where there are very many
MANY = 400
_SIZE, _LEAST_SIZE = 6.0, 3.6  # points


class Order(Enum):
    """In which order a chart shows the recipes."""

    INK = "ink"
    HUE = "hue"


@dataclass(frozen=True)
class Words:
    """A line of text that begins at x, or ends there; y is its foot.

    Attributes:
        size: In points.
        turned: Whether it runs upwards.
    """

    x: float
    y: float
    text: str
    size: float = _SIZE
    bold: bool = False
    turned: bool = False
    ends: bool = False


@dataclass(frozen=True)
class Field:
    """One recipe.

    Attributes:
        split: Whether the left part alone shows its dots, and the right the colour from afar.
        wide_dots: How wide the left part is; None for half of it.
    """

    x: float
    y: float
    width: float
    height: float
    row: int
    split: bool = True
    wide_dots: float | None = None

    @property
    def dots(self) -> float:
        """How wide the part with the dots is."""
        if not self.split:
            return self.width
        return self.width / 2 if self.wide_dots is None else self.wide_dots


@dataclass(frozen=True)
class Rule:
    """A straight line; ``thick`` is its thickness."""

    x: float
    y: float
    to_x: float
    to_y: float
    thick: float = 0.2


@dataclass
class Sheet:
    """One side of paper."""

    title: str
    width: float
    height: float
    words: list[Words] = field(default_factory=list)
    fields: list[Field] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)

    def write(self, words: Words, room: float) -> None:
        """Add a text, made smaller and at last cut where the room in millimetres is too small."""
        text, size = printable(words.text), words.size
        while width_of(text, size) > room and size > _LEAST_SIZE:
            size = max(size - 0.2, _LEAST_SIZE)
        while len(text) > 1 and width_of(text, size) > room:
            text = text[:-2] + "…"
        self.words.append(Words(words.x, words.y, text, size, words.bold, words.turned, words.ends))


def width_of(text: str, size: float) -> float:
    """About how wide a text is, in millimetres; a plain sans serif has half an em a letter."""
    ems = sum(1.0 if east_asian_width(c) in "WF" else 0.54 for c in text)
    return ems * size * MILLIMETRES_PER_POINT


def sheets(
    recipes: Recipes,
    *,
    orders: Sequence[Order] = tuple(Order),
    paper: str = "a4",
    max_inks: int | None = None,
    ruling: float = 65,
) -> list[Sheet]:
    """The sheets of a chart.

    Args:
        recipes: The recipes of a palette.
        orders: Which orders, one after the other.
        paper: One of `PAPERS`.
        max_inks: Leave out the recipes of more inks.
        ruling: Dots an inch, to be named at the foot.
    """
    shown = np.ones(len(recipes), dtype=np.bool_)
    if max_inks is not None:
        shown = recipes.inks <= max_inks
    laid: list[Sheet] = []
    for order in orders:
        if order is Order.INK:
            laid += _by_ink(recipes, shown, paper)
        else:
            # Very many are drawn once: both orders show the same dots.
            same = laid[0].fields[0] if laid and laid[0].fields else None
            laid += _by_hue(recipes, shown, paper, same)
    for number, sheet in enumerate(laid, 1):
        _head_and_foot(sheet, recipes.palette, f"{number} of {len(laid)}", ruling)
    return laid


def tint_words(ink: Ink, tint: float, *, named: bool = True) -> str:
    """A tint as the artist calls it, 0 included: ``yellow: coarse dots 50 %``."""
    if tint:
        return ink.tint_words(tint, named=named)
    return f"{ink.name}: none" if named else "none"


def _blank(title: str, paper: str) -> Sheet:
    width, height = PAPERS[paper]
    return Sheet(title, width, height)


def _head_and_foot(sheet: Sheet, palette: Palette, number: str, ruling: float) -> None:
    room = sheet.width - 2 * _MARGIN
    sheet.write(Words(_MARGIN, _MARGIN + 4, palette.name, 12, bold=True), room * 0.7)
    sheet.write(Words(sheet.width - _MARGIN, _MARGIN + 4, number, 8, ends=True), room * 0.2)
    sheet.write(Words(_MARGIN, _MARGIN + 9, sheet.title, 8), room)
    foot = sheet.height - _MARGIN
    # Whoever prints it can see with a ruler whether the printer kept the size.
    sheet.rules += [Rule(_MARGIN, foot - 4.5, _MARGIN + 50, foot - 4.5)]
    sheet.rules += [Rule(x, foot - 5.5, x, foot - 3.5) for x in (_MARGIN, _MARGIN + 50)]
    says = f"50 mm when printed at full size; the dots are then {percent(ruling)} to the inch"
    if palette.source:
        says += f". Measured: {palette.source}"
    sheet.write(Words(_MARGIN + 52, foot - 3.8, says, 6), room - 52)
    sheet.write(Words(_MARGIN, foot, CAUTION, 6), room)


# By ink.


def _by_ink(recipes: Recipes, shown: npt.NDArray[np.bool_], paper: str) -> list[Sheet]:
    """The matrix: a block for each tint of the third ink, sheets for the tints of the others."""
    ladder = [ink.steps for ink in recipes.palette.inks]
    shape = [len(steps) for steps in ladder]
    table = np.where(shown, np.arange(len(recipes)), -1).reshape(shape)
    while table.ndim < 3:
        table = table[..., None]
    found = []
    for others in np.ndindex(*table.shape[3:]):
        blocks = [
            (step, table[(slice(None), slice(None), step, *others)])
            for step in range(table.shape[2])
        ]
        blocks = [(step, block) for step, block in blocks if (block >= 0).any()]
        if blocks:
            title = _fixed(recipes.palette.inks[3:], others)
            found += _matrix_sheets(recipes.palette, blocks, title, paper)
    return found


def _fixed(inks: Sequence[Ink], steps: Sequence[int]) -> str:
    return ", ".join(tint_words(ink, ink.steps[s]) for ink, s in zip(inks, steps, strict=True))


def _matrix_sheets(
    palette: Palette, blocks: list[tuple[int, Rows]], title: str, paper: str
) -> list[Sheet]:
    width, height = PAPERS[paper]
    room_x, room_y = width - 2 * _MARGIN, height - 2 * _MARGIN - _HEAD - _FOOT
    rows, columns = (int(n) for n in blocks[0][1].shape)
    names = [tint_words(palette.inks[0], tint, named=False) for tint in palette.inks[0].steps]
    left = min(max(width_of(name, _SIZE) for name in names) + 2, 24.0)
    above = 5.0
    if len(palette.inks) > 1:
        across_names = [tint_words(palette.inks[1], t, named=False) for t in palette.inks[1].steps]
        above += min(max(width_of(name, _SIZE) for name in across_names) + 1, 24.0)

    def side(across: int, down: int) -> float:
        wide, high = (room_x / across - left - 4) / columns, (room_y / down - above - 4) / rows
        return min(wide, high, _LARGEST_CELL)

    # As few sheets as fields of the least size allow, then the largest fields on them.
    ways = [
        (ceil(len(blocks) / (across * down)), -side(across, down), across, down)
        for across in range(1, len(blocks) + 1)
        for down in range(1, len(blocks) + 1)
        if side(across, down) >= _LEAST_CELL or (across, down) == (1, 1)
    ]
    _, _, across, down = min(ways)
    cell = max(side(across, down), 1.0)
    wide, high = left + columns * cell + 4, above + rows * cell + 4
    found = []
    for start in range(0, len(blocks), across * down):
        said = _how_to_read(palette) + (f"; here {title}" if title else "")
        sheet = _blank(said, paper)
        for place, (step, block) in enumerate(blocks[start : start + across * down]):
            x = _MARGIN + place % across * wide
            y = _MARGIN + _HEAD + place // across * high
            _block(sheet, palette, block, (x, y), (left, above, cell), step)
        found.append(sheet)
    return found


def _how_to_read(palette: Palette) -> str:
    names = [ink.name for ink in palette.inks]
    said = f"By ink: {names[0]} downwards"
    if len(names) > 1:
        said += f", {names[1]} across"
    if len(names) > 2:
        said += f", a block for each tint of {names[2]}"
    return said


def _block(
    sheet: Sheet,
    palette: Palette,
    block: Rows,
    corner: tuple[float, float],
    sizes: tuple[float, float, float],
    step: int,
) -> None:
    (x, y), (left, above, cell) = corner, sizes
    inks = palette.inks
    if len(inks) > 2:
        words = tint_words(inks[2], inks[2].steps[step])
        sheet.write(Words(x, y + 3, words, 7, bold=True), left + cell * block.shape[1])
    for column in range(block.shape[1] if len(inks) > 1 else 0):
        words = tint_words(inks[1], inks[1].steps[column], named=False)
        foot = x + left + (column + 0.5) * cell + 0.7
        sheet.write(Words(foot, y + above - 0.8, words, _SIZE, turned=True), above - 4.8)
    for line in range(block.shape[0]):
        words = tint_words(inks[0], inks[0].steps[line], named=False)
        foot = y + above + (line + 0.5) * cell + 0.7
        sheet.write(Words(x + left - 0.8, foot, words, _SIZE, ends=True), left - 0.8)
    for (line, column), row in np.ndenumerate(block):
        if row >= 0:
            at = x + left + column * cell, y + above + line * cell
            sheet.fields.append(Field(*at, cell - 0.4, cell - 0.4, int(row)))


# By hue and lightness.


def _by_hue(
    recipes: Recipes, shown: npt.NDArray[np.bool_], paper: str, same: Field | None
) -> list[Sheet]:
    """Bands of hue, the greys first, then round the circle of hues, each from light to dark."""
    rows = np.flatnonzero(shown)
    width, height = PAPERS[paper]
    few = len(rows) <= MANY
    wide, high, dots = _SMALL_WIDE, _SMALL_HIGH, _SMALL_HIGH / 2
    if not few and same is not None and same.width < _SMALL_WIDE:
        high, dots = same.height, same.dots
    if few:
        lines = [line for row in rows.tolist() for line in _lines(recipes, row, few)]
        longest = max((width_of(line, _LEAST_SIZE + 0.6) for line in lines), default=0.0)
        wide, high = next((w for w in _WIDTHS if w >= longest), _WIDTHS[-1]), _HIGH
        dots = wide / 2
    most = int(recipes.inks[rows].max()) if few and len(rows) else 1
    below = max(most, 1) * 2.3 + 1.4 if few else 2.8
    across = int((width - 2 * _MARGIN + 1) // (wide + 1))
    said = "By hue and lightness: greys first, then round the hues, each from light to dark"
    if not few:
        said += f"; the figures are percent of {', '.join(i.name for i in recipes.palette.inks)}"

    found: list[Sheet] = []
    y = height  # the first line begins a sheet
    for name, band in _bands(recipes, rows):
        for start in range(0, len(band), across):
            heading = 4.0 if not start else 0.0
            if y + heading + high + below > height - _MARGIN - _FOOT:
                found.append(_blank(said, paper))
                y = _MARGIN + _HEAD
            if heading:
                found[-1].write(Words(_MARGIN, y + 2.8, name, 7, bold=True), width - 2 * _MARGIN)
            y += heading
            for place, row in enumerate(band[start : start + across].tolist()):
                x = _MARGIN + place * (wide + 1)
                found[-1].fields.append(Field(x, y, wide, high, row, wide_dots=dots))
                for number, line in enumerate(_lines(recipes, row, few)):
                    found[-1].write(Words(x, y + high + 2.2 + 2.3 * number, line, 5.6), wide)
            y += high + below
    return found


def _bands(recipes: Recipes, rows: Rows) -> Iterator[tuple[str, Rows]]:
    """The recipes of each band of hue, each from light to dark."""
    lightness, a, b = recipes.lab[rows].T
    angles = np.degrees(np.arctan2(b, a)) % 360
    grey = np.hypot(a, b) < NEUTRAL_CHROMA
    names = np.array([hue_name(angle) for angle in angles.tolist()], dtype=object)
    names[grey] = "grey"
    order = np.lexsort((rows, -lightness))
    for name in ("grey", *dict.fromkeys(map(hue_name, range(360)))):
        band = rows[order][names[order] == name]
        if len(band):
            yield name, band


def _lines(recipes: Recipes, row: int, few: bool) -> Iterator[str]:
    """The recipe below a colour: a line an ink, or the figures alone where there are very many."""
    tints = recipes.tints_of(row)
    if not few:
        yield " ".join(percent(round(tint, 1)) for tint in tints)
        return
    used = [(ink, t) for ink, t in zip(recipes.palette.inks, tints, strict=True) if t]
    yield from (tint_words(ink, t) for ink, t in used)
    if not used:
        yield "bare paper"
