"""The areas of an economy in a list: each a seam of before and after, with what it costs."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from rich.segment import Segment

from tuimatch.text import printable
from tuimatch.tui.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.paint import RGB, block

if TYPE_CHECKING:
    from tuimatch.economy import Change, Economy
    from tuimatch.project_economy import Work

USUAL, MOST = 1.0, 20.0

_HALF_SEAM = 5
_LEAST_NAME = 10


@dataclass(frozen=True)
class Bearing:
    """How much extra ΔE areas bear: all of them, and single ones by key."""

    usual: float = USUAL
    single: dict[int, float] = field(default_factory=dict)

    def of(self, key: int) -> float:
        """What one area bears."""
        return self.single.get(key, self.usual)

    def with_usual(self, by: float) -> Bearing:
        """All bear more or less, but for those set apart."""
        return Bearing(_within(self.usual + by), self.single)

    def with_single(self, key: int, by: float) -> Bearing:
        """One area bears more or less."""
        return Bearing(self.usual, {**self.single, key: _within(self.of(key) + by)})


def _within(value: float) -> float:
    return min(max(value, 0.0), MOST)


@dataclass(frozen=True, eq=False)
class Planned:
    """A plan, what it was made for, and the colours before and after of each area."""

    work: Work
    economy: Economy
    bearing: Bearing
    seams: tuple[tuple[RGB, RGB], ...]

    def name(self, change: Change) -> str:
        """What to call an area, with its page where there may be several."""
        area = change.area
        return printable(area.name_with_page if self.work.page is None else area.name)

    def laid(self, change: Change) -> bool:
        """Whether an area keeps its recipe because it is begun on the page."""
        return change.area.key in self.work.laid


class AreaList(BlockList):
    """Each area as a seam of before and after, with both recipes and their ΔE."""

    HIGH = 3

    def __init__(self) -> None:
        super().__init__()
        self._planned: Planned | None = None

    def show(self, planned: Planned) -> None:
        """Show a plan, the cursor on the area it was on."""
        key = self.change.area.key if self.change else None
        self._planned = planned
        keys = [change.area.key for change in planned.economy.changes]
        self.show_blocks(len(keys), keys.index(key) if key in keys else 0)

    @property
    def change(self) -> Change | None:
        """The area under the cursor, before and after."""
        if self._planned is None or not self._planned.economy.changes:
            return None
        return self._planned.economy.changes[self.cursor]

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Name and ΔE, recipes, and a line between the areas."""
        if part == 2 or self._planned is None:
            return []
        change = self._planned.economy.changes[place]
        before, after = self._planned.seams[place]
        here = place == self.cursor
        style = HERE if here else PLAIN if change.changed else DIM
        segments = [
            Segment("▸ " if here and part == 0 else "  ", style),
            block(before, _HALF_SEAM),
            block(after, _HALF_SEAM),
            Segment("  "),
        ]
        room = width - 5 - 2 * _HALF_SEAM
        if part == 1:
            stays = "laid already" if self._planned.laid(change) else "stays"
            recipes = _recipes(change, stays)
            return [*segments, fitted(recipes, room, PLAIN if change.changed else DIM)]
        numbers = f"  {_numbers(change)}"
        bears = self._planned.bearing.single.get(change.area.key)
        if bears is not None:
            numbers += f" +{bears:.2f}"
        if room - len(numbers) < _LEAST_NAME:
            numbers = ""
        name = fitted(self._planned.name(change), room - len(numbers), style)
        return [*segments, name, Segment(numbers, style)]


def _numbers(change: Change) -> str:
    if change.changed:
        return f"ΔE {change.delta_e_before:.2f} → {change.delta_e_after:.2f}"
    return f"ΔE {change.delta_e_before:.2f}"


def _recipes(change: Change, stays: str) -> str:
    recipe = change.area.palette.recipe_text
    before = printable(recipe(change.area.tints))
    return (
        f"{before} → {printable(recipe(change.tints))}" if change.changed else f"{before}, {stays}"
    )
