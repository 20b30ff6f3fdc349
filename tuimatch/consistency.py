"""What in a project disagrees with itself, and the way to mend it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tuimatch import palette_file
from tuimatch.errors import PaletteError
from tuimatch.log import Choice
from tuimatch.palette import Palette

# Two areas nearer than this are hard to tell apart in print (common practice, no source).
CLOSE = 2.0

# CIEDE2000 weighs a difference in lightness by S_L, at most 1 + 0.015 · 50² / √(20 + 50²) = 1.75,
# and the other terms only add to it.
_MOST_S_L = 1.75

_LISTED = 12

PaletteNow = Callable[[str], Palette | None]


@dataclass(frozen=True)
class Finding:
    """Something that disagrees.

    Attributes:
        kind: ``recipes``, ``colours`` or ``palette``.
        choices: The choices concerned, oldest first.
        problem: What disagrees, one line.
        mend: The way to mend it, one line.
    """

    kind: str
    choices: tuple[Choice, ...]
    problem: str
    mend: str

    def as_json(self) -> dict[str, Any]:
        """The finding as the command line prints it."""
        return {
            "kind": self.kind,
            "ids": [choice.id for choice in self.choices],
            "problem": self.problem,
            "mend": self.mend,
        }


def check(choices: Iterable[Choice], palette_now: PaletteNow) -> list[Finding]:
    """Labels with two recipes, labels too near each other, and palettes that have changed.

    Args:
        choices: Those of one project.
        palette_now: Gives the palette that goes by a name now, or None.
    """
    choices = sorted(choices, key=lambda choice: choice.id)
    labels: dict[str, list[Choice]] = {}
    for choice in choices:
        if choice.label:
            labels.setdefault(" ".join(choice.label.casefold().split()), []).append(choice)
    return [*_recipes(labels), *_colours(labels), *_palettes(choices, palette_now)]


def palette_finder(given: str) -> PaletteNow:
    """Finds a palette by the name it goes by: the one given, a shipped one, or one lying here.

    Args:
        given: A shipped name or a path, whose own name it is found by.

    Raises:
        PaletteError: The one given is no correct palette.
    """
    known: dict[str, Palette | None] = {}
    named = palette_file.load(given)
    known[named.stem] = named

    def find(stem: str) -> Palette | None:
        if stem not in known:
            known[stem] = None
            with suppress(PaletteError):
                shipped = stem in palette_file.shipped_names()
                known[stem] = palette_file.load(stem if shipped else str(Path(f"{stem}.toml")))
        return known[stem]

    return find


def _recipes(labels: dict[str, list[Choice]]) -> list[Finding]:
    """Labels with more than one recipe."""
    findings = []
    for same in labels.values():
        by_recipe: dict[str, list[Choice]] = {}
        for choice in same:
            by_recipe.setdefault(choice.recipe, []).append(choice)
        if len(by_recipe) < 2:
            continue
        listed = "; ".join(
            f"{recipe} ({_ids(found)}, {_palettes_of(found)})"
            for recipe, found in by_recipe.items()
        )
        findings.append(
            Finding(
                "recipes",
                tuple(same),
                f"{same[0].label} has {len(by_recipe)} recipes: {listed}",
                "remove what is not meant (`tuimatch log remove ID`), or where both are meant, "
                "as in light and in shadow, give each its own label",
            )
        )
    return findings


def _colours(labels: dict[str, list[Choice]]) -> list[Finding]:
    """Pairs of labels with colours that are hard to tell apart."""
    seen: dict[tuple[str, tuple[float, float, float]], Choice] = {}
    for label, same in labels.items():
        for choice in same:
            seen.setdefault((label, choice.lab), choice)
    if not seen:
        return []
    from tuimatch.colorimetry import delta_e

    order = sorted(seen, key=lambda key: key[1])
    lab = np.array([key[1] for key in order])
    ends = np.searchsorted(lab[:, 0], lab[:, 0] + CLOSE * _MOST_S_L, side="right")
    nearest: dict[tuple[str, str], tuple[float, Choice, Choice]] = {}
    for i, end in enumerate(ends):
        differences = delta_e(lab[i], lab[i + 1 : end])
        for j in np.flatnonzero(differences < CLOSE):
            first, second = sorted((order[i], order[i + 1 + int(j)]), key=lambda k: seen[k].id)
            pair, difference = (first[0], second[0]), float(differences[j])
            if pair[0] != pair[1] and (pair not in nearest or difference < nearest[pair][0]):
                nearest[pair] = (difference, seen[first], seen[second])
    return [
        Finding(
            "colours",
            (first, second),
            f"{first.label} ({first.id}) and {second.label} ({second.id}) are only "
            f"ΔE {difference:.1f} apart: {first.recipe}; {second.recipe}",
            "take a recipe for one of them that stands further off, or give both one label and "
            "one recipe",
        )
        for difference, first, second in sorted(
            nearest.values(), key=lambda found: (found[1].id, found[2].id)
        )
    ]


def _palettes(choices: list[Choice], palette_now: PaletteNow) -> list[Finding]:
    """Palettes that have another text now than when they were used."""
    used: dict[tuple[str, str], list[Choice]] = {}
    for choice in choices:
        used.setdefault((choice.palette, choice.palette_digest), []).append(choice)
    findings = []
    for (stem, digest), made in used.items():
        now = palette_now(stem)
        if now is None or now.digest == digest:
            continue
        times = "1 choice was" if len(made) == 1 else f"{len(made)} choices were"
        findings.append(
            Finding(
                "palette",
                tuple(made),
                f"palette {stem} has changed since {times} made with it ({_ids(made)}): "
                f"{_moved(made, now)}",
                "make each of them the target again and take it anew, or give the palette of that "
                "time another file name and keep both",
            )
        )
    return findings


def _moved(made: list[Choice], now: Palette) -> str:
    """What has become of the recipes in the palette as it is now."""
    from tuimatch import colorimetry, recipes

    mixed = recipes.mix(now)
    names = [ink.name for ink in now.inks]
    most, lost = 0.0, 0
    for choice in made:
        row = None
        if set(names) >= {ink for ink, tint in choice.tints.items() if tint}:
            row = mixed.row_of(tuple(choice.tints.get(name, 0.0) for name in names))
        if row is None:
            lost += 1
        else:
            most = max(most, float(colorimetry.delta_e(choice.lab, mixed.lab[row])))
    said = [f"{lost} of the recipes are no longer in it"] if lost else []
    if lost < len(made):
        said.append(f"the same recipes now come out up to ΔE {most:.1f} off")
    return ", ".join(said)


def _ids(choices: list[Choice]) -> str:
    ids = [str(choice.id) for choice in choices[:_LISTED]]
    return ", ".join(ids) + (f" and {len(choices) - _LISTED} more" if len(choices) > _LISTED else "")


def _palettes_of(choices: list[Choice]) -> str:
    return ", ".join(dict.fromkeys(choice.palette for choice in choices))
