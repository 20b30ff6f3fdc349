"""The conflicts in a project, and how to fix each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuimatch.log import Choice
from tuimatch.log.area import folded_label
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette, Triple

_LISTED = 12

PaletteNow = Callable[[str], Palette | None]


@dataclass(frozen=True)
class Finding:
    """A conflict.

    Attributes:
        kind: ``doubtful``, ``recipes``, ``colours`` or ``palette``.
        choices: The choices concerned, oldest first.
        problem: What conflicts, one line.
        fix: How to fix it, one line.
    """

    kind: str
    choices: tuple[Choice, ...]
    problem: str
    fix: str

    def as_json(self) -> dict[str, Any]:
        """The finding as the command line prints it."""
        return {
            "kind": self.kind,
            "ids": [choice.id for choice in self.choices],
            "problem": self.problem,
            "fix": self.fix,
        }


def check(choices: Iterable[Choice], palette_now: PaletteNow) -> list[Finding]:
    """Altered choices, labels with two recipes or too near each other, palettes that changed.

    Args:
        choices: Those of one project.
        palette_now: Gives the palette that goes by a name now, or None.
    """
    choices = sorted(choices, key=lambda choice: choice.id)
    labels: dict[str, list[Choice]] = {}
    for choice in choices:
        if choice.label:
            labels.setdefault(folded_label(choice.label), []).append(choice)
    return [
        *_doubtful(choices),
        *_recipes(labels),
        *_colours(labels),
        *_palettes(choices, palette_now),
    ]


def palette_finder(*given: Palette) -> PaletteNow:
    """Finds a palette by the name it goes by: one given, a shipped one, or one lying here.

    Args:
        given: Palettes that are found by their names before any file is.
    """
    known: dict[str, Palette | None] = {palette.stem: palette for palette in given}

    def find(stem: str) -> Palette | None:
        if stem not in known:
            known[stem] = palette_file.lying_here(stem)
        return known[stem]

    return find


def _doubtful(choices: list[Choice]) -> list[Finding]:
    """Choices that are not as they were written: their checksum does not fit."""
    return [
        Finding(
            "doubtful",
            (choice,),
            f"{choice.name} ({choice.id}) has changed since it was written: its checksum is wrong",
            "check it, take it again if it is right, and remove this one (x in the review, or "
            f"`tuimatch log remove {choice.id}`)",
        )
        for choice in choices
        if choice.doubtful
    ]


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
                "remove the wrong one (x in the review, or `tuimatch log remove ID`), or if "
                "you want both, as in shadow or on another paper, give each its own label",
            )
        )
    return findings


def _colours(labels: dict[str, list[Choice]]) -> list[Finding]:
    """Labels that share a colour, and labels with colours that are hard to tell apart."""
    by_colour: dict[Triple, dict[str, Choice]] = {}
    for label, same in labels.items():
        for choice in same:
            by_colour.setdefault(choice.lab, {}).setdefault(label, choice)
    found = [
        Finding(
            "colours",
            tuple(sharing.values()),
            f"{_names(sharing)} have the same colour: {_recipes_of(sharing)}",
            "take another recipe for those that touch, or give areas of the same colour one label",
        )
        for sharing in by_colour.values()
        if len(sharing) > 1
    ]
    for first, second, difference in _close(sorted(by_colour)):
        one, other = sorted(
            (by_colour[first], by_colour[second]), key=lambda named: next(iter(named.values())).id
        )
        if one.keys() == other.keys() and len(one) == 1:
            continue  # one label with two recipes, which is another finding
        found.append(
            Finding(
                "colours",
                (*one.values(), *other.values()),
                f"{_names(one)} and {_names(other)} are only ΔE {difference:.2f} apart: "
                f"{_recipes_of(one)} and {_recipes_of(other)}",
                "take a recipe further away for one of them, or one recipe for both",
            )
        )
    return sorted(found, key=lambda finding: finding.choices[0].id)


def _close(colours: list[Triple]) -> Iterator[tuple[Triple, Triple, float]]:
    """The pairs of colours that are hard to tell apart."""
    if len(colours) < 2:
        return
    from tuimatch.colour import ciede2000_bounds

    for firsts, seconds, differences in ciede2000_bounds.pairs(np.array(colours)):
        for first, second, difference in zip(firsts, seconds, differences, strict=True):
            yield colours[first], colours[second], float(difference)


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
        times = "1 recipe was" if len(made) == 1 else f"{len(made)} recipes were"
        findings.append(
            Finding(
                "palette",
                tuple(made),
                f"palette {stem} has changed since {times} made with it ({_ids(made)}): "
                f"{_moved(made, now)}",
                "take each of them again on the palette as it is now, or give the palette of that "
                "time another file name and keep both",
            )
        )
    return findings


def _moved(made: list[Choice], now: Palette) -> str:
    """What has become of the recipes in the palette as it is now."""
    from tuimatch.colour import colorimetry
    from tuimatch.recipe import recipes

    mixed = recipes.mix(now)
    most, lost = 0.0, 0
    for choice in made:
        row = mixed.row_named(choice.tints)
        if row is None:
            lost += 1
        else:
            most = max(most, float(colorimetry.delta_e(choice.lab, mixed.lab[row])))
    said = [f"{lost} of the recipes are no longer in it"] if lost else []
    if lost < len(made):
        said.append(f"the same recipes now come out up to ΔE {most:.1f} off")
    return ", ".join(said)


def _ids(choices: list[Choice]) -> str:
    return _listed([str(choice.id) for choice in choices])


def _names(named: dict[str, Choice]) -> str:
    return _listed([f"{choice.label} ({choice.id})" for choice in named.values()])


def _listed(texts: list[str]) -> str:
    more = f" and {len(texts) - _LISTED} more" if len(texts) > _LISTED else ""
    return ", ".join(texts[:_LISTED]) + more


def _recipes_of(named: dict[str, Choice]) -> str:
    return ", or ".join(dict.fromkeys(choice.recipe for choice in named.values()))


def _palettes_of(choices: list[Choice]) -> str:
    return ", ".join(dict.fromkeys(choice.palette for choice in choices))
