"""The areas of an economy in a list: each a seam of before and after, with what it costs."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from rich.segment import Segment

from tuimatch.text import printable
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.paint import RGB, block

if TYPE_CHECKING:
    from tuimatch.planning.economy import Change, Economy
    from tuimatch.planning.economy_of_log import Work

USUAL, MOST = 1.0, 20.0
# What an artist asks for, as extra ΔE of an area.
LEVELS = {0.0: "off", 1.0: "a little", 2.0: "some", 4.0: "a lot"}

_HALF_SEAM = 5
_LEAST_NAME = 10


@dataclass(frozen=True)
class Tolerances:
    """The tolerances, extra ΔE: of all areas, and of single ones by key; and which are kept."""

    usual: float = USUAL
    single: dict[int, float] = field(default_factory=dict)
    kept: frozenset[int] = frozenset()

    def of(self, key: int) -> float:
        """The tolerance of one area."""
        return self.single.get(key, self.usual)

    def with_usual(self, usual: float) -> Tolerances:
        """Another tolerance of all but those set apart."""
        return replace(self, usual=_within(usual))

    def with_single(self, key: int, own: float) -> Tolerances:
        """Another tolerance of one area, which is then no longer kept."""
        return Tolerances(self.usual, {**self.single, key: _within(own)}, self.kept - {key})

    def with_kept(self, key: int) -> Tolerances:
        """One area keeps the recipe it has, or may change again."""
        return replace(self, kept=self.kept ^ {key})

    def reset(self) -> Tolerances:
        """Set all tolerances back; kept areas stay kept."""
        return Tolerances(kept=self.kept)

    def apart(self) -> tuple[dict[int, float], frozenset[int]]:
        """The tolerances of single areas by key, and the areas that are kept."""
        return self.single, self.kept


def stepped(tolerance: float, way: int) -> float:
    """The next level above a tolerance, or below it; the tolerance where there is none."""
    beyond = [level for level in LEVELS if (level - tolerance) * way > 0]
    return min(beyond, key=lambda level: abs(level - tolerance), default=tolerance)


def level_in_words(tolerance: float) -> str:
    """A tolerance as it is shown: ``tolerance ΔE +1.00, a little``."""
    named = f", {LEVELS[tolerance]}" if tolerance in LEVELS else ""
    return f"tolerance ΔE +{tolerance:.2f}{named}"


def _within(value: float) -> float:
    return min(max(value, 0.0), MOST)


@dataclass(frozen=True, eq=False)
class Planned:
    """A plan, what it was made for, and the colours before and after of each area.

    Attributes:
        changes: The areas in the order they are shown: those that change, then those that stay.
        seams: The colours of each of these.
    """

    work: Work
    economy: Economy
    tolerances: Tolerances
    changes: tuple[Change, ...]
    seams: tuple[tuple[RGB, RGB], ...]

    def name(self, change: Change) -> str:
        """What to call an area, with its page where there may be several."""
        area = change.area
        return printable(area.name_with_page if self.work.page is None else area.name_in_words)

    @property
    def instead(self) -> tuple[list[str], list[str]]:
        """Which tints are no longer laid, and which come in their place, in words."""
        before, after = self.economy.before.passes, self.economy.after.passes
        old, new = {one.brush for one in before}, {one.brush for one in after}
        gone = [one.words for one in before if one.brush not in new]
        return gone, [one.words for one in after if one.brush not in old]

    def why_kept(self, change: Change) -> str:
        """Why an area was not asked to change; empty if it was."""
        if change.area.key in self.work.laid:
            return "laid already"
        return "kept" if change.area.key in self.tolerances.kept else ""


class AreaList(BlockList):
    """Each area as a seam of before and after, with both recipes and their ΔE."""

    HIGH, GAP = 3, 1

    def __init__(self) -> None:
        super().__init__()
        self._planned: Planned | None = None

    def show(self, planned: Planned) -> None:
        """Show a plan, the cursor on the area it was on.

        At the top it stays there, where what changes is seen, unless an area alone was asked about.
        """
        key = self.change.area.key if self.change else None
        asked = self._planned is not None and self._planned.tolerances.apart()
        if not self.cursor and asked == planned.tolerances.apart():
            key = None
        self._planned = planned
        keys = [change.area.key for change in planned.changes]
        self.show_blocks(len(keys), keys.index(key) if key in keys else 0)

    @property
    def change(self) -> Change | None:
        """The area under the cursor, before and after."""
        if self._planned is None or not self._planned.changes:
            return None
        return self._planned.changes[self.cursor]

    @property
    def seam_here(self) -> tuple[RGB | None, RGB | None]:
        """The colours of the area under the cursor, before and after."""
        if self._planned is None or not self._planned.seams:
            return None, None
        return self._planned.seams[self.cursor]

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Name and ΔE, recipes, and a line between the areas."""
        if part == 2 or self._planned is None:
            return []
        change = self._planned.changes[place]
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
            ways = _recipes(change, self._planned.why_kept(change) or "stays")
            return [*segments, fitted(whole(room, *ways), room, PLAIN if change.changed else DIM)]
        numbers = f"  {_numbers(change)}"
        own = self._planned.tolerances.single.get(change.area.key)
        if own is not None and not self._planned.why_kept(change):
            numbers += f" +{own:.2f}"
        if room - len(numbers) < _LEAST_NAME:
            numbers = ""
        ways = (self._planned.name(change), printable(change.area.name_in_words))
        name = fitted(whole(room - len(numbers), *ways), room - len(numbers), style)
        return [*segments, name, Segment(numbers, style)]


def _numbers(change: Change) -> str:
    if change.changed:
        return f"ΔE {change.delta_e_before:.2f} → {change.delta_e_after:.2f}"
    return f"ΔE {change.delta_e_before:.2f}"


def _recipes(change: Change, stays: str) -> tuple[str, ...]:
    """Before and after, from the longest wording to the shortest."""
    wordings = change.area.palette.recipe_wordings
    before = [printable(words) for words in wordings(change.area.tints)]
    if not change.changed:
        return (*(f"{words}, {stays}" for words in before), stays)
    after = [printable(words) for words in wordings(change.tints)]
    both = (f"{old} → {new}" for old, new in zip(before[:3], after[:3], strict=True))
    return (*both, *(f"→ {words}" for words in after))
