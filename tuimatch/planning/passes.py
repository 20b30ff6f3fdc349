"""The plan that changes brush least: every area grouped by ink and tint, in laying order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from tuimatch.palette.model import Ink, Palette
from tuimatch.planning.areas import Area, Brush, checked


@dataclass(frozen=True)
class Pass:
    """One ink at one tint, laid in every area that takes it.

    Attributes:
        brush: What is set up once for it.
        palette: Where the ink comes from; where the areas have several versions of it, the newest
            that has the tint, so that the label is what the artist calls it now.
        areas: Those it is laid in, in the order they were given.
    """

    brush: Brush
    palette: Palette
    areas: tuple[Area, ...]

    @property
    def ink(self) -> str:
        """The ink's name."""
        return self.brush.ink

    @property
    def words(self) -> str:
        """The ink and its tint in the artist's words."""
        return self._ink.tint_words(self.brush.tint)

    @property
    def label(self) -> str | None:
        """What the artist calls the tint, or None."""
        return self._ink.label(self.brush.tint)

    @property
    def _ink(self) -> Ink:
        return next(ink for ink in self.palette.inks if ink.name == self.brush.ink)

    def as_json(self) -> dict[str, Any]:
        """The pass as plain values."""
        return {
            "ink": self.ink,
            "tint": self.brush.tint,
            "label": self.label,
            "areas": [area.name for area in self.areas],
        }


@dataclass(frozen=True)
class Plan:
    """The passes, and what they save.

    Attributes:
        area_by_area: Changes of brush when one area is finished before the next is begun.
        passes: In laying order, one palette after the other.
    """

    area_by_area: int
    passes: tuple[Pass, ...]

    @property
    def by_passes(self) -> int:
        """Changes of brush when the plan is followed: one for each pass."""
        return len(self.passes)

    def in_words(self) -> str:
        """The two counts, as they are said everywhere."""
        changes = "change" if self.area_by_area == 1 else "changes"
        return f"{self.area_by_area} {changes} area by area, {self.by_passes} by passes"

    def in_short(self) -> str:
        """The same for a narrow pane."""
        return f"{self.area_by_area} area by area, {self.by_passes} by passes"

    def as_json(self) -> dict[str, Any]:
        """The plan as plain values."""
        return {
            "area_by_area": self.area_by_area,
            "by_passes": self.by_passes,
            "passes": [one.as_json() for one in self.passes],
        }


def plan(areas: Iterable[Area]) -> Plan:
    """Group areas by ink and tint.

    A change is a new ink or a new tint; the first set-up counts as one.

    No order can do with fewer changes than the plan. Every brush that some area takes must be set
    up at least once, so their number is a lower bound. The plan sets up each exactly once: a
    recipe holds one tint of an ink, so going through the inks in laying order, and through the
    tints of an ink in any order, lays every single area in laying order too. Of a palette that was
    edited between the areas the newest version says in which order its inks are laid.

    Args:
        areas: In the order they would be painted one by one; a palette's newest version is that of
            the last area that has it.

    Raises:
        UsageError: Two areas have the same key, or a recipe is not one of its palette.
    """
    given = checked(tuple(areas))
    laid: dict[Brush, list[Area]] = {}
    for area in given:
        for brush in area.brushes:
            laid.setdefault(brush, []).append(area)
    passes = []
    for stem in dict.fromkeys(area.palette.stem for area in given):
        versions = [area.palette for area in reversed(given) if area.palette.stem == stem]
        newest_first = list({palette.digest: palette for palette in versions}.values())
        order = _laying_order(newest_first)
        own = sorted(
            (brush for brush in laid if brush.palette == stem),
            key=lambda brush: (order.index(brush.ink), brush.tint),
        )
        passes += [Pass(b, _newest_with(b, newest_first), tuple(laid[b])) for b in own]
    return Plan(
        area_by_area=_changes([brush for area in given for brush in area.brushes]),
        passes=tuple(passes),
    )


def _laying_order(newest_first: list[Palette]) -> list[str]:
    """The inks of all versions of a palette; one the newer lack stays after the ink before it."""
    order: list[str] = []
    for palette in newest_first:
        place = 0
        for ink in palette.inks:
            if ink.name not in order:
                order.insert(place, ink.name)
            place = max(place, order.index(ink.name) + 1)
    return order


def _newest_with(brush: Brush, newest_first: list[Palette]) -> Palette:
    return next(
        palette
        for palette in newest_first
        if any(ink.name == brush.ink and brush.tint in ink.tints for ink in palette.inks)
    )


def _changes(brushes: list[Brush]) -> int:
    """How often the brush differs from the one before it; the first always does."""
    return sum(i == 0 or brush != brushes[i - 1] for i, brush in enumerate(brushes))
