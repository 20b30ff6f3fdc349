"""The choices of the log as a list: the numbers of all, and the rest only of those in view."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style

from tuimatch.log import Choice
from tuimatch.text import local_time, printable, rgb_of_hex
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.paint import RGB, block, half_block

_MARKED, _QUIET = Style(bold=True, color="#ffffff"), Style(dim=True)
_TICKED = Style(bold=True, reverse=True)
_DELTA_E = 7
_MOST_KEPT = 2_000
_ROOMY = 95  # cells in which what was wanted and the note stand beside the label

Fetch = Callable[[list[int]], list[Choice]]


class _Columns(NamedTuple):
    """Cells for each colour of a seam, for the label, the page and the time.

    Where there is room, for what was wanted and for the note as well; 0 where there is none.
    """

    seam: int
    label: int
    page: int
    when: int
    wanted: int = 0
    note: int = 0

    @property
    def text(self) -> int:
        """Cells for all that is in words."""
        beside = self.wanted + self.note + 4 if self.wanted else 0
        return self.label + 1 + self.page + _DELTA_E + beside + 2 + self.when


def _columns(width: int) -> _Columns:
    if width >= _ROOMY:
        seam, page, when, wanted = 8, 8, 10, 14
        rest = width - 2 - 2 * seam - 1 - (1 + page + _DELTA_E + 2 + wanted + 2 + 2 + when)
        return _Columns(seam, rest * 3 // 5, page, when, wanted, rest - rest * 3 // 5)
    seam, page, when = (8, 8, 10) if width >= 80 else (5, 6, 10) if width >= 50 else (3, 4, 0)
    room = min(width - 2 - 2 * seam - 1, 100)
    return _Columns(seam, max(1, room - 1 - page - _DELTA_E - 2 - when), page, when)


def heading(width: int) -> str:
    """What stands in which column of a list of this width, from its second cell on."""
    seam, label, page, when, wanted, note = _columns(width)
    colours = f"{'target':{seam}}{'recipe':{seam}}" if seam > 6 else f"{'seam':{2 * seam}}"
    beside = f"  {'wanted':{wanted}}  {'note':{note}}" if wanted else ""
    return (
        f" {colours} {'label':{label}} {'page':{page}}{'ΔE':>{_DELTA_E}}{beside}  {'when':.{when}}"
    )


def order_at(width: int, x: int, now: str) -> str | None:
    """The order that a click on the heading asks for; the time turns round.

    Args:
        width: Of the list.
        x: The cell of the heading's line that was clicked.
        now: The order that it has.
    """
    columns = _columns(width)
    begin = 2 + 2 * columns.seam
    ends = (
        (begin + columns.label, "label"),
        (begin + columns.label + 1 + columns.page, "page"),
        (begin + columns.label + 1 + columns.page + _DELTA_E, "delta_e"),
    )
    if x < begin:
        return None
    named = next((order for end, order in ends if x < end), None)
    if named is None and x >= width - 2 - columns.when and columns.when:
        return "oldest" if now == "newest" else "newest"
    return named


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

    def __init__(self, fetch: Fetch, words: Callable[[Choice], str]) -> None:
        """Show nothing yet.

        Args:
            fetch: Gives the choices of some numbers, without those that are gone.
            words: Gives a choice's recipe in the artist's words.
        """
        super().__init__()
        self._words = words
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
        return True  # a widget without rows is still a widget

    @property
    def number(self) -> int | None:
        """The number of the choice under the cursor."""
        return self._numbers[self.cursor] if self._numbers else None

    @property
    def choice(self) -> Choice | None:
        """The choice under the cursor; None when it is gone."""
        return None if self.number is None else self._choices.get(self.number)

    @property
    def colours_here(self) -> tuple[RGB | None, RGB | None]:
        """The target of the choice under the cursor, once it is mixed, and its recipe."""
        if self.choice is None:
            return None, None
        return self._targets.get(self.choice.id), rgb_of_hex(self.choice.srgb)

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
        mark = "!" if part == 0 and number in self.marked else " "
        segments.append(Segment(mark, _MARKED if here else _QUIET))
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
        return segments + self._second_line(choice, columns, style if here else DIM)

    def _second_line(self, choice: Choice, columns: _Columns, style: Style) -> list[Segment]:
        recipe, room = printable(self._words(choice)), columns.text
        ways = [printable(choice.palette)]
        if self.with_project:
            project = printable(choice.project)
            ways = [f"{project} · {ways[0]}", project]
        # The recipe matters most here; beside it stands what fits whole into the rest.
        rest = max(0, room - cell_len(recipe) - 2)
        beside = next((way for way in ways if cell_len(way) <= rest), "")
        return [
            fitted(recipe, room - cell_len(beside), style),
            fitted(beside, cell_len(beside), DIM),
        ]


def _first_line(choice: Choice, columns: _Columns, style: Style, ticked: bool) -> list[Segment]:
    when = local_time(choice.chosen_at)[: columns.when]
    label = fitted(printable(choice.label) or "–", columns.label - 4 * ticked, style)
    return [
        *([Segment(" ✓ ", _TICKED), Segment(" ")] if ticked else []),
        label,
        Segment(" "),
        fitted(printable(choice.page), columns.page, style),
        Segment(f"{choice.delta_e:{_DELTA_E}.2f}", style),
        *_beside(choice, columns, style),
        Segment(f"  {when}", style),
    ]


def _beside(choice: Choice, columns: _Columns, style: Style) -> list[Segment]:
    """What was wanted, and the note, where there is room."""
    if not columns.wanted:
        return []
    return [
        Segment("  "),
        fitted(printable(choice.wanted), columns.wanted, style),
        Segment("  "),
        fitted(printable(choice.note), columns.note, style),
    ]
