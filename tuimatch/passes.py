"""The plan that changes brush least: every area grouped by ink and tint, in laying order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from tuimatch.areas import Area, Brush, checked
from tuimatch.palette import Palette


@dataclass(frozen=True)
class Pass:
    """One ink at one tint, laid in every area that takes it.

    Attributes:
        brush: What is set up once for it.
        palette: Where the ink comes from.
        areas: Those it is laid in, in the order they were given.
    """

    brush: Brush
    palette: Palette
    areas: tuple[Area, ...]

    @property
    def ink(self) -> str:
        """The ink's name."""
        return self.palette.inks[self.brush.ink].name

    @property
    def label(self) -> str | None:
        """What the artist calls the tint, or None."""
        return self.palette.inks[self.brush.ink].label(self.brush.tint)

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
    tints of an ink in any order, lays every single area in laying order too.

    Args:
        areas: In the order they would be painted one by one.

    Raises:
        UsageError: Two areas have the same key, or a recipe is none of its palette.
    """
    given = checked(tuple(areas))
    laid: dict[Brush, list[Area]] = {}
    palettes: dict[str, Palette] = {}
    for area in given:
        palettes.setdefault(area.palette.digest, area.palette)
        for brush in area.brushes:
            laid.setdefault(brush, []).append(area)
    place = {digest: i for i, digest in enumerate(palettes)}
    return Plan(
        area_by_area=_changes([brush for area in given for brush in area.brushes]),
        passes=tuple(
            Pass(brush, palettes[brush.palette], tuple(laid[brush]))
            for brush in sorted(laid, key=lambda b: (place[b.palette], b.ink, b.tint))
        ),
    )


def _changes(brushes: list[Brush]) -> int:
    """How often the brush differs from the one before it; the first always does."""
    return sum(i == 0 or brush != brushes[i - 1] for i, brush in enumerate(brushes))
