"""The choices of the log as a list: the numbers of all, and the rest only of those in view."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import NamedTuple

from rich.segment import Segment
from rich.style import Style

from tuimatch.log import Choice
from tuimatch.text import local_time, printable, rgb_of_hex
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.paint import RGB, block, half_block

_MARKED = Style(bold=True, color="#ffffff")
_TICKED = Style(bold=True, reverse=True)
_DELTA_E = 7
_MOST_KEPT = 2_000

Fetch = Callable[[list[int]], list[Choice]]


class _Columns(NamedTuple):
    """Cells for each colour of a seam, for the label, the page and the time."""

    seam: int
    label: int
    page: int
    when: int

    @property
    def words(self) -> int:
        """Cells for all that is beside the seam."""
        return self.label + 1 + self.page + _DELTA_E + 2 + self.when


def _columns(width: int) -> _Columns:
    seam, page, when = (8, 12, 16) if width >= 90 else (5, 6, 10) if width >= 50 else (3, 4, 0)
    room = min(width - 2 - 2 * seam - 1, 100)
    return _Columns(seam, max(1, room - 1 - page - _DELTA_E - 2 - when), page, when)


def heading(width: int) -> str:
    """What stands in which column of a list of this width, from its second cell on."""
    seam, label, page, when = _columns(width)
    colours = f"{'target':{seam}}{'recipe':{seam}}" if seam > 6 else f"{'seam':{2 * seam}}"
    return f" {colours} {'label':{label}} {'page':{page}}{'ΔE':>{_DELTA_E}}  {'when':.{when}}"


class ReviewList(BlockList):
    """Two lines for each choice: seam, label, page, ΔE and when; then its recipe and palette.

    Attributes:
        marked: The numbers of the choices that disagree with others.
        ticked: The numbers of those to be planned together, whether they are in the list or not.
        with_project: Whether each says whose it is.
        with_targets: Whether the seams can be drawn, which needs colour-science.
    """

    DEFAULT_CSS = "ReviewList { padding-right: 1; }"
    HIGH = 2

    def __init__(self, fetch: Fetch) -> None:
        """Show nothing yet.

        Args:
            fetch: Gives the choices of some numbers, without those that are gone.
        """
        super().__init__()
        self.marked: Collection[int] = ()
        self.ticked: set[int] = set()
        self.with_project = self.with_targets = False
        self._fetch = fetch
        self._numbers: list[int] = []
        self._choices: dict[int, Choice] = {}
        self._targets: dict[int, RGB] = {}

    def __len__(self) -> int:
        return len(self._numbers)

    def __bool__(self) -> bool:
        return True  # a widget without rows is one all the same

    @property
    def number(self) -> int | None:
        """The number of the choice under the cursor."""
        return self._numbers[self.cursor] if self._numbers else None

    @property
    def choice(self) -> Choice | None:
        """The choice under the cursor; None when it is gone."""
        return None if self.number is None else self._choices.get(self.number)

    def show(self, numbers: list[int], place: int) -> None:
        """Show choices as they are now.

        Args:
            numbers: Theirs, in order.
            place: Where the cursor is.
        """
        first = max(0, self._first + place - self.cursor)  # the cursor stays at its height
        self._numbers = numbers
        self._choices.clear()
        self.show_blocks(len(numbers), place, first)

    def fetch_again(self) -> None:
        """Show the same choices as they are now."""
        self.show(self._numbers, self.cursor)

    def prepare(self, places: range) -> None:
        """Fetch what is in view and not there yet."""
        if len(self._choices) > _MOST_KEPT:
            self._choices.clear()
            self._targets.clear()
        numbers = [self._numbers[place] for place in places]
        if missing := [number for number in numbers if number not in self._choices]:
            self._choices |= {choice.id: choice for choice in self._fetch(missing)}
        if self.with_targets:
            self._mix_targets([n for n in numbers if n in self._choices and n not in self._targets])

    def _mix_targets(self, numbers: list[int]) -> None:
        from tuimatch.colour.colorimetry import displayed, lab_to_xyz

        if numbers:
            labs = [self._choices[number].meant_lab for number in numbers]
            shown = displayed(lab_to_xyz(labs)).srgb.tolist()
            self._targets |= {n: (r, g, b) for n, (r, g, b) in zip(numbers, shown, strict=True)}

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """One of the two lines of a choice."""
        number, here = self._numbers[place], place == self.cursor
        choice = self._choices.get(number)
        style = HERE if here else PLAIN
        segments = [Segment("▸" if here and part == 0 else " ", style)]
        segments.append(Segment("!" if part == 0 and number in self.marked else " ", _MARKED))
        if choice is None:
            return [*segments, fitted("no longer there" if part == 0 else "", width, DIM)]
        columns = _columns(width)
        draw = block if part == 0 else half_block
        target = self._targets.get(number)
        segments += [
            Segment(" " * columns.seam) if target is None else draw(target, columns.seam),
            draw(rgb_of_hex(choice.srgb), columns.seam),
            Segment(" "),
        ]
        if part == 0:
            return segments + _first_line(choice, columns, style, number in self.ticked)
        return segments + self._second_line(choice, columns.words, style if here else DIM)

    def _second_line(self, choice: Choice, room: int, style: Style) -> list[Segment]:
        palette = choice.palette
        if self.with_project:
            palette = f"{choice.project} · {palette}"
        # The recipe is what is looked for here; the palette gets what is left.
        used = min(room, max(len(choice.recipe) + 2, room - len(palette)))
        return [
            fitted(printable(choice.recipe), used, style),
            fitted(printable(palette), room - used, DIM),
        ]


def _first_line(choice: Choice, columns: _Columns, style: Style, ticked: bool) -> list[Segment]:
    when = local_time(choice.chosen_at)[: columns.when]
    label = fitted(printable(choice.label) or "–", columns.label - 4 * ticked, style)
    return [
        *([Segment(" ✓ ", _TICKED), Segment(" ")] if ticked else []),
        label,
        Segment(" "),
        fitted(printable(choice.page), columns.page, style),
        Segment(f"{choice.delta_e:{_DELTA_E}.2f}  {when}", style),
    ]
